import { expectInRange, expectNotNegative } from '@/lib/expect';

/**
 * Below this wind at 2 m air still moves by itself: the least wind used for evaporation. FAO-56 chapter 3 (from
 * memory).
 */
export const LEAST_WIND_AT_2M_M_PER_S = 0.5;

/**
 * Wind at 2 m above short grass, m/s, from wind measured at another height.
 * @param windMPerS 0 m/s and above
 * @param heightM height of the anemometer, 0.5 to 200 m
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 47
 * @example windAt2mMPerS(3.2, 10) // 2.4
 */
export function windAt2mMPerS(windMPerS: number, heightM: number): number {
  expectNotNegative('windMPerS', windMPerS, 'm/s');
  expectInRange('heightM', heightM, 0.5, 200, 'm');
  return (windMPerS * 4.87) / Math.log(67.8 * heightM - 5.42); // eq. 47
}

/**
 * Height of the wind that weather services and forecasts give, m: the standard of the World Meteorological Organization
 * for wind over open ground (Guide to Instruments, WMO-No. 8; number from memory).
 */
export const SERVICE_WIND_HEIGHT_M = 10;

/**
 * Height of the wind that a person measures beside a spray, m, and of one that came without its height: FAO-56's own.
 * Every door asks for the height, so that only hours of an earlier version lack it; of the two usual heights this one
 * leaves such a wind its full strength, which is the careful way where drift is judged.
 */
export const NEAR_GROUND_WIND_HEIGHT_M = 2;

/**
 * An hour's wind (or gust) at 2 m, m/s; null where none is known. One that came without its height counts as measured at
 * 2 m.
 * @throws RangeError on a value out of range
 */
export function windOfHourAt2mMPerS(
  hour: { readonly windMPerS: number | null; readonly gustMPerS?: number | null; readonly windHeightM: number | null },
  of: 'wind' | 'gust' = 'wind',
): number | null {
  const speed = of === 'wind' ? hour.windMPerS : (hour.gustMPerS ?? null);
  const heightM = hour.windHeightM ?? NEAR_GROUND_WIND_HEIGHT_M;
  return speed === null || heightM === NEAR_GROUND_WIND_HEIGHT_M ? speed : windAt2mMPerS(speed, heightM);
}

/** The roughness of a stand of grass, m: zero-plane displacement and roughness lengths. @see FAO-56 box 4 */
function canopyRoughness(canopyHeightM: number): { displacementM: number; momentumM: number; heatM: number } {
  expectInRange('canopyHeightM', canopyHeightM, 0.003, 1, 'm');
  const momentumM = 0.123 * canopyHeightM;
  return { displacementM: (2 / 3) * canopyHeightM, momentumM, heatM: 0.1 * momentumM };
}

/**
 * Wind at the top of the canopy, m/s: the logarithmic profile brought down from 2 m. For showing; the resistance uses 2
 * m.
 * @throws RangeError on a value out of range
 * @see the profile of FAO-56 eq. 47 with the roughness of box 4
 */
export function windAtCanopyMPerS(windAt2m: number, canopyHeightM: number): number {
  expectNotNegative('windAt2m', windAt2m, 'm/s');
  const { displacementM, momentumM } = canopyRoughness(canopyHeightM);
  return (windAt2m * Math.log((canopyHeightM - displacementM) / momentumM)) / Math.log((2 - displacementM) / momentumM);
}

/**
 * Aerodynamic resistance between a canopy and the air 2 m above ground, s/m, above 0.
 * @param windAt2m above 0 m/s
 * @throws RangeError on a value out of range: in a dead calm the formula has no answer
 * @see FAO-56 eq. 4
 * @example aerodynamicResistanceSPerM(1, 0.12) // 208 (FAO-56 box 4)
 */
export function aerodynamicResistanceSPerM(windAt2m: number, canopyHeightM: number): number {
  expectInRange('windAt2m', windAt2m, 0.01, 60, 'm/s');
  const { displacementM, momentumM, heatM } = canopyRoughness(canopyHeightM);
  const karman = 0.41;
  return (Math.log((2 - displacementM) / momentumM) * Math.log((2 - displacementM) / heatM)) / (karman ** 2 * windAt2m); // eq. 4
}
