import 'server-only';
import { NEAR_GROUND_WIND_HEIGHT_M } from '@/lib/weather/wind';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { dryingTime, type DryingResult } from '@/lib/weather/drying';
import { emptyHour, hourStartOf } from '@/lib/weather/hour';
import { knownHours } from './known-hours';

/** How the film of a plan dries, or what is missing to say so. */
export type PlanWindow =
  | { readonly kind: 'estimate'; readonly basis: 'hours' | 'typed'; readonly drying: DryingResult }
  | { readonly kind: 'missing'; readonly missing: readonly string[] };

/** Weather typed for a plan, taken to hold from the start on. */
export interface TypedWeather {
  readonly airTempC: number | null;
  readonly relHumidityPercent: number | null;
  readonly windMPerS: number | null;
}

/** Leaf is taken as wetted once over the ground: the energy balance then holds (see lib/weather/drying). */
const WETTED_LEAF_M2_PER_M2 = 1;
/** A lawn of unknown height, m (common practice, no source). */
const USUAL_HEIGHT_M = 0.06;

/**
 * Drying time of a plan's film from the hours known (the diary's, else the forecast kept), else from what was typed;
 * else what is missing.
 */
export async function planWindow(
  lawn: Lawn,
  start: Date,
  carrierLPerHa: number,
  typed: TypedWeather,
): Promise<PlanWindow> {
  if (lawn.latitudeDeg === null || lawn.longitudeDeg === null)
    return { kind: 'missing', missing: ['the lawn’s latitude and longitude'] };
  const place = { latitudeDeg: lawn.latitudeDeg, longitudeDeg: lawn.longitudeDeg, elevationM: lawn.elevationM ?? 0 };
  const film = {
    startUtcMs: start.getTime(),
    carrierLPerHa,
    wettedLeafAreaM2PerM2: WETTED_LEAF_M2_PER_M2,
    canopyHeightM: lawn.mowingHeightMm === null ? USUAL_HEIGHT_M : Math.max(0.003, lawn.mowingHeightMm / 1000),
  };
  const hours = await knownHours(lawn.id, new Date(start.getTime() - DAY_MS), new Date(start.getTime() + DAY_MS));
  const fromHours = dryingTime(film, hours, place);
  if (fromHours.kind !== 'unknown') return { kind: 'estimate', basis: 'hours', drying: fromHours };
  const { airTempC, relHumidityPercent, windMPerS } = typed;
  const missing = [
    ...(airTempC === null ? ['air temperature'] : []),
    ...(relHumidityPercent === null ? ['humidity'] : []),
    ...(windMPerS === null ? ['wind'] : []),
  ];
  if (missing.length > 0)
    return { kind: 'missing', missing: [`weather hours for that time, or typed ${missing.join(', ')}`] };
  const first = hourStartOf(start.getTime());
  const flat = Array.from({ length: 25 }, (_, place) => ({
    ...emptyHour(first + place * HOUR_MS),
    airTempC,
    relHumidityPercent,
    windMPerS,
    windHeightM: NEAR_GROUND_WIND_HEIGHT_M,
  }));
  return { kind: 'estimate', basis: 'typed', drying: dryingTime(film, flat, place) };
}

/**
 * What the hours known (measured, else forecast) say around a start: the warmest of the day that follows, humidity and
 * wind of its own hour; null where they say nothing.
 */
export async function weatherAround(
  lawnId: string,
  start: Date,
): Promise<{ warmestC: number | null; relHumidityPercent: number | null; windMPerS: number | null }> {
  const first = hourStartOf(start.getTime());
  const hours = await knownHours(lawnId, new Date(first), new Date(first + DAY_MS));
  const temperatures = hours.flatMap((hour) => (hour.airTempC === null ? [] : [hour.airTempC]));
  const own = hours.find((hour) => hour.hourStartUtcMs === first);
  return {
    warmestC: temperatures.length === 0 ? null : Math.max(...temperatures),
    relHumidityPercent: own?.relHumidityPercent ?? null,
    windMPerS: own?.windMPerS ?? null,
  };
}
