import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { grassSeason, heatLimits } from '@/lib/spray/grass-season';
import type { FilmPlan } from '@/lib/weather/drying';
import type { WeatherPlace } from '@/lib/weather/hour';
import { DEFAULT_LIMITS, type WindowLimits } from '@/lib/weather/window-limits';
import { showGrassHeight } from '@/lib/units/display';

/**
 * Where the lawn lies, for sun and evaporation; null without coordinates. An elevation nobody gave counts as sea level
 * and is said.
 */
export function placeOfLawn(
  lawn: Pick<Lawn, 'latitudeDeg' | 'longitudeDeg' | 'elevationM'>,
): (WeatherPlace & { assumed: string[] }) | null {
  if (lawn.latitudeDeg === null || lawn.longitudeDeg === null) return null;
  return {
    latitudeDeg: lawn.latitudeDeg,
    longitudeDeg: lawn.longitudeDeg,
    elevationM: lawn.elevationM ?? 0,
    assumed: lawn.elevationM === null ? ['elevation not given: taken as sea level'] : [],
  };
}

/**
 * The window's limits on this lawn: heat by its grass, the rest as for all. The planner and the cause finder both go by
 * them.
 */
export function windowLimitsOf(lawn: Pick<Lawn, 'grass'>): WindowLimits {
  const { warmC, hotC } = heatLimits(grassSeason(lawn.grass));
  return { ...DEFAULT_LIMITS, goodMaxTempC: warmC, mostTempC: hotC };
}

/** 2 US gal/1000 ft², what a walking sprayer puts out (common practice, no source). */
export const USUAL_CARRIER_L_PER_HA = 814.9;
const usualGrassMm = 60;

export type Film = Omit<FilmPlan, 'startUtcMs'> & { assumed: string[] };

/**
 * The film a spray leaves on this lawn. Leaf area 1 shares the liquid over as much leaf as there is ground; grass
 * height is the mowing height, 60 mm when none is given.
 */
export function filmOnLawn(
  lawn: Pick<Lawn, 'mowingHeightMm' | 'unitSystem'>,
  carrierLPerHa: number | null,
  wettedLeafAreaM2PerM2 = 1,
): Film {
  const assumed: string[] = [];
  if (carrierLPerHa === null) assumed.push('carrier volume not known: the usual one of a walking sprayer');
  if (lawn.mowingHeightMm === null)
    assumed.push(`mowing height not given: ${showGrassHeight(usualGrassMm / 1000, lawn.unitSystem).text}`);
  return {
    carrierLPerHa: carrierLPerHa ?? USUAL_CARRIER_L_PER_HA,
    wettedLeafAreaM2PerM2,
    canopyHeightM: Math.min(1, Math.max(0.003, (lawn.mowingHeightMm ?? usualGrassMm) / 1000)),
    assumed,
  };
}
