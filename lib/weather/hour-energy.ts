import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { vapourPressureKPa } from '@/lib/weather/humidity';
import {
  W_PER_M2_IN_MJ_PER_M2_H,
  clearSkySolar,
  extraterrestrialRadiationHour,
  netLongwaveHour,
  netShortwave,
  solarAltitudeSine,
} from '@/lib/weather/radiation';
import { soilHeatFluxHour } from '@/lib/weather/evapotranspiration';

/**
 * Below this altitude measured sun over clear-sky sun says little of the clouds (0.3 rad; ASCE-EWRI 2005, from memory).
 */
const LOW_SUN_SINE = Math.sin(0.3);
/** Rs/Rso at night when nothing better is known. @see FAO-56 example 19 */
const ASSUMED_CLEAR_SHARE = 0.8;

export interface HourSun {
  /** Clear-sky solar radiation of the hour, MJ m⁻² h⁻¹ (FAO-56 eq. 37). */
  readonly clearSky: number;
  /** Sine of the sun's altitude at half past. */
  readonly altitudeSine: number;
}

/**
 * What the sun can do in an hour at a place.
 * Exported so that tests know a clear sky when they make one.
 * @throws RangeError on a place out of range
 */
export function hourSun(hourStartUtcMs: number, place: WeatherPlace): HourSun {
  // The day of the year is the place's own (by the sun, not the zone): UTC would change it in the afternoon over there.
  const middle = hourStartUtcMs + HOUR_MS / 2;
  const local = new Date(middle + (place.longitudeDeg / 15) * HOUR_MS);
  const dayOfYear = Math.floor((local.getTime() - Date.UTC(local.getUTCFullYear(), 0, 1)) / DAY_MS) + 1;
  const period = {
    latitudeDeg: place.latitudeDeg,
    longitudeDeg: place.longitudeDeg,
    dayOfYear,
    midHour: (middle / HOUR_MS) % 24,
    zoneLongitudeDeg: 0,
    lengthHours: 1,
  };
  return {
    clearSky: clearSkySolar(extraterrestrialRadiationHour(period), place.elevationM),
    altitudeSine: solarAltitudeSine(period),
  };
}

/** Share of clear-sky sun that comes through a cloud cover, 1/3 to 1. @see FAO-56 eq. 35 and 36 with n/N = 1 − cover */
function clearShareOfCloud(cloudPercent: number): number {
  return (0.25 + 0.5 * (1 - cloudPercent / 100)) / 0.75;
}

export interface HourEnergy {
  /** Net radiation less soil heat flux, MJ m⁻² h⁻¹; negative on clear nights. */
  readonly available: number;
  readonly netRadiation: number;
  /** Solar radiation used, MJ m⁻² h⁻¹. */
  readonly solar: number;
  /** Rs/Rso used for the sky's heat, 0 to 1. */
  readonly clearShare: number;
  readonly daylight: boolean;
  /** Whether clearShare was measured in this hour, with the sun high enough: then the hours after may use it. */
  readonly skyMeasured: boolean;
  /** What was not measured but taken from cloud cover or assumed, in words; empty when all was measured. */
  readonly assumed: readonly string[];
}

/**
 * Energy a wet lawn has in an hour, or null where temperature or humidity is missing. Sun not measured is estimated
 * from cloud cover, else from `skyShare` (the last daylight hour's Rs/Rso), else 0.8: and says so.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 37 to 40, 45, 46
 */
export function hourEnergy(hour: WeatherHour, place: WeatherPlace, skyShare: number | null): HourEnergy | null {
  if (hour.airTempC === null || hour.relHumidityPercent === null) return null;
  const { clearSky, altitudeSine } = hourSun(hour.hourStartUtcMs, place);
  const assumed: string[] = [];
  const cloudShare = hour.cloudPercent === null ? null : clearShareOfCloud(hour.cloudPercent);
  const fallback = cloudShare ?? skyShare ?? ASSUMED_CLEAR_SHARE;
  let solar = clearSky * fallback;
  if (hour.solarWPerM2 !== null) solar = hour.solarWPerM2 / W_PER_M2_IN_MJ_PER_M2_H;
  else if (clearSky > 0)
    assumed.push(
      cloudShare === null
        ? `sun taken as ${Math.round(fallback * 100)}% of a clear sky`
        : `sun estimated from ${hour.cloudPercent}% cloud`,
    );
  // "Rs/Rso must be limited so that Rs/Rso ≤ 1.0" (FAO-56 eq. 39)
  const measured =
    hour.solarWPerM2 !== null && altitudeSine >= LOW_SUN_SINE && clearSky > 0 ? Math.min(1, solar / clearSky) : null;
  const clearShare = measured ?? fallback;
  if (measured === null && cloudShare === null && skyShare === null)
    assumed.push('cloud cover unknown: sky taken as 80% clear');
  const vapourPressure = vapourPressureKPa(hour.airTempC, hour.relHumidityPercent);
  const netRadiation = netShortwave(solar) - netLongwaveHour({ airTempC: hour.airTempC, vapourPressure, clearShare });
  const daylight = altitudeSine > 0;
  return {
    available: netRadiation - soilHeatFluxHour(netRadiation, daylight),
    netRadiation,
    solar,
    clearShare,
    daylight,
    skyMeasured: measured !== null,
    assumed,
  };
}

/**
 * Rs/Rso of the last hour, at or before `utcMs` and within a day of it, with the sun high enough to tell; null if there
 * is none.
 */
export function skyShareBefore(hours: readonly WeatherHour[], utcMs: number, place: WeatherPlace): number | null {
  let best: { at: number; share: number } | null = null;
  for (const hour of hours) {
    const at = hour.hourStartUtcMs;
    if (hour.solarWPerM2 === null || at > utcMs || at < utcMs - 24 * HOUR_MS || (best !== null && at < best.at))
      continue;
    const { clearSky, altitudeSine } = hourSun(at, place);
    if (altitudeSine < LOW_SUN_SINE || clearSky <= 0) continue;
    best = { at, share: Math.min(1, hour.solarWPerM2 / W_PER_M2_IN_MJ_PER_M2_H / clearSky) };
  }
  return best?.share ?? null;
}
