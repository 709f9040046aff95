import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { carrierFromArea, carrierFromFlow, catchSpread, speedForCarrier } from '@/lib/spray/calibration';
import { costOf } from '@/lib/spray/cost';
import { doseForNutrient } from '@/lib/spray/fix-the-nutrient';
import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixSheet } from '@/lib/spray/mix-sheet';
import { mixingOrder } from '@/lib/spray/mixing-order';
import { analysisFault, ELEMENTS, nutrientsIn, sumNutrients } from '@/lib/spray/nutrients';
import { passesOver } from '@/lib/spray/passes';
import { amountForArea, doseFromRate } from '@/lib/spray/product-rate';
import { seasonLedger } from '@/lib/spray/season-ledger';
import { percentByVolume, saltLoad, strength } from '@/lib/spray/solution';
import { compositionFault } from '@/lib/spray/composition';
import { planTanks, waterForLoad } from '@/lib/spray/tanks';
import { isSubstance, SUBSTANCES } from '@/lib/water/substances';

function item(id: string, massKgPerHa: number): MixItem {
  const material = GENERIC_MATERIALS.find((one) => one.id === id);
  if (material === undefined) throw new Error(id);
  return {
    ...material,
    dose: { massKgPerHa, volumeLPerHa: material.densityKgPerL === null ? null : massKgPerHa / material.densityKgPerL },
  };
}

function known(substance: string) {
  if (!isSubstance(substance)) throw new Error(substance);
  return SUBSTANCES[substance];
}

const SULFATE = item('ammonium-sulfate', 20);
const area = fc.double({ min: 1, max: 20_000, noNaN: true });
const carrier = fc.double({ min: 100, max: 5000, noNaN: true });
const tank = fc.double({ min: 5, max: 200, noNaN: true });

describe('tanks', () => {
  test('20 L over 400 m2 at 500 L/ha from a 15 L tank: one full load and one of 5 L', () => {
    const plan = planTanks({ areaM2: 400, carrierLPerHa: 500, tankCapacityL: 15 });
    expect(plan).toMatchObject({ totalMixL: 20, fullLoads: 1, lastPartial: { volumeL: 5, areaM2: 100 } });
  });
  test('exactly two tanks are two full loads and no partial one', () => {
    expect(planTanks({ areaM2: 600, carrierLPerHa: 500, tankCapacityL: 15 })).toMatchObject({
      fullLoads: 2,
      lastPartial: null,
    });
  });
  test('headroom lowers the fill, and even loads share it', () => {
    const plan = planTanks({ areaM2: 600, carrierLPerHa: 500, tankCapacityL: 15, headroomShare: 0.2, even: true });
    if ('kind' in plan) throw new Error(plan.sentence);
    expect(plan.headroomL).toBeCloseTo(3, 12);
    expect(plan.loads.map((load) => load.volumeL)).toEqual([10, 10, 10]);
  });
  test('loads add up to the area and the mix, none over the fill, whatever the sizes', () => {
    fc.assert(
      fc.property(
        area,
        carrier,
        tank,
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        fc.boolean(),
        (areaM2, carrierLPerHa, tankCapacityL, reserveShare, even) => {
          const plan = planTanks({ areaM2, carrierLPerHa, tankCapacityL, reserveShare, even });
          if ('kind' in plan) throw new Error(plan.sentence);
          const sumL = plan.loads.reduce((sum, load) => sum + load.volumeL, 0);
          expect(sumL / (plan.totalMixL + plan.reserveL)).toBeCloseTo(1, 9);
          expect(plan.loads.reduce((sum, load) => sum + load.areaM2, 0) / areaM2).toBeCloseTo(1, 9);
          expect(Math.max(...plan.loads.map((load) => load.volumeL))).toBeLessThanOrEqual(tankCapacityL * (1 + 1e-8));
          expect(plan.fullLoads + (plan.lastPartial === null ? 0 : 1)).toBe(
            even && plan.fullLoads === 0 ? 0 : plan.loads.length,
          );
        },
      ),
      { seed: 21 },
    );
  });
  // prettier-ignore
  test.each([
    ['areaM2', { areaM2: 0 }, 'Area: expected more than 0 m², got 0.'],
    ['areaM2', { areaM2: Number.NaN }, 'Area: expected more than 0 m², got NaN.'],
    ['carrierLPerHa', { carrierLPerHa: -5 }, 'Carrier volume: expected more than 0 L/ha, got -5.'],
    ['tankCapacityL', { tankCapacityL: 0 }, 'Tank: expected a capacity above 0 L, got 0.'],
    ['headroomShare', { headroomShare: 0.9 }, 'Headroom: expected 0 to 50 % of the tank, got 90 %.'],
    ['reserveShare', { reserveShare: -0.1 }, 'Reserve: expected 0 to 50 % of the mix, got -10 %.'],
    ['tankCapacityL', { tankCapacityL: 1e-6 }, 'Tank: expected one that needs at most 10,000 fillings for this area, got 20000000.'],
  ])('refuses at %s', (field, change, sentence) => {
    expect(planTanks({ areaM2: 400, carrierLPerHa: 500, tankCapacityL: 15, ...change })).toEqual({ kind: 'refused', field, sentence });
  });
  test('water is what the liquids leave, and none left is refused', () => {
    expect(waterForLoad({ volumeL: 15, areaM2: 1 }, [0.5, 0.25])).toBe(14.25);
    expect(waterForLoad({ volumeL: 1, areaM2: 1 }, [1.5])).toMatchObject({ kind: 'refused', field: 'carrierLPerHa' });
  });
});

