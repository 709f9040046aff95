import { expectInRange } from '@/lib/expect';
import { vapourPressureKPa } from '@/lib/weather/humidity';
import { PSYCHROMETER_PER_C } from '@/lib/weather/pressure';
import { saturationSlopeKPaPerC, saturationVapourPressureKPa } from '@/lib/weather/saturation';

/**
 * Wet-bulb temperature, °C, at or below air temperature: the root of the psychrometer equation, by Newton's method.
 * Holds over water; below 0 °C an iced wick reads slightly higher.
 * @param airTempC -30 to 60 °C
 * @param relHumidityPercent 0 to 100 %
 * @param pressureKPa station pressure, 50 to 110 kPa
 * @param psychrometerPerC coefficient of the instrument; aspirated unless said
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 15 and 16, solved for the wet bulb
 * @example wetBulbPsychrometricC(20, 50, 101.3) // 13.84
 */
export function wetBulbPsychrometricC(
  airTempC: number,
  relHumidityPercent: number,
  pressureKPa: number,
  psychrometerPerC: number = PSYCHROMETER_PER_C.aspirated,
): number {
  expectInRange('airTempC', airTempC, -30, 60, '°C');
  expectInRange('pressureKPa', pressureKPa, 50, 110, 'kPa');
  const gamma = psychrometerPerC * pressureKPa;
  const actual = vapourPressureKPa(airTempC, relHumidityPercent);
  // f(Tw) = e°(Tw) - γ (T - Tw) - ea is convex and rising, so Newton from T (where f >= 0) comes down onto the root;
  // at -40 °C, the end of e°, the step is stopped: bone-dry air at -30 °C has its wet bulb above that.
  let wetBulb = airTempC;
  for (let round = 0; round < 50; round += 1) {
    const excess = saturationVapourPressureKPa(wetBulb) - gamma * (airTempC - wetBulb) - actual;
    const step = excess / (saturationSlopeKPaPerC(wetBulb) + gamma);
    wetBulb = Math.max(-40, wetBulb - step);
    if (Math.abs(step) < 1e-10) break;
  }
  return Math.min(wetBulb, airTempC); // the last rounding error must not put it above the dry bulb
}

/**
 * Wet-bulb temperature, °C, by Stull's regression at sea-level pressure, with whether it was fitted for such air.
 * Error -1 to +0.65 °C, mean 0.3 °C: near a Delta T limit use the psychrometric form when the pressure is known.
 * @param relHumidityPercent in percent, as the regression takes it (not a fraction)
 * @throws RangeError on a value out of range
 * @see Stull 2011, J. Appl. Meteorol. Climatol. 50:2267-2269, eq. 1; valid 5 to 99 % and -20 to 50 °C
 * @example wetBulbStull(20, 50).wetBulbC // 13.70
 */
export function wetBulbStull(
  airTempC: number,
  relHumidityPercent: number,
): { wetBulbC: number; extrapolated: boolean } {
  expectInRange('airTempC', airTempC, -40, 60, '°C');
  expectInRange('relHumidityPercent', relHumidityPercent, 0, 100, '% relative humidity');
  const T = airTempC;
  const RH = relHumidityPercent;
  const wetBulbC =
    T * Math.atan(0.151977 * Math.sqrt(RH + 8.313659)) +
    Math.atan(T + RH) -
    Math.atan(RH - 1.676331) +
    0.00391838 * RH ** 1.5 * Math.atan(0.023101 * RH) -
    4.686035; // eq. 1
  return { wetBulbC, extrapolated: RH < 5 || RH > 99 || T < -20 || T > 50 };
}
