import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { AREA_UNITS, fromM2, toM2 } from '@/lib/units/area';
import { fromMgPerL, toMgPerLCaCO3 } from '@/lib/units/concentration';
import { toKgPerL } from '@/lib/units/density';
import { FLOW_UNITS, fromLPerMin, toLPerMin } from '@/lib/units/flow';
import { fromM, LENGTH_UNITS, toM } from '@/lib/units/length';
import { fromKg, MASS_UNITS, toKg } from '@/lib/units/mass';
import { fromKPa, PRESSURE_UNITS, toKPa } from '@/lib/units/pressure';
import {
  DRY_AREA_RATE_UNITS,
  fromGPerL,
  fromKgPerHa,
  fromLPerHa,
  fromMlPerL,
  isDryTankRate,
  isLiquidTankRate,
  LIQUID_AREA_RATE_UNITS,
  RATE_UNITS,
  type Rate,
  toGPerL,
  toKgPerHa,
  toLPerHa,
  toMlPerL,
} from '@/lib/units/rate';
import { fromMPerS, SPEED_UNITS, toMPerS } from '@/lib/units/speed';
import { fromC, fromDifferenceC, TEMPERATURE_UNITS, toC } from '@/lib/units/temperature';
import { fromL, toL, VOLUME_UNITS } from '@/lib/units/volume';

const LIQUID_TANK_RATE_UNITS = RATE_UNITS.map((unit) => ({ value: 1, unit }) as Rate)
  .filter(isLiquidTankRate)
  .map(({ unit }) => unit);
const DRY_TANK_RATE_UNITS = RATE_UNITS.map((unit) => ({ value: 1, unit }) as Rate)
  .filter(isDryTankRate)
  .map(({ unit }) => unit);

