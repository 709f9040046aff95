/**
 * Humidity table recomputed with an independent script (Python, float64) from FAO-56 eq. 11, 3-11, 15/16 (coefficient
 * 0.000662, 101.3 kPa) and Stull 2011 eq. 1; Stull's 20 °C, 50 % → 13.7 °C is the paper's own example (from memory).
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { deltaTC, deltaTClass } from '@/lib/weather/delta-t';
import {
  dewPointC,
  relHumidityFromDewPoint,
  vapourPressureDeficitKPa,
  vapourPressureKPa,
} from '@/lib/weather/humidity';
import { saturationVapourPressureKPa } from '@/lib/weather/saturation';
import { PSYCHROMETER_PER_C } from '@/lib/weather/pressure';
import { wetBulbPsychrometricC } from '@/lib/weather/wet-bulb';

const rows = [
  // °C, %, es kPa, VPD kPa, dew point, wet bulb Stull, wet bulb psychrometric, Delta T by Stull
  [20, 50, 2.3383, 1.1691, 9.26, 13.7, 13.84, 6.3],
  [25, 60, 3.1678, 1.2671, 16.69, 19.5, 19.51, 5.5],
  [30, 40, 4.2431, 2.5458, 14.92, 20.45, 20.14, 9.55],
  [35, 20, 5.6227, 4.4981, 8.69, 19.3, 19.0, 15.7],
  [10, 90, 1.228, 0.1228, 8.43, 8.92, 9.17, 1.08],
] as const;

/**
 * Another's wet bulb, °C, at sea level, fitted from 5 to 99 % and -20 to 50 °C with errors of -1 to +0.65 °C.
 * @see Stull 2011, J. Appl. Meteorol. Climatol. 50:2267-2269, eq. 1
 */
const wetBulbByStull = (T: number, RH: number): number =>
  T * Math.atan(0.151977 * Math.sqrt(RH + 8.313659)) +
  Math.atan(T + RH) -
  Math.atan(RH - 1.676331) +
  0.00391838 * RH ** 1.5 * Math.atan(0.023101 * RH) -
  4.686035;

/** How many units of the last digit tabled a value is off. */
function unitsOff(got: number | null, value: number, digits: number): number {
  return Math.abs((got ?? Number.POSITIVE_INFINITY) - value) * 10 ** digits;
}

describe('humidity', () => {
  test.each(rows)('%d °C and %d %% give the tabled values', (temp, humidity, es, vpd, dew, stull, psychro, delta) => {
    expect(unitsOff(saturationVapourPressureKPa(temp), es, 4)).toBeLessThan(0.501);
    expect(unitsOff(vapourPressureDeficitKPa(temp, humidity), vpd, 4)).toBeLessThan(0.501);
    expect(unitsOff(dewPointC(temp, humidity), dew, 2)).toBeLessThan(0.501);
    expect(unitsOff(wetBulbByStull(temp, humidity), stull, 2)).toBeLessThan(0.501);
    expect(unitsOff(wetBulbPsychrometricC(temp, humidity, 101.3), psychro, 2)).toBeLessThan(0.501);
    expect(unitsOff(temp - wetBulbByStull(temp, humidity), delta, 2)).toBeLessThan(0.501);
  });
  test('from 0 to 44 °C and 20 to 99 % the two wet bulbs agree within 1 °C, the worst error Stull states', () => {
    for (let temp = 0; temp <= 44; temp += 2) {
      for (let humidity = 20; humidity <= 99; humidity += 5) {
        expect(Math.abs(wetBulbByStull(temp, humidity) - wetBulbPsychrometricC(temp, humidity, 101.325))).toBeLessThan(
          1,
        );
      }
    }
  });
  test('the wet bulb solves its own equation, lies between dew point and air, and Delta T is 0 at saturation', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -20, max: 50, noNaN: true }),
        fc.double({ min: 1, max: 100, noNaN: true }),
        fc.double({ min: 70, max: 105, noNaN: true }),
        (temp, humidity, pressure) => {
          const wet = wetBulbPsychrometricC(temp, humidity, pressure);
          // The psychrometer equation, FAO-56 eq. 15.
          const held = saturationVapourPressureKPa(wet) - PSYCHROMETER_PER_C.aspirated * pressure * (temp - wet);
          expect(held).toBeCloseTo(vapourPressureKPa(temp, humidity), 8);
          expect(wet).toBeLessThanOrEqual(temp);
        },
      ),
    );
    expect(deltaTC(25, 100, 101.3)).toBeCloseTo(0, 9);
  });
  test('dew point and humidity are one another’s inverse; dry air has no dew point', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -20, max: 50, noNaN: true }),
        fc.double({ min: 1, max: 100, noNaN: true }),
        (temp, humidity) => {
          // eq. 3-11 prints its constants to two decimals: round trip to 0.15 % humidity
          const dew = dewPointC(temp, humidity);
          if (dew === null || dew < -40) return;
          expect(Math.abs(relHumidityFromDewPoint(temp, dew).relHumidityPercent - humidity)).toBeLessThan(0.15);
        },
      ),
    );
    expect(dewPointC(20, 0)).toBeNull();
    expect(relHumidityFromDewPoint(10, 10.3)).toEqual({ relHumidityPercent: 100, oversaturated: true });
  });
  test('humidity goes in as percent: a negative one or 101 is refused with its unit', () => {
    expect(() => vapourPressureDeficitKPa(20, 101)).toThrow(
      'relHumidityPercent: expected a number from 0 to 100 % relative humidity, got 101',
    );
  });
});

test('Delta T classes: under 2 low, 2 to 8 suitable, to 10 marginal, above high (Bureau of Meteorology guide; GRDC module 10.3)', () => {
  expect([1.99, 2, 8, 8.01, 10, 10.01].map(deltaTClass)).toEqual([
    'low',
    'suitable',
    'suitable',
    'marginal',
    'marginal',
    'high',
  ]);
});
