import { HOUR_MS } from '@/lib/units/time';
import type { WeatherHour } from '@/lib/weather/hour';

/** The humidity from which a leaf is taken as wet, %. */
const LEAF_WET_HUMIDITY_PERCENT = 90;

/** Dew is gone by then in most weather, hours after sunrise. Common practice, no source. */
export const DEW_HOURS = 3;

export const LEAF_WETNESS_RULE =
  'An hour is leaf-wet when a wetness sensor says 30 min or more; without a sensor, when it rained or relative humidity was 90% or more (Sentelhas et al. 2008, Agric. For. Meteorol. 148:392-400; from memory).';

/**
 * Whether the leaves were wet in an hour by LEAF_WETNESS_RULE; null when nothing that could tell was measured.
 */
export function leafWetHour(hour: WeatherHour): boolean | null {
  if (hour.leafWetMin !== null) return hour.leafWetMin >= 30;
  if ((hour.rainMm ?? 0) > 0) return true;
  return hour.relHumidityPercent === null ? null : hour.relHumidityPercent >= LEAF_WET_HUMIDITY_PERCENT;
}

/**
 * Hours wet, hours dry and hours unknown of a list, and the longest wet spell in successive hours. Hours in order of
 * time.
 */
export function leafWetHours(hours: readonly WeatherHour[]): {
  wet: number;
  dry: number;
  unknown: number;
  longestSpell: number;
} {
  const count = { wet: 0, dry: 0, unknown: 0, longestSpell: 0 };
  let spell = 0;
  let previous = Number.NaN;
  for (const hour of hours) {
    const wet = leafWetHour(hour);
    if (wet === null) count.unknown += 1;
    else if (wet) count.wet += 1;
    else count.dry += 1;
    const follows = hour.hourStartUtcMs - previous === HOUR_MS;
    spell = wet === true ? (follows ? spell + 1 : 1) : 0;
    count.longestSpell = Math.max(count.longestSpell, spell);
    previous = hour.hourStartUtcMs;
  }
  return count;
}