describe('published conversions', () => {
  // NIST SP 811 (2008) B.8, printed digits in brackets.
  // prettier-ignore
  test.each([
    ['acre [4.046 873 E+03 for the survey acre; international 4046.856]', toM2({ value: 1, unit: 'acre' }), 4046.8564224],
    ['1 acre is 43.56 units of 1000 ft2', fromM2(toM2({ value: 43_560, unit: 'ft2' }), 'acre').value, 1],
    ['US fluid ounce [29.573 53 mL]', toL({ value: 1, unit: 'us-fl-oz' }) * 1000, 29.5735295625],
    ['US gallon is 128 fl oz', fromL(toL({ value: 1, unit: 'us-gal' }), 'us-fl-oz').value, 128],
    ['US gallon is 768 tsp', fromL(toL({ value: 1, unit: 'us-gal' }), 'us-tsp').value, 768],
    ['US tablespoon [14.786 76 mL]', toL({ value: 1, unit: 'us-tbsp' }) * 1000, 14.78676478125],
    ['US cup [236.5882 mL]', toL({ value: 1, unit: 'us-cup' }) * 1000, 236.5882365],
    ['ounce [28.349 52 g]', toKg({ value: 1, unit: 'oz' }) * 1000, 28.349523125],
    ['mile per hour [0.447 04 m/s]', toMPerS({ value: 1, unit: 'mph' }), 0.44704],
    ['1 mph is 88 ft/min', fromMPerS(toMPerS({ value: 1, unit: 'mph' }), 'ft/min').value, 88],
    ['psi [6.894 757 kPa]', toKPa({ value: 1, unit: 'psi' }), 6.894757293168],
    ['inch of mercury, conventional [3.386 389 kPa]', toKPa({ value: 1, unit: 'inHg' }), 3.386388640341],
    ['pound per US gallon [0.119 826 4 kg/L]', toKgPerL({ value: 1, unit: 'lb/us-gal' }), 0.1198264273],
    ['gallon per minute [3.785 412 L/min]', toLPerMin({ value: 1, unit: 'us-gal/min' }), 3.785411784],
    ['212 degF is 100 degC', toC({ value: 212, unit: 'degF' }), 100],
    ['-40 is the same on both', fromC(-40, 'degF').value, -40],
    ['a difference of 10 degC is 18 degF', fromDifferenceC(10, 'degF').value, 18],
    // Extension tables of turf rates: 1 lb/1000 ft2 = 43.56 lb/ac = 48.82 kg/ha = 4.882 g/m2.
    ['1 lb/1000 ft2 is 48.824 kg/ha', toKgPerHa({ value: 1, unit: 'lb/1000ft2' }), 48.82427636],
    ['1 lb/1000 ft2 is 43.56 lb/acre', fromKgPerHa(toKgPerHa({ value: 1, unit: 'lb/1000ft2' }), 'lb/acre').value, 43.56],
    ['1 lb/1000 ft2 is 4.8824 g/m2', fromKgPerHa(toKgPerHa({ value: 1, unit: 'lb/1000ft2' }), 'g/m2').value, 4.882427636],
    ['1 gal/1000 ft2 is 407.46 L/ha', toLPerHa({ value: 1, unit: 'us-gal/1000ft2' }), 407.4583301],
    ['1 gal/1000 ft2 is 43.56 gal/acre', fromLPerHa(toLPerHa({ value: 1, unit: 'us-gal/1000ft2' }), 'us-gal/acre').value, 43.56],
    ['1 gal/1000 ft2 is 40.75 mL/m2', fromLPerHa(toLPerHa({ value: 1, unit: 'us-gal/1000ft2' }), 'mL/m2').value, 40.74583301],
    ['1 kg/ha is 0.02048 lb/1000 ft2', fromKgPerHa(1, 'lb/1000ft2').value, 0.02048161436],
    // 1 oz/gal is 7.489 g/L; 1 fl oz/gal is 1/128 = 7.8125 mL/L.
    ['1 oz/gal is 7.489 g/L', toGPerL({ value: 1, unit: 'oz/us-gal' }), 7.489151707],
    ['1 fl oz/gal is 7.8125 mL/L', toMlPerL({ value: 1, unit: 'us-fl-oz/us-gal' }), 7.8125],
    // Kansas State: 2 oz per 100 gal is 56.7 g in 378.5 L, 150 mg/L.
    ['2 oz/100 gal is 0.1498 g/L', toGPerL({ value: 2, unit: 'oz/100us-gal' }), 0.149783],
    ['1 fl oz/100 gal is 0.078125 mL/L', toMlPerL({ value: 1, unit: 'us-fl-oz/100us-gal' }), 0.078125],
    ['100 g/100 L is 1 g/L', toGPerL({ value: 100, unit: 'g/100L' }), 1],
    ['1 g/m2 is 10 kg/ha', toKgPerHa({ value: 1, unit: 'g/m2' }), 10],
    ['1 kg/100 m2 is 100 kg/ha', toKgPerHa({ value: 1, unit: 'kg/100m2' }), 100],
    ['yard [0.9144 m]', toM({ value: 1, unit: 'yd' }), 0.9144],
    ['mile [1609.344 m]', toM({ value: 1, unit: 'mi' }), 1609.344],
    ['square yard [0.836 127 4 m2]', toM2({ value: 1, unit: 'yd2' }), 0.83612736],
    ['US liquid pint [0.473 176 5 L]', toL({ value: 1, unit: 'us-pt' }), 0.473176473],
    ['US liquid quart [0.946 352 9 L]', toL({ value: 1, unit: 'us-qt' }), 0.946352946],
    ['US teaspoon [4.928 922 mL]', toL({ value: 1, unit: 'us-tsp' }) * 1000, 4.92892159375],
    ['knot [0.514 444 4 m/s]', toMPerS({ value: 1, unit: 'knot' }), 0.5144444],
    ['standard atmosphere 1013.25 hPa is 760 mmHg', toKPa({ value: 1013.25, unit: 'hPa' }) / toKPa({ value: 760, unit: 'mmHg' }), 1.0000001],
    ['1 mL/s is 0.06 L/min', toLPerMin({ value: 1, unit: 'mL/s' }), 0.06],
    ['128 fl oz/min is 1 gal/min', fromLPerMin(toLPerMin({ value: 128, unit: 'us-fl-oz/min' }), 'us-gal/min').value, 1],
    ['10 French degrees are 100 mg/L CaCO3', toMgPerLCaCO3({ value: 10, unit: 'french-degree' }), 100],
    ['1 % w/v is 10 g/L', 10_000 / fromMgPerL(10_000, '% w/v').value, 10_000],
    // PT horticulture table and water-report convention: 1 meq/L = 50.04 ppm CaCO3 = 61.02 ppm HCO3.
    ['1 meq/L is 50.04 mg/L CaCO3', toMgPerLCaCO3({ value: 1, unit: 'meq/L' }), 50.043],
    ['1 meq/L is 61.02 mg/L HCO3', toMgPerLCaCO3({ value: 1, unit: 'meq/L' }) / toMgPerLCaCO3({ value: 1, unit: 'mg/L HCO3' }), 61.016],
    ['1 grain/gal is 17.1 mg/L CaCO3', toMgPerLCaCO3({ value: 1, unit: 'grain/us-gal' }), 17.11806],
    ['1 German degree is 17.85 mg/L CaCO3', toMgPerLCaCO3({ value: 1, unit: 'german-degree' }), 17.848],
  ])('%s', (_fact, got, published) => {
    expect(got / published).toBeCloseTo(1, Number.isInteger(published) ? 12 : 4);
  });
});

