/**
 * Nutrient, calibration and tank arithmetic against worked examples of extension publications, quoted second-hand and
 * not re-read at the source. The printed answer is asserted at its own digits; where a source rounds on the way, the
 * exact answer stands beside it.
 */
import { describe, expect, test } from 'vitest';
import {
  ACRE_OVER_128_M2,
  carrierFromArea,
  carrierFromFlow,
  distanceFor128th,
  flowAtPressure,
  SQUARE_SIDE_M,
  walkingSpeedMPerS,
} from '@/lib/spray/calibration';
import { doseForNutrient } from '@/lib/spray/fix-the-nutrient';
import { type GuaranteedAnalysis, K_IN_K2O, nutrientsIn, P_IN_P2O5, shareOnBasis } from '@/lib/spray/nutrients';
import { amountForArea, doseFromRate } from '@/lib/spray/product-rate';
import { SALT_INDEX, saltIndex } from '@/lib/spray/salt-index';
import { amountInLoad, planTanks } from '@/lib/spray/tanks';
import { toM2 } from '@/lib/units/area';
import { toKgPerL } from '@/lib/units/density';
import { ACRE_M2, FOOT_M, INCH_M, POUND_KG, SQUARE_FOOT_M2, US_FLUID_OUNCE_L, US_GALLON_L } from '@/lib/units/exact';
import { toLPerMin } from '@/lib/units/flow';
import { fromKgPerHa, fromLPerHa, fromMlPerL, type LiquidAreaRate, toKgPerHa, toLPerHa } from '@/lib/units/rate';
import { toMPerS } from '@/lib/units/speed';
import { SUBSTANCES } from '@/lib/water/substances';

const dry = (analysis: GuaranteedAnalysis) => ({
  name: 'granular',
  form: 'dry' as const,
  densityKgPerL: null,
  analysis,
});
const liquid = (poundsPerGallon: number, analysis: GuaranteedAnalysis) => ({
  name: 'liquid',
  form: 'liquid' as const,
  densityKgPerL: toKgPerL({ value: poundsPerGallon, unit: 'lb/us-gal' }),
  analysis,
});

/** Pounds of product per 1000 ft², and for an area in ft², that give so many pounds of N per 1000 ft². */
function poundsForNitrogen(percentN: number, poundsN: number, squareFeet: number) {
  const dose = doseForNutrient(
    dry({ totalNPercent: percentN }),
    'N',
    toKgPerHa({ value: poundsN, unit: 'lb/1000ft2' }),
  );
  if ('kind' in dose) throw new Error(dose.sentence);
  return {
    per1000: fromKgPerHa(dose.massKgPerHa ?? Number.NaN, 'lb/1000ft2').value,
    total: (amountForArea(dose, toM2({ value: squareFeet, unit: 'ft2' })).massKg ?? Number.NaN) / POUND_KG,
  };
}

describe('product for a nitrogen rate', () => {
  test.each([
    ['28-3-6, 1 lb N over 6000 ft2: 3.57 and 21.42 lb, rounded on the way (UNL)', 28, 1, 6000, 3.57, 21.43],
    ['21 % N, 3 lb N over 5000 ft2: 14.28 and 71.42 lb, cut not rounded (garden guide)', 21, 3, 5000, 14.286, 71.43],
    ['20 % N, 1 lb N over 12,000 ft2: 5 and 60 lb (extension)', 20, 1, 12_000, 5, 60],
    ['16-4-8, 1 lb N: 6.25 lb (extension)', 16, 1, 1000, 6.25, 6.25],
    ['26-5-x, 1 lb N: 3.8 lb, exactly 3.85 (extension copy)', 26, 1, 1000, 3.846, 3.846],
  ])('%s', (_source, percentN, poundsN, squareFeet, per1000, total) => {
    const got = poundsForNitrogen(percentN, poundsN, squareFeet);
    expect(got.per1000).toBeCloseTo(per1000, 2);
    expect(got.total).toBeCloseTo(total, 2);
  });

  test('a 15 lb bag of 24 % N over 5000 ft2 gives 0.72 lb N per 1000 ft2 (R package documentation)', () => {
    const massKgPerHa = (15 * POUND_KG) / (toM2({ value: 5000, unit: 'ft2' }) / 10_000);
    const { N } = nutrientsIn({ totalNPercent: 24 }, massKgPerHa);
    expect(fromKgPerHa(N, 'lb/1000ft2').value).toBeCloseTo(0.72, 10);
  });
});

