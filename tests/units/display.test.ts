import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  isOwnUnit,
  show,
  showFlow,
  showArea,
  showConcentration,
  showDryRate,
  showLiquidRate,
  showMass,
  showNutrientRate,
  showTemperature,
  showTemperatureDifference,
  showTyped,
  showVolume,
  significant,
  unitLabel,
} from '@/lib/units/display';
import { measurableMass, measurableVolume } from '@/lib/units/measurable';
import { AREA_UNITS } from '@/lib/units/area';
import { LENGTH_UNITS } from '@/lib/units/length';
import { MASS_UNITS } from '@/lib/units/mass';
import { SPEED_UNITS } from '@/lib/units/speed';
import { VOLUME_UNITS } from '@/lib/units/volume';
import { RATE_UNITS } from '@/lib/units/rate';
import { US_FLUID_OUNCE_L, US_GALLON_L } from '@/lib/units/exact';

describe('significant figures', () => {
  test.each([
    [0.0024691, 3, '0.00247'],
    [1234.5, 3, '1230'],
    [0, 3, '0'],
    [-0.5, 2, '-0.5'],
    [9.996, 3, '10'],
    [407.4583, 4, '407.5'],
    [1e-9, 2, '0.000000001'],
    [123456789, 3, '123000000'],
    [100, 3, '100'],
    [-0, 3, '0'],
  ])('%d to %d figures reads %s', (value, figures, text) => {
    expect(significant(value, figures)).toBe(text);
  });
  test('never moves a number by more than half its last figure', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1e9, noNaN: true }), fc.integer({ min: 1, max: 6 }), (value, figures) => {
        const shown = Number(significant(value, figures));
        expect(Math.abs(shown - value)).toBeLessThanOrEqual(
          0.5001 * 10 ** (Math.floor(Math.log10(value)) - figures + 1),
        );
      }),
      { seed: 7 },
    );
  });
  test('refuses what is not a number', () => {
    expect(() => significant(Number.NaN)).toThrow('number to show: expected a finite number, got NaN');
  });
});

describe('units for the reader', () => {
  test('each system has its own', () => {
    expect(showArea(371.61216, 'us-customary').text).toBe('4000 ft²');
    expect(showArea(371.61216, 'metric').text).toBe('372 m²');
    expect(showVolume(US_GALLON_L * 4, 'us-customary').text).toBe('4 gal');
    expect(showVolume(0.25, 'metric').text).toBe('250 mL');
    expect(showMass(0.05, 'us-customary').text).toBe('1.76 oz');
    expect(showLiquidRate(407.4583301, 'us-customary').text).toBe('1 gal/1000 ft²');
    expect(showDryRate(1.1, 'us-customary').text).toBe('0.36 oz/1000 ft²');
    expect(showNutrientRate(4.882427636, 'us-customary').text).toBe('0.1 lb/1000 ft²');
    expect(showTemperature(20, 'us-customary').text).toBe('68 °F');
    expect(showTemperatureDifference(5, 'us-customary').text).toBe('9 °F');
    expect(showTemperature(-0.02, 'metric').text).toBe('0 °C');
    expect(showConcentration(2500, 'metric').text).toBe('2.5 g/L');
    expect(showArea(0, 'metric').text).toBe('0 ha');
    expect(show({ value: 1.5, unit: 'mg/L CaCO3' }).text).toBe('1.5 mg/L as CaCO₃');
  });
  test('no label of a rate leaks the internal name', () => {
    for (const unit of RATE_UNITS) expect(unitLabel(unit)).not.toMatch(/us-|ft2|m2/);
  });
});

