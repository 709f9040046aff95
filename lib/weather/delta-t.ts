import { wetBulbPsychrometricC } from '@/lib/weather/wet-bulb';

/** Where a Delta T falls: below 2, 2 to 8, above 8 to 10, above 10 °C. */
export type DeltaTClass = 'low' | 'suitable' | 'marginal' | 'high';

export const DELTA_T_SOURCE =
  'Australian Bureau of Meteorology guide, and GRDC spray application manual module 10.3: where low, droplets live long';

/**
 * Delta T: dry bulb less wet bulb, 0 °C and above; the drop of temperature evaporation can cause in this air.
 * @param pressureKPa station pressure, 50 to 110 kPa
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 15 and 16 for the wet bulb
 * @example deltaTC(20, 50, 101.3) // 6.16
 */
export function deltaTC(airTempC: number, relHumidityPercent: number, pressureKPa: number): number {
  return airTempC - wetBulbPsychrometricC(airTempC, relHumidityPercent, pressureKPa);
}

/**
 * The class of a Delta T. Limits belong to the suitable side: 2 and 8 are suitable, 10 is marginal.
 * @see DELTA_T_SOURCE
 */
export function deltaTClass(deltaT: number): DeltaTClass {
  if (deltaT < 2) return 'low';
  if (deltaT <= 8) return 'suitable';
  return deltaT <= 10 ? 'marginal' : 'high';
}