describe('liquids by weight', () => {
  test('10-10-10 of 10.69 lb/gal: 1.069 lb N/gal, 15 lb N/ac takes 14.03 gal/ac and 280.6 gal on 20 ac; 300 gal give 16.04 lb N/ac (Vineyard Team)', () => {
    const product = liquid(10.69, { totalNPercent: 10, p2o5Percent: 10, k2oPercent: 10 });
    expect(nutrientsIn(product.analysis, 10.69).N).toBeCloseTo(1.069, 6);
    const dose = doseForNutrient(product, 'N', toKgPerHa({ value: 15, unit: 'lb/acre' }));
    if ('kind' in dose) throw new Error(dose.sentence);
    expect(fromLPerHa(dose.volumeLPerHa ?? 0, 'us-gal/acre').value).toBeCloseTo(14.03, 2);
    expect((amountForArea(dose, 20 * ACRE_M2).volumeL ?? 0) / US_GALLON_L).toBeCloseTo(280.6, 1);
    const applied = doseFromRate(product, { value: 300 / 20, unit: 'us-gal/acre' }, 200);
    if ('kind' in applied) throw new Error(applied.sentence);
    const { N } = nutrientsIn(product.analysis, applied.massKgPerHa ?? Number.NaN);
    expect(fromKgPerHa(N, 'lb/acre').value).toBeCloseTo(16.04, 2);
  });

  test('10.68 lb/gal at 6 fl oz/1000 ft2: 0.5 lb product, 0.02 lb N, 0.002 lb Mn (Woods 2015)', () => {
    const product = liquid(10.68, { totalNPercent: 4, mnPercent: 0.4 });
    const dose = doseFromRate(product, { value: 6, unit: 'us-fl-oz/1000ft2' }, 400);
    if ('kind' in dose) throw new Error(dose.sentence);
    const nutrients = nutrientsIn(product.analysis, dose.massKgPerHa ?? Number.NaN);
    expect(fromKgPerHa(dose.massKgPerHa ?? 0, 'lb/1000ft2').value).toBeCloseTo(0.5006, 4);
    expect(fromKgPerHa(nutrients.N, 'lb/1000ft2').value).toBeCloseTo(0.02, 4);
    expect(fromKgPerHa(nutrients.Mn, 'lb/1000ft2').value).toBeCloseTo(0.002, 4);
  });

  test.each([
    [30, 10.86, 3.258],
    [18, 10.58, 1.904],
  ])('%d %% N at %f lb/gal holds %f lb N/gal', (percentN, poundsPerGallon, poundsN) => {
    expect(nutrientsIn({ totalNPercent: percentN }, poundsPerGallon).N).toBeCloseTo(poundsN, 3);
  });
});

