import { expectInRange, expectPositive } from '@/lib/expect';
import { PSYCHROMETER_PER_C } from '@/lib/weather/pressure';
import { saturationVapourPressureKPa } from '@/lib/weather/saturation';

function expectHumidity(name: string, percent: number): number {
  return expectInRange(name, percent, 0, 100, '% relative humidity');
}

/**
 * Actual vapour pressure, kPa, from one temperature and the humidity that goes with it.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 54 (hourly) and eq. 10
 */
export function vapourPressureKPa(airTempC: number, relHumidityPercent: number): number {
  return (saturationVapourPressureKPa(airTempC) * expectHumidity('relHumidityPercent', relHumidityPercent)) / 100;
}

/**
 * A day's actual vapour pressure, kPa, from the extremes: highest humidity goes with lowest temperature.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 17
 * @example dayVapourPressureKPa({ maxTempC: 25, minTempC: 18, maxRelHumidityPercent: 82, minRelHumidityPercent: 54 })
 *   // 1.70
 */
export function dayVapourPressureKPa(day: {
  readonly maxTempC: number;
  readonly minTempC: number;
  readonly maxRelHumidityPercent: number;
  readonly minRelHumidityPercent: number;
}): number {
  const atNight = vapourPressureKPa(day.minTempC, day.maxRelHumidityPercent);
  const atNoon = vapourPressureKPa(day.maxTempC, day.minRelHumidityPercent);
  return (atNight + atNoon) / 2; // eq. 17
}

/**
 * A day's vapour pressure, kPa, where only the highest humidity can be trusted.
 * @see FAO-56 eq. 18
 * @throws RangeError
 */
export function dayVapourPressureFromMaxHumidityKPa(minTempC: number, maxRelHumidityPercent: number): number {
  return vapourPressureKPa(minTempC, maxRelHumidityPercent); // eq. 18
}

/**
 * A day's vapour pressure, kPa, where only the mean humidity is known; less sure than eq. 17.
 * @see FAO-56 eq. 19
 * @throws RangeError
 */
export function dayVapourPressureFromMeanHumidityKPa(
  maxTempC: number,
  minTempC: number,
  meanRelHumidityPercent: number,
): number {
  const half = expectHumidity('meanRelHumidityPercent', meanRelHumidityPercent) / 100;
  return half * ((saturationVapourPressureKPa(maxTempC) + saturationVapourPressureKPa(minTempC)) / 2); // eq. 19
}

/**
 * Actual vapour pressure, kPa, read from a dry and a wet bulb.
 * @param psychrometerPerC coefficient of the instrument (see PSYCHROMETER_PER_C)
 * @throws RangeError on a value out of range, or a wet bulb above the dry bulb
 * @see FAO-56 eq. 15 and 16
 * @example vapourPressureFromWetBulbKPa(25.6, 19.5, 87.9) // 1.91
 */
export function vapourPressureFromWetBulbKPa(
  dryBulbC: number,
  wetBulbC: number,
  pressureKPa: number,
  psychrometerPerC: number = PSYCHROMETER_PER_C.aspirated,
): number {
  expectInRange('wetBulbC', wetBulbC, -40, dryBulbC, '°C (not above the dry bulb)');
  expectInRange('pressureKPa', pressureKPa, 50, 110, 'kPa');
  return saturationVapourPressureKPa(wetBulbC) - psychrometerPerC * pressureKPa * (dryBulbC - wetBulbC);
}

/**
 * Vapour pressure deficit: how much more vapour the air could take up, 0 kPa and above.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 9 and 54
 * @example vapourPressureDeficitKPa(20, 50) // 1.169
 */
export function vapourPressureDeficitKPa(airTempC: number, relHumidityPercent: number): number {
  return saturationVapourPressureKPa(airTempC) - vapourPressureKPa(airTempC, relHumidityPercent);
}

/**
 * Dew point, °C, from the actual vapour pressure.
 * @param vapourPressure above 0 kPa: bone-dry air has no dew point
 * @throws RangeError at 0 or less
 * @see FAO-56 annex 3 eq. 3-11
 */
export function dewPointFromVapourPressureC(vapourPressure: number): number {
  const log = Math.log(expectPositive('vapourPressure', vapourPressure, 'kPa'));
  return (116.91 + 237.3 * log) / (16.78 - log); // eq. 3-11
}

/**
 * Dew point, °C: the temperature at which this air would be saturated; null in air of 0 % humidity, which has none.
 * @throws RangeError on a value out of range
 * @see FAO-56 annex 3 eq. 3-11
 * @example dewPointC(20, 50) // 9.26
 */
export function dewPointC(airTempC: number, relHumidityPercent: number): number | null {
  const pressure = vapourPressureKPa(airTempC, relHumidityPercent);
  return pressure > 0 ? dewPointFromVapourPressureC(pressure) : null;
}

/**
 * Relative humidity, 0 to 100 %, from temperature and dew point.
 * A dew point above the air temperature (sensors disagree by a few tenths in fog) gives `oversaturated: true` and 100.
 * @throws RangeError on a temperature out of range
 * @see FAO-56 eq. 10 and 14
 */
export function relHumidityFromDewPoint(
  airTempC: number,
  dewPoint: number,
): { relHumidityPercent: number; oversaturated: boolean } {
  const percent = (100 * saturationVapourPressureKPa(dewPoint)) / saturationVapourPressureKPa(airTempC);
  return percent > 100
    ? { relHumidityPercent: 100, oversaturated: true }
    : { relHumidityPercent: percent, oversaturated: false };
}