describe('amounts', () => {
  test('are additive over plots: two plots take what their sum takes', () => {
    fc.assert(
      fc.property(area, area, fc.double({ min: 0, max: 500, noNaN: true }), (a, b, massKgPerHa) => {
        const dose = { massKgPerHa, volumeLPerHa: null };
        const apart = (amountForArea(dose, a).massKg ?? 0) + (amountForArea(dose, b).massKg ?? 0);
        expect(Math.abs(apart - (amountForArea(dose, a + b).massKg ?? 0))).toBeLessThanOrEqual(1e-12 * (apart + 1));
      }),
      { seed: 22 },
    );
  });
  test('nutrients poured over all tanks equal nutrients on the ground (mass balance)', () => {
    fc.assert(
      fc.property(
        area,
        carrier,
        tank,
        fc.array(
          fc.tuple(
            fc.constantFrom(...GENERIC_MATERIALS.map((one) => one.id)),
            fc.double({ min: 0.01, max: 20, noNaN: true }),
          ),
          { minLength: 1, maxLength: 5 },
        ),
        fc.boolean(),
        (areaM2, carrierLPerHa, tankCapacityL, picks, even) => {
          const items = picks.map(([id, kgPerHa]) => item(id, kgPerHa));
          const sheet = mixSheet(items, { areaM2, carrierLPerHa, tankCapacityL, even }, 'mortvedt-2001');
          if (sheet.kind === 'refused') return;
          const poured = sumNutrients(
            sheet.recipes.flatMap((recipe) =>
              items.map((one, place) => nutrientsIn(one.analysis, recipe.amounts[place]!.massKg!)),
            ),
          );
          for (const element of ELEMENTS) {
            const onGround = (sheet.nutrientsKgPerHa[element] * areaM2) / 10_000;
            expect(Math.abs(poured[element] - onGround)).toBeLessThanOrEqual(1e-9 * (onGround + 1e-6));
          }
          for (const [place, total] of sheet.totals.entries()) {
            expect(total.massKg!).toBeCloseTo(
              sheet.recipes.reduce((sum, recipe) => sum + recipe.amounts[place]!.massKg!, 0),
              9,
            );
          }
        },
      ),
      { seed: 23, numRuns: 80 },
    );
  });
  test('a nutrient fixed and read back is the same', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 100, noNaN: true }),
        fc.constantFrom('N' as const, 'S' as const),
        (kgPerHa, basis) => {
          const dose = doseForNutrient(SULFATE, basis, kgPerHa);
          if ('kind' in dose) throw new Error(dose.sentence);
          expect(nutrientsIn(SULFATE.analysis, dose.massKgPerHa ?? Number.NaN)[basis] / kgPerHa).toBeCloseTo(1, 12);
        },
      ),
      { seed: 24 },
    );
  });
});