describe('what can be measured', () => {
  test('a kitchen scale shows whole grams or tenths of an ounce', () => {
    expect(measurableMass(0.1134, 'metric').text).toBe('113 g');
    expect(measurableMass(0.1134, 'us-customary').text).toBe('4 oz');
    expect(measurableMass(0.6, 'us-customary').text).toBe('1 lb 5.2 oz');
    expect(measurableMass(1.5, 'metric').text).toBe('1.5 kg');
  });
  test('spoons and cups add up', () => {
    expect(measurableVolume(1.5 * US_FLUID_OUNCE_L, 'us-customary').text).toBe('3 tbsp');
    expect(measurableVolume(18 * US_FLUID_OUNCE_L, 'us-customary').text).toBe('2 ¼ cup');
    expect(measurableVolume(US_GALLON_L, 'us-customary').text).toBe('1 gal');
    expect(measurableVolume(0.0074, 'metric').text).toBe('7.5 mL');
  });
  test('says when so little cannot be measured that way', () => {
    const little = measurableMass(0.0004, 'metric');
    expect(little.text).toBe('0 g');
    expect(little.errorShare).toBe(-1);
    expect(little.closeEnough).toBe(false);
    expect(measurableVolume(0.0003, 'us-customary').closeEnough).toBe(false);
  });
  test('nothing asked for is nothing measured', () => {
    expect(measurableVolume(0, 'us-customary')).toEqual({
      text: '0 tsp',
      measured: 0,
      errorShare: 0,
      closeEnough: true,
    });
  });
  test('is within 5 % for any volume from 15 mL and any mass from 10 g up', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.015, max: 40, noNaN: true }),
        fc.constantFrom('us-customary' as const, 'metric' as const),
        (amount, system) => {
          expect(measurableVolume(amount, system).closeEnough).toBe(true);
          expect(measurableMass(amount + 0.02, system).closeEnough).toBe(true);
        },
      ),
      { seed: 11 },
    );
  });
  test('refuses a negative amount', () => {
    expect(() => measurableMass(-1, 'metric')).toThrow('mass: expected 0 or more kg, got -1');
  });
});

describe('the flow of nozzles', () => {
  test('is gallons a minute from one on, fluid ounces below; litres and millilitres in metric units', () => {
    expect(showFlow(US_GALLON_L * 1.5, 'us-customary').text).toBe('1.5 gal/min');
    expect(showFlow(US_GALLON_L / 4, 'us-customary').text).toBe('32 fl oz/min'); // 128 fl oz in a gallon
    expect(showFlow(0.8, 'metric').text).toBe('800 mL/min');
  });
});

describe('what was typed', () => {
  test('is shown as typed to a reader who uses the unit, and converted to one who doesn’t', () => {
    expect(showTyped({ value: 1.5, unit: 'us-fl-oz/1000ft2' }, 'us-customary').text).toBe('1.5 fl oz/1000 ft²');
    expect(showTyped({ value: 1, unit: 'us-gal/1000ft2' }, 'metric').text).toBe('4.07 L/100 m²'); // 3.785411784 L on 92.90304 m²
    expect(showTyped({ value: 25, unit: 'kg/ha' }, 'us-customary').text).toBe('0.512 lb/1000 ft²'); // 25 / 48.8243
    expect(showTyped({ value: 5, unit: 'mL/L' }, 'us-customary').text).toBe('0.64 fl oz/gal'); // 5/1000 × 128
    expect(showTyped({ value: 0.25, unit: '% v/v' }, 'metric').text).toBe('0.25 % v/v');
    expect(showTyped({ value: 4, unit: 'L' }, 'us-customary').text).toBe('1.06 gal');
  });

  test('every unit a person may pick belongs to exactly one system', () => {
    const customary = /ft|acre|us-|yd|in$|oz|lb|mph/;
    for (const unit of [
      ...RATE_UNITS.filter((one) => one !== '% v/v'),
      ...VOLUME_UNITS,
      ...MASS_UNITS,
      ...AREA_UNITS,
      ...LENGTH_UNITS,
      ...SPEED_UNITS,
    ]) {
      expect([unit, isOwnUnit(unit, 'metric'), isOwnUnit(unit, 'us-customary')]).toEqual([
        unit,
        !customary.test(unit),
        customary.test(unit),
      ]);
    }
  });
});
