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