describe('rates that cannot be', () => {
  const dry = { name: 'salt', form: 'dry' as const, densityKgPerL: null };
  const wet = { name: 'syrup', form: 'liquid' as const, densityKgPerL: null };
  test('a negative one', () => {
    expect(doseFromRate(dry, { value: -1, unit: 'oz/1000ft2' }, 400)).toEqual({
      kind: 'refused',
      field: 'rate',
      sentence: 'Rate of salt: expected 0 or more, got -1.',
    });
    expect(doseFromRate(dry, { value: Number.NaN, unit: 'oz/1000ft2' }, 400)).toMatchObject({ field: 'rate' });
  });
  test('a weight of a liquid without a density, and a spoon of a powder without one', () => {
    expect(doseFromRate(wet, { value: 1, unit: 'lb/acre' }, 400)).toMatchObject({
      kind: 'refused',
      field: 'densityKgPerL',
    });
    expect(doseFromRate(dry, { value: 1, unit: 'us-tbsp/us-gal' }, 400)).toMatchObject({
      kind: 'refused',
      field: 'densityKgPerL',
    });
  });
  test('a unit from elsewhere', () => {
    expect(doseFromRate(dry, { value: 1, unit: 'bags/lawn' as never }, 400)).toMatchObject({
      kind: 'refused',
      field: 'rate',
    });
  });
  test('a volume of a liquid without a density has no weight, rather than a guessed one', () => {
    expect(doseFromRate(wet, { value: 10, unit: 'L/ha' }, 400)).toEqual({ volumeLPerHa: 10, massKgPerHa: null });
  });
  test('a tank rate follows the carrier volume', () => {
    expect(doseFromRate(dry, { value: 2, unit: 'g/L' }, 500)).toEqual({ massKgPerHa: 1, volumeLPerHa: null });
    expect(doseFromRate({ ...wet, densityKgPerL: 1.2 }, { value: 2, unit: 'mL/L' }, 500)).toEqual({
      massKgPerHa: 1.2,
      volumeLPerHa: 1,
    });
  });
  test('a nutrient the product does not hold', () => {
    expect(doseForNutrient(SULFATE, 'Fe', 1)).toMatchObject({ kind: 'refused', field: 'nutrient' });
  });
  test('no area and no carrier', () => {
    expect(() => amountForArea({ massKgPerHa: 1, volumeLPerHa: null }, 0)).toThrow(
      'area: expected a number above 0 m2, got 0',
    );
    expect(() => doseFromRate(dry, { value: 1, unit: 'kg/ha' }, 0)).toThrow(RangeError);
  });
});

describe('guaranteed analysis', () => {
  test('takes the printed total, else the sum of the forms', () => {
    expect(nutrientsIn({ totalNPercent: 21, ammoniacalNPercent: 21 }, 1).N).toBe(0.21);
    expect(nutrientsIn({ ammoniacalNPercent: 5, ureaNPercent: 10, slowlyAvailableNPercent: 3 }, 1).N).toBeCloseTo(
      0.18,
      12,
    );
  });
  test('refuses forms above the total, more than the whole, and what is no percentage', () => {
    expect(analysisFault({ totalNPercent: 10, ammoniacalNPercent: 6, ureaNPercent: 6 })).toMatchObject({
      field: 'totalNPercent',
    });
    expect(analysisFault({ totalNPercent: 60, p2o5Percent: 60 })).toMatchObject({ kind: 'refused' });
    expect(analysisFault({ fePercent: -1 })).toEqual({
      kind: 'refused',
      field: 'fePercent',
      sentence: 'fePercent: expected 0 to 100 percent, got -1.',
    });
    expect(analysisFault({ totalNPercent: 5, slowlyAvailableNPercent: 6 })).toMatchObject({
      field: 'slowlyAvailableNPercent',
    });
    expect(() => nutrientsIn({ fePercent: Number.NaN }, 1)).toThrow(RangeError);
  });
  test('a slow-release footnote over the other lines is not counted twice', () => {
    expect(analysisFault({ totalNPercent: 28, ureaNPercent: 28, slowlyAvailableNPercent: 7 })).toBe(null);
  });
});

