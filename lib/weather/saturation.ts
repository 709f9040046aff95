import { expectInRange } from '@/lib/expect';

/**
 * Saturation vapour pressure over water, about 0.1 to 20 kPa in the range allowed.
 * @param airTempC -40 to 60 °C
 * @returns kPa
 * @throws RangeError outside that range
 * @see FAO-56 eq. 11 (Tetens form)
 * @example saturationVapourPressureKPa(24.5) // 3.075
 */
export function saturationVapourPressureKPa(airTempC: number): number {
  expectInRange('airTempC', airTempC, -40, 60, '°C');
  return tetensKPa(airTempC);
}

/** The same formula without its range: for solving, where a trial value may lie outside. @see FAO-56 eq. 11 */
export function tetensKPa(tempC: number): number {
  return 0.6108 * Math.exp((17.27 * tempC) / (tempC + 237.3)); // eq. 11
}

/**
 * Slope of the saturation curve, kPa/°C, above 0.
 * @throws RangeError when the temperature is out of range
 * @see FAO-56 eq. 13
 */
export function saturationSlopeKPaPerC(airTempC: number): number {
  return (4098 * saturationVapourPressureKPa(airTempC)) / (airTempC + 237.3) ** 2; // eq. 13
}
