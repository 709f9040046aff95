import { expectInRange, expectPositive } from '@/lib/expect';
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
function dewPointFromVapourPressureC(vapourPressure: number): number {
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