const finite = fc.double({ min: -1e6, max: 1e6, noNaN: true });

/** Style: floats of two routes are compared at 12 figures, never bit for bit. */
function close(got: number, asked: number): boolean {
  return Math.abs(got - asked) <= Math.abs(asked) * 1e-12 + 1e-300;
}

function roundTrips<U extends string>(
  name: string,
  units: readonly U[],
  there: (amount: { value: number; unit: U }) => number,
  back: (value: number, unit: U) => { value: number; unit: U },
) {
  test(`${name} come back as they went, in all ${units.length} units`, () => {
    expect(new Set(units).size).toBe(units.length);
    fc.assert(
      fc.property(finite, fc.constantFrom(...units), fc.constantFrom(...units), (value, unit, other) => {
        const canonical = there({ value, unit });
        const across = back(canonical, other);
        expect(across.unit).toBe(other);
        return close(back(there(across), unit).value, value);
      }),
      { seed: 41 },
    );
  });
}

describe('round trips', () => {
  roundTrips('lengths', LENGTH_UNITS, toM, fromM);
  roundTrips('areas', AREA_UNITS, toM2, fromM2);
  roundTrips('volumes', VOLUME_UNITS, toL, fromL);
  roundTrips('masses', MASS_UNITS, toKg, fromKg);
  roundTrips('speeds', SPEED_UNITS, toMPerS, fromMPerS);
  roundTrips('pressures', PRESSURE_UNITS, toKPa, fromKPa);
  roundTrips('flows', FLOW_UNITS, toLPerMin, fromLPerMin);
  roundTrips('liquid rates on an area', LIQUID_AREA_RATE_UNITS, toLPerHa, fromLPerHa);
  roundTrips('dry rates on an area', DRY_AREA_RATE_UNITS, toKgPerHa, fromKgPerHa);
  roundTrips('liquid rates in a tank', LIQUID_TANK_RATE_UNITS, toMlPerL, fromMlPerL);
  roundTrips('dry rates in a tank', DRY_TANK_RATE_UNITS, toGPerL, fromGPerL);

  test('temperatures come back within 1e-8 degree, and a difference is what its ends differ by', () => {
    fc.assert(
      fc.property(finite, fc.constantFrom(...TEMPERATURE_UNITS), (value, unit) => {
        expect(fromC(toC({ value, unit }), unit).value).toBeCloseTo(value, 8);
        // A difference is what the two ends differ by.
        const ends = fromC(value, unit).value - fromC(0, unit).value;
        expect(fromDifferenceC(value, unit).value).toBeCloseTo(ends, 8);
      }),
      { seed: 41 },
    );
  });
});

describe('what is refused', () => {
  test('a number that is not finite is named with its dimension', () => {
    expect(() => toM2({ value: Number.NaN, unit: 'acre' })).toThrow('area: expected a finite number, got NaN');
    expect(() => fromKg(Infinity, 'lb')).toThrow(RangeError);
  });
  test('a unit of another dimension is named with the ones that fit', () => {
    expect(() => toL({ value: 1, unit: 'oz' as never })).toThrow(
      /volume unit: expected one of mL, L, us-tsp.*got 'oz'/,
    );
    expect(() => toKgPerHa({ value: 1, unit: 'us-fl-oz/1000ft2' as never })).toThrow(/dry rate unit/);
    expect(() => toM({ value: 1, unit: 'constructor' as never })).toThrow(RangeError);
  });
  test('an unknown temperature unit', () => {
    expect(() => toC({ value: 1, unit: 'F' as never })).toThrow(/degC, degF, K/);
  });
});

describe('rate units', () => {
  test('liquid and dry rates share no unit', () => {
    const liquid = new Set<string>([...LIQUID_AREA_RATE_UNITS, ...LIQUID_TANK_RATE_UNITS]);
    expect([...DRY_AREA_RATE_UNITS, ...DRY_TANK_RATE_UNITS].filter((unit) => liquid.has(unit))).toEqual([]);
  });
});