describe('generic materials', () => {
  test('are made of substances whose chemistry is known, or say that they are not', () => {
    for (const { composition } of GENERIC_MATERIALS) {
      for (const part of composition ?? []) expect(isSubstance(part.substance)).toBe(true);
      expect(compositionFault(composition ?? [])).toBe(null);
    }
  });
  test('labels agree with the formula to 1 % of the product for N, P, K, S, Fe, Mg, Mn and Ca', () => {
    for (const material of GENERIC_MATERIALS) {
      if (material.composition === null) continue;
      const held: Record<string, number> = { N: 0, P: 0, K: 0, S: 0, Fe: 0, Mg: 0, Mn: 0, Ca: 0 };
      for (const { substance, massShare } of material.composition) {
        const made = known(substance);
        const mol = massShare / made.molarMassGPerMol;
        const systems: Record<string, number> = made.systems;
        const ions: Record<string, number> = made.ions;
        held['N']! +=
          mol * 14.007 * ((systems['ammonia'] ?? 0) + (ions['nitrate'] ?? 0) + (substance === 'urea' ? 2 : 0));
        held['P']! += mol * 30.974 * (systems['phosphate'] ?? 0);
        held['S']! += mol * 32.06 * (systems['sulfate'] ?? 0);
        held['Fe']! += mol * 55.845 * ((systems['iron(II)'] ?? 0) + (systems['iron(III) EDTA'] ?? 0));
        held['K']! += mol * 39.098 * (ions['potassium'] ?? 0);
        held['Mg']! += mol * 24.305 * (ions['magnesium'] ?? 0);
        held['Mn']! += mol * 54.938 * (ions['manganese'] ?? 0);
        held['Ca']! += mol * 40.078 * (ions['calcium'] ?? 0);
      }
      const label: Record<string, number> = nutrientsIn(material.analysis, 1);
      for (const [element, share] of Object.entries(held)) expect(Math.abs(share - label[element]!)).toBeLessThan(0.01);
    }
  });
  test('have ids of their own and a source each', () => {
    expect(new Set(GENERIC_MATERIALS.map((one) => one.id)).size).toBe(GENERIC_MATERIALS.length);
    expect(GENERIC_MATERIALS.filter((one) => one.source === '')).toEqual([]);
  });
});

describe('strength', () => {
  test('20 kg/ha in 400 L/ha is 50 g/L, 50,000 ppm, 5 % w/v', () => {
    expect(strength(20, 400)).toEqual({ gPerL: 50, ppm: 50_000, percentWeightByVolume: 5 });
    expect(percentByVolume(1, 400)).toBe(0.25);
  });
  test('the salt load names its edition and what it leaves out', () => {
    const items = [SULFATE, item('iron-edta', 5), item('humic-extract', 3)].map((one) =>
      Object.assign({}, one, { countsAsSalt: true }),
    );
    const load = saltLoad(items, 400, 'rader-1943');
    expect(load.leftOut).toEqual(['sodium ferric EDTA', 'Humic extract, potassium humate 12 %']);
    expect(load.sodiumNitrateGPerL).toBeCloseTo(50 * 0.99 * 0.69, 9);
    expect(load.edition).toBe('rader-1943');
  });
});

describe('calibration', () => {
  test('the pace for a carrier volume gives that volume', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        fc.double({ min: 0.2, max: 3, noNaN: true }),
        fc.double({ min: 0.2, max: 3, noNaN: true }),
        (flow, speed, width) => {
          const made = carrierFromFlow(flow, speed, width);
          expect(speedForCarrier(made, flow, width) / speed).toBeCloseTo(1, 10);
          // The catch test over the ground walked in a minute says the same.
          expect(carrierFromArea(flow, speed * 60 * width) / made).toBeCloseTo(1, 10);
        },
      ),
      { seed: 25 },
    );
  });
  test('a nozzle more than 10 % off its fellows is worn', () => {
    expect(catchSpread([1, 1, 1, 1.3]).worn).toBe(true);
    expect(catchSpread([1, 1.02, 0.99]).worn).toBe(false);
    expect(() => catchSpread([])).toThrow('catches: expected at least 1 value, got 0');
  });
  test('refuses no width and standing still', () => {
    expect(() => carrierFromFlow(1, 0, 1)).toThrow('speed: expected a number above 0 m/s, got 0');
    expect(() => carrierFromFlow(1, 1, 0)).toThrow(RangeError);
  });
});