describe('oxides and elements', () => {
  test('P in P2O5 is 0.43642 and K in K2O 0.83015; their inverses are 2.29 and 1.2', () => {
    // 0.436429; the figure stated is cut, not rounded.
    expect(Math.abs(P_IN_P2O5 - 0.43642)).toBeLessThan(1e-5);
    expect(K_IN_K2O).toBeCloseTo(0.83015, 5);
    expect(1 / P_IN_P2O5).toBeCloseTo(2.29, 2);
    expect(1 / K_IN_K2O).toBeCloseTo(1.2, 2);
  });
  test('20 % P2O5 is 8.8 % P by the label factor 0.44, 8.73 exactly; 10 % K2O is 8.3 % K (extension copy)', () => {
    expect(shareOnBasis({ p2o5Percent: 20 }, 'P') * 100).toBeCloseTo(8.73, 2);
    expect(0.44 / P_IN_P2O5 - 1).toBeCloseTo(0.008, 3);
    expect(shareOnBasis({ k2oPercent: 10 }, 'K') * 100).toBeCloseTo(8.3, 1);
    expect(shareOnBasis({ p2o5Percent: 20, k2oPercent: 10 }, 'P2O5')).toBeCloseTo(0.2, 12);
  });
  test.each([
    ['ammonium sulfate', 'N', 2 * 14.007, 21.2],
    ['ammonium sulfate', 'S', 32.06, 24.26],
    ['ferrous sulfate heptahydrate', 'Fe', 55.845, 20.09],
    ['ferrous sulfate heptahydrate', 'S', 32.06, 11.53],
    ['ferrous sulfate monohydrate', 'Fe', 55.845, 32.87],
    ['urea', 'N', 2 * 14.007, 46.65],
    ['potassium nitrate', 'N', 14.007, 13.85],
    ['potassium nitrate', 'K2O', 39.098 / K_IN_K2O, 46.58],
    ['potassium sulfate', 'K2O', (2 * 39.098) / K_IN_K2O, 54.05],
    ['potassium sulfate', 'S', 32.06, 18.4],
    ['monoammonium phosphate', 'N', 14.007, 12.18],
    ['monoammonium phosphate', 'P2O5', 30.974 / P_IN_P2O5, 61.7],
  ] as const)('%s holds %s by formula', (name, _basis, grams, percent) => {
    expect((grams / SUBSTANCES[name].molarMassGPerMol) * 100).toBeCloseTo(percent, 1);
  });
});

describe('calibration', () => {
  test('1/128 acre is 340.31 ft2, a square of 18.447 ft (Kansas State prints 18.5)', () => {
    expect(ACRE_OVER_128_M2 / SQUARE_FOOT_M2).toBeCloseTo(340.31, 2);
    // 18.4476; the figure stated is cut, not rounded.
    expect(Math.abs(SQUARE_SIDE_M / FOOT_M - 18.447)).toBeLessThan(0.001);
  });
  test('31 fl oz on 1/128 acre are 31 gal/acre (Kansas State worksheet); 40 are 40', () => {
    for (const ounces of [31, 40])
      expect(fromLPerHa(carrierFromArea(ounces * US_FLUID_OUNCE_L, ACRE_OVER_128_M2), 'us-gal/acre').value).toBeCloseTo(
        ounces,
        9,
      );
  });
  test('at 40 gal/acre 1 qt/ac is 0.8 fl oz/gal, 23.66 mL (printed 24 with 30 mL to the ounce)', () => {
    const perL = toLPerHa({ value: 1, unit: 'us-qt/acre' }) / toLPerHa({ value: 40, unit: 'us-gal/acre' });
    expect(fromMlPerL(perL * 1000, 'us-fl-oz/us-gal').value).toBeCloseTo(0.8, 9);
    expect(fromMlPerL(perL * 1000, 'mL/us-gal').value).toBeCloseTo(23.66, 2);
  });
  test('480 fl oz/min at 5 mph over 222 in is 20 gal/acre (Albany County, Wyoming), 20.07 by 5940', () => {
    const flow = toLPerMin({ value: 480, unit: 'us-fl-oz/min' });
    const got = fromLPerHa(
      carrierFromFlow(flow, toMPerS({ value: 5, unit: 'mph' }), 222 * INCH_M),
      'us-gal/acre',
    ).value;
    expect(got).toBeCloseTo(20.07, 2);
    expect(got).toBeCloseTo((5940 * 3.75) / (5 * 222), 2);
  });
  test('1.5 gal/1000 ft2 is 65 gal/acre (65.34); 3 pt/ac are then 0.74 fl oz (0.735) and 1.5 tbsp per gal', () => {
    const carrier: LiquidAreaRate = { value: 1.5, unit: 'us-gal/1000ft2' };
    expect(fromLPerHa(toLPerHa(carrier), 'us-gal/acre').value).toBeCloseTo(65.34, 6);
    const mlPerL = (toLPerHa({ value: 3, unit: 'us-pt/acre' }) / toLPerHa(carrier)) * 1000;
    expect(fromMlPerL(mlPerL, 'us-fl-oz/us-gal').value).toBeCloseTo(0.735, 3);
    expect(fromMlPerL(mlPerL, 'us-tbsp/us-gal').value).toBeCloseTo(1.5, 1);
  });
  test('1 gal/1000 ft2 is 43.56 gal/acre; 1 qt/ac is then 0.73 fl oz/gal (0.7346)', () => {
    const mlPerL = (toLPerHa({ value: 1, unit: 'us-qt/acre' }) / toLPerHa({ value: 1, unit: 'us-gal/1000ft2' })) * 1000;
    expect(fromMlPerL(mlPerL, 'us-fl-oz/us-gal').value).toBeCloseTo(0.7346, 4);
  });
  test('100 ft at 3 mph take 22.7 s', () => {
    expect(walkingSpeedMPerS(100 * FOOT_M, 22.7) / toMPerS({ value: 3, unit: 'mph' })).toBeCloseTo(1, 2);
  });
  test('four times the pressure doubles the flow', () => {
    expect(flowAtPressure(0.8, 100, 400)).toBeCloseTo(1.6, 12);
  });
  test('a 20 in swath covers 1/128 acre in 204 ft (printed in nozzle-spacing tables of the 1/128 method)', () => {
    expect(distanceFor128th(20 * INCH_M) / FOOT_M).toBeCloseTo(204, 0);
  });
});