describe('passes', () => {
  test('10 m of width with a 1 m swath are 10 passes, 1 m apart; 20 m each at 1 m/s with nine turns of 4 s take 236 s', () => {
    expect(passesOver({ lengthM: 20, widthM: 10 }, 1, 1)).toMatchObject({
      count: 10,
      spacingM: 1,
      distanceM: 200,
      seconds: 236,
    });
  });
  test('a strip as wide as the swath is one pass', () => {
    expect(passesOver({ lengthM: 20, widthM: 1.2 }, 1.2, 1)).toMatchObject({ count: 1, seconds: 20, surplusShare: 0 });
  });
  test('cover the width with at least the overlap asked for', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 50, noNaN: true }),
        fc.double({ min: 0.3, max: 3, noNaN: true }),
        fc.double({ min: 0, max: 0.8, noNaN: true }),
        (widthM, swathM, overlap) => {
          const passes = passesOver({ lengthM: 10, widthM }, swathM, 1, overlap);
          expect(passes.surplusShare).toBeGreaterThanOrEqual(-1e-9);
          expect(passes.count === 1 || passes.spacingM <= swathM * (1 - overlap) * (1 + 1e-8)).toBe(true);
        },
      ),
      { seed: 26 },
    );
  });
});

describe('cost', () => {
  test('follows the pack, across weight and volume only with a density', () => {
    expect(costOf({ massKg: 2, volumeL: null }, { price: 30, massKg: 20 }, null)).toBe(3);
    expect(costOf({ massKg: null, volumeL: 2 }, { price: 30, massKg: 20 }, 1.5)).toBe(4.5);
    expect(costOf({ massKg: 3, volumeL: null }, { price: 10, volumeL: 1 }, 1.5)).toBe(20);
    expect(costOf({ massKg: 3, volumeL: null }, { price: 10, volumeL: 1 }, null)).toMatchObject({
      kind: 'refused',
      field: 'densityKgPerL',
    });
  });
});

describe('mixing order', () => {
  test('is water, acid, salts, iron, liquids, surfactant, whatever the order given', () => {
    const products = [
      { name: 'wetter', kind: 'surfactant' as const },
      { name: 'iron', kind: 'iron salt' as const },
      { name: 'citric', kind: 'acid' as const },
      { name: 'AS', kind: 'soluble salt' as const },
      { name: 'urea', kind: 'soluble salt' as const },
    ];
    const steps = mixingOrder(products);
    expect(steps.map((step) => step.products)).toEqual([[], ['citric'], ['AS', 'urea'], ['iron'], ['wetter'], []]);
    expect(steps.every((step) => step.reason.length > 20)).toBe(true);
  });
});

describe('season ledger', () => {
  const day = 86_400_000;
  const entries = [
    {
      id: 'b',
      startMs: 20 * day,
      plotIds: ['A', 'B'],
      nutrientsKgPerHa: nutrientsIn({ totalNPercent: 21 }, 10),
      complete: true,
    },
    {
      id: 'a',
      startMs: 10 * day,
      plotIds: ['A'],
      nutrientsKgPerHa: nutrientsIn({ fePercent: 20 }, 5),
      complete: false,
    },
    {
      id: 'old',
      startMs: -1,
      plotIds: ['A'],
      nutrientsKgPerHa: nutrientsIn({ totalNPercent: 46 }, 100),
      complete: true,
    },
  ];
  test('sums per plot in order of time, within the season only, and says when it is a lower bound', () => {
    const [a, b, c] = seasonLedger(['A', 'B', 'C'], entries, 0, 100 * day);
    expect(a!.lines.map((line) => line.id)).toEqual(['a', 'b']);
    expect(a!.totalKgPerHa).toMatchObject({ N: 2.1, Fe: 1 });
    expect([a!.complete, b!.complete]).toEqual([false, true]);
    expect(c!.lines).toEqual([]);
  });
});