describe('tanks', () => {
  test('1 gal treats 200 ft2, so 10 gal treat 2000 ft2, and at 2 oz/1000 ft2 take 4 oz', () => {
    const carrierLPerHa = (US_GALLON_L / (200 * SQUARE_FOOT_M2)) * 10_000;
    const plan = planTanks({ areaM2: 2000 * SQUARE_FOOT_M2, carrierLPerHa, tankCapacityL: 10 * US_GALLON_L });
    if ('kind' in plan) throw new Error(plan.sentence);
    expect(plan.loads).toHaveLength(1);
    const dose = doseFromRate(
      { name: 'x', form: 'dry', densityKgPerL: null },
      { value: 2, unit: 'oz/1000ft2' },
      carrierLPerHa,
    );
    if ('kind' in dose) throw new Error(dose.sentence);
    expect((amountInLoad(dose, plan.loads[0]!, carrierLPerHa).massKg ?? 0) / POUND_KG).toBeCloseTo(4 / 16, 9);
  });
});

describe('salt index', () => {
  test('ammonium sulfate is 69 in one edition and 88.3 in another, so the edition is part of the answer', () => {
    expect(saltIndex('ammonium sulfate', 'rader-1943')).toBe(69.0);
    expect(saltIndex('ammonium sulfate', 'mortvedt-2001')).toBe(88.3);
    expect(saltIndex('monopotassium phosphate', 'rader-1943')).toBe(null);
  });
  test.each([
    ['ammonium nitrate', 105],
    ['ammonium sulfate', 69],
    ['urea', 75],
    ['potassium sulfate', 46],
    ['magnesium sulfate heptahydrate', 44],
  ])('Rader %s rounds to the garden list %d', (name, rounded) => {
    expect(Math.round(SALT_INDEX['rader-1943'][name]!)).toBe(rounded);
  });
  test('per unit of N (McCarty 2001): ammonium sulfate 3.3, urea 1.6, ammonium nitrate 3', () => {
    expect(69.0 / 21.2).toBeCloseTo(3.3, 1);
    expect(saltIndex('urea', 'rader-1943')! / 46.65).toBeCloseTo(1.6, 1);
    expect(saltIndex('ammonium nitrate', 'rader-1943')! / 35).toBeCloseTo(3, 1);
  });
});
