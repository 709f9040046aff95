import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { planSpray } from '@/lib/plan/plan-spray';
import { type PlanFacts, type SprayPlan } from '@/lib/plan/spray-plan';
import { readTypedPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { ELEMENTS } from '@/lib/spray/nutrients';
import { fromKg } from '@/lib/units/mass';
import { fromKgPerHa } from '@/lib/units/rate';
import { fromL } from '@/lib/units/volume';
import { expectClose } from '../support/close';
import { byRate, facts, material, typedPlan } from '../support/plan';

function planned(typed: TypedPlan, known: PlanFacts): SprayPlan {
  const { wish, faults } = readTypedPlan(typed);
  expect(faults).toEqual([]);
  if (wish === null) throw new Error('no wish');
  const { plan, faults: wrong } = planSpray(wish, known);
  expect(wrong).toEqual([]);
  if (plan === null) throw new Error('no plan');
  return plan;
}

function sentences(typed: TypedPlan, known: PlanFacts): Record<string, string> {
  const { wish, faults } = readTypedPlan(typed);
  const all = wish === null ? faults : planSpray(wish, known).faults;
  return Object.fromEntries(all.map((fault) => [fault.field, fault.sentence]));
}

const CITY = { waterPh: '8', waterAlkalinity: { value: '150', unit: 'mg/L CaCO3' } };
const citricForPh = {
  productId: 'citric-anhydrous',
  by: 'target-ph',
  rate: { value: '', unit: 'oz/1000ft2' },
  nutrient: { value: '', unit: 'lb/1000ft2' },
  basis: 'N',
};

describe('fixing the nutrient', () => {
  // University of Nebraska-Lincoln, backyard farmer: 1 lb N/1000 ft2 of a 28-3-6 over 6000 ft2 is 3.57 lb/1000 ft2,
  // 21.42 lb in all.
  const fertiliser = material('urea', {
    id: 'f',
    name: '28-3-6',
    analysis: { totalNPercent: 28, p2o5Percent: 3, k2oPercent: 6 },
    composition: null,
  });
  const typed = typedPlan({
    items: [
      {
        productId: 'f',
        by: 'nutrient',
        rate: { value: '', unit: 'lb/1000ft2' },
        nutrient: { value: '1', unit: 'lb/1000ft2' },
        basis: 'N',
      },
    ],
  });
  test('1 lb N/1000 ft2 of 28-3-6 on 6000 ft2 takes 3.57 lb/1000 ft2, 21.42 lb in all', () => {
    const plan = planned(typed, facts([fertiliser]));
    expectClose('lb/1000 ft2', fromKgPerHa(plan.items[0]?.dose.massKgPerHa ?? 0, 'lb/1000ft2').value, 3.57, 0.005);
    expectClose('lb', fromKg(plan.sheet.totals[0]?.massKg ?? 0, 'lb').value, 21.42, 0.015);
  });
  test('and the other way round: that rate brings 1 lb N/1000 ft2', () => {
    const plan = planned(typedPlan({ items: [byRate('f', '3.5714', 'lb/1000ft2')] }), facts([fertiliser]));
    expectClose('lb N', fromKgPerHa(plan.sheet.nutrientsKgPerHa.N, 'lb/1000ft2').value, 1, 1e-4);
  });
});

describe('tanks', () => {
  test('6000 ft2 at 1 gal/1000 ft2 from a 4 gal tank is one full tank and one of 2 gal', () => {
    const plan = planned(typedPlan({ items: [byRate('urea', '0.5', 'lb/1000ft2')] }), facts([material('urea')]));
    expect(
      plan.sheet.recipes.map((recipe) => Math.round(fromL(recipe.load.volumeL, 'us-gal').value * 1e6) / 1e6),
    ).toEqual([4, 2]);
  });
  test('nutrients on the ground equal nutrients in the tanks, whatever the tank', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 40, noNaN: true }),
        fc.double({ min: 0.05, max: 2, noNaN: true }),
        fc.constantFrom(['north'], ['south'], ['north', 'south']),
        (tankGal, rate, plotIds) => {
          const plan = planned(
            typedPlan({
              plotIds,
              tank: { value: tankGal.toFixed(3), unit: 'us-gal' },
              items: [byRate('urea', rate.toFixed(4), 'lb/1000ft2')],
            }),
            facts([material('urea')]),
          );
          const inTanks = plan.sheet.recipes.reduce((sum, recipe) => sum + (recipe.amounts[0]?.massKg ?? 0), 0) * 0.46;
          expectClose('kg N', inTanks, (plan.sheet.nutrientsKgPerHa.N * plan.areaM2) / 10_000, 1e-9 * inTanks);
        },
      ),
      { seed: 5 },
    );
  });
  test('amounts add over plots', () => {
    const of = (plotIds: string[]) =>
      planned(typedPlan({ plotIds, items: [byRate('urea', '0.5', 'lb/1000ft2')] }), facts([material('urea')])).sheet
        .totals[0]?.massKg ?? 0;
    expectClose('kg', of(['north']) + of(['south']), of(['north', 'south']), 1e-9);
  });
});

describe('acid for a target pH', () => {
  const shelf = [
    material('citric-anhydrous'),
    material('ammonium-sulfate'),
    material('ferrous-sulfate-heptahydrate'),
    material('humic-extract'),
  ];
  test('pH 8 water of alkalinity 150 to pH 6 with nothing else takes 166 mg/L of citric acid', () => {
    // Computed independently at closed system, 25 °C, Davies: 166.4 mg/L.
    const plan = planned(typedPlan({ ...CITY, targetPh: '6', items: [citricForPh] }), facts(shelf));
    expectClose('mg/L', (plan.acidItem?.gPerL ?? 0) * 1000, 166.4, 166.4 * 0.02);
  });
  test('the whole mix comes to the target when its acid is dosed for it', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 4.2, max: 6.4, noNaN: true }),
        fc.double({ min: 0.05, max: 0.6, noNaN: true }),
        fc.integer({ min: 60, max: 300 }),
        (target, rate, alkalinity) => {
          const plan = planned(
            typedPlan({
              waterPh: '8',
              waterAlkalinity: { value: String(alkalinity), unit: 'mg/L CaCO3' },
              targetPh: target.toFixed(2),
              items: [byRate('ammonium-sulfate', rate.toFixed(3), 'lb/1000ft2'), citricForPh],
            }),
            facts(shelf),
          );
          expect(plan.chemistry.tank?.kind).toBe('predicted');
          if (plan.chemistry.tank?.kind === 'predicted')
            expectClose('pH', plan.chemistry.tank.closed.pH, Number(target.toFixed(2)), 0.01);
        },
      ),
      { seed: 8, numRuns: 25 },
    );
  });
  test('a product of unknown composition leaves the pH unknown, and the dose is for the water alone', () => {
    const plan = planned(
      typedPlan({ ...CITY, targetPh: '6', items: [byRate('humic-extract', '3', 'us-fl-oz/1000ft2'), citricForPh] }),
      facts(shelf),
    );
    expect(plan.chemistry.tank).toMatchObject({ kind: 'unknown', because: ['Humic extract, potassium humate 12 %'] });
    expect(plan.acidItem).toMatchObject({ basis: 'water-alone' });
  });
  test('without a water report nothing is guessed: the fields that are missing say so', () => {
    expect(Object.keys(sentences(typedPlan({ targetPh: '6', items: [citricForPh] }), facts(shelf))).sort()).toEqual([
      'waterAlkalinity',
      'waterPh',
    ]);
    expect(
      planned(typedPlan({ items: [byRate('ammonium-sulfate', '0.2', 'lb/1000ft2')] }), facts(shelf)).chemistry,
    ).toMatchObject({ tank: null, missing: ['pH', 'alkalinity'] });
  });
});

describe('acid: which water, which tank', () => {
  const alkaline = material('potassium-bicarbonate', { name: 'Alkaline salt' });
  test('a target above the water’s pH but below the mix’s is dosed, and the mix comes to it', () => {
    const plan = planned(
      typedPlan({
        waterPh: '7',
        waterAlkalinity: { value: '60', unit: 'mg/L CaCO3' },
        targetPh: '7.4',
        items: [byRate('potassium-bicarbonate', '0.1', 'lb/1000ft2'), citricForPh],
      }),
      facts([alkaline, material('citric-anhydrous')]),
    );
    expect(plan.acidItem?.gPerL).toBeGreaterThan(0);
    expectClose(
      'pH',
      plan.chemistry.tank?.kind === 'predicted' ? plan.chemistry.tank.closed.pH : Number.NaN,
      7.4,
      0.01,
    );
  });
  test('a target above both is refused', () => {
    const got = sentences(
      typedPlan({
        waterPh: '7',
        waterAlkalinity: { value: '60', unit: 'mg/L CaCO3' },
        targetPh: '8.9',
        items: [byRate('potassium-bicarbonate', '0.1', 'lb/1000ft2'), citricForPh],
      }),
      facts([alkaline, material('citric-anhydrous')]),
    );
    expect(got.targetPh).toMatch(/^Target pH: expected at most/);
  });
  // Own script, Davies, 25 °C (as the closed cases of water-worked): 200/8.0 to 6.0 takes 1.706 mmol/L of citric acid
  // open to 420 ppm, 1.145 closed.
  test('an open tank takes more acid, as chosen: 200 mg/L at pH 8 to 6 takes 1.706 mmol/L of citric acid open and 1.145 closed', () => {
    const dose = (acidAir: string) =>
      planned(
        typedPlan({
          waterPh: '8',
          waterAlkalinity: { value: '200', unit: 'mg/L CaCO3' },
          targetPh: '6',
          acidAir,
          items: [citricForPh],
        }),
        facts([material('citric-anhydrous')]),
      ).acidItem?.gPerL ?? 0;
    expectClose('closed', (dose('closed') / 192.124) * 1000, 1.145, 0.023);
    expectClose('open', (dose('open') / 192.124) * 1000, 1.706, 0.035);
  });
  test('hardness far above alkalinity is said, and raises the ionic strength the dose is worked out at', () => {
    const of = (hardness: string) =>
      planned(
        typedPlan({
          waterPh: '8',
          waterAlkalinity: { value: '50', unit: 'mg/L CaCO3' },
          waterHardness: { value: hardness, unit: 'mg/L CaCO3' },
          targetPh: '6',
          items: [citricForPh],
        }),
        facts([material('citric-anhydrous')]),
      ).chemistry;
    expect(of('400').hardness).toContain('far above alkalinity ⟦alkalinity 50⟧');
    expect(of('90').hardness).toBeNull();
    // Calcium bicarbonate and chloride: ½(4·c_Ca + alk + c_Cl) with c_Ca = 400/100.09, the anions 400/50.04, mmol/L:
    // 11.99.
    const dose = of('400').waterDose;
    expectClose('I, mmol/L', dose?.kind === 'dose' ? dose.ionicStrengthMolPerL * 1000 : Number.NaN, 11.99, 0.01);
  });
});

describe('checks over the diary', () => {
  const iron = material('ferrous-sulfate-heptahydrate', {
    mostPerApplication: { value: 4, unit: 'oz/1000ft2' },
    minIntervalDays: 14,
    mostPerSeason: { value: 10, unit: 'oz/1000ft2' },
  });
  const OZ = 3.0515; // 1 oz/1000 ft2 in kg/ha
  const past = (id: string, daysBefore: number, ounces: number, plotIds: string[], productId = iron.id) => ({
    id,
    startMs: Date.UTC(2026, 4, 21, 1) - daysBefore * 86_400_000,
    endMs: Date.UTC(2026, 4, 21, 1) - daysBefore * 86_400_000,
    plotIds,
    planned: false,
    items: [
      {
        productId,
        productName: 'Iron',
        dose: { massKgPerHa: ounces * OZ, volumeLPerHa: null },
        roles: ['iron'] as const,
        minIntervalDays: 14,
        nutrientsKgPerHa: { N: 0, P: 0, K: 0, S: 0, Fe: ounces * OZ * 0.2, Mn: 0, Mg: 0, Zn: 0, Ca: 0 },
        complete: true,
      },
    ],
  });
  const typed = typedPlan({ plotIds: ['north', 'south'], items: [byRate(iron.id, '4', 'oz/1000ft2')] });
  const codes = (plan: SprayPlan) =>
    plan.checks.filter((check) => check.level === 'over-label').map((check) => `${check.code} ${check.subject}`);
  test('an interval too short on one plot names that plot only', () => {
    expect(codes(planned(typed, facts([iron], { history: [past('a', 10, 4, ['south'])] })))).toEqual([
      'label-interval South',
    ]);
  });
  test('the season cap counts what that plot had this calendar year, not last year’s', () => {
    expect(
      codes(
        planned(
          typed,
          facts([iron], {
            history: [past('a', 40, 4, ['north']), past('b', 20, 4, ['north']), past('c', 200, 9, ['south'])],
          }),
        ),
      ),
    ).toEqual(['label-season-amount North']);
  });
  test('a rate past the label is found in any unit, and at the label is clear', () => {
    expect(codes(planned(typed, facts([iron])))).toEqual([]);
    expect(codes(planned(typedPlan({ items: [byRate(iron.id, '0.3', 'lb/1000ft2')] }), facts([iron])))).toEqual([
      'label-rate North',
    ]);
  });
  test('another product of the same role too soon is a caution, not a label breach', () => {
    const plan = planned(typed, facts([iron], { history: [past('a', 5, 1, ['north'], 'chelate')] }));
    expect(codes(plan)).toEqual([]);
    expect(plan.checks.find((check) => check.code === 'role-interval')).toMatchObject({
      level: 'caution',
      subject: 'North',
    });
  });
  test('the season so far counts what was sprayed before the plan, and the plan comes on top', () => {
    const plan = planned(
      typed,
      facts([iron], { history: [past('a', 20, 4, ['north']), { ...past('p', -5, 4, ['north']), planned: true }] }),
    );
    const north = plan.seasons.find((plot) => plot.plotId === 'north');
    expectClose('before', north?.beforeKgPerHa.Fe, 4 * OZ * 0.2, 1e-6);
    for (const element of ELEMENTS)
      expectClose(
        element,
        north?.withPlanKgPerHa[element],
        (north?.beforeKgPerHa[element] ?? 0) + plan.sheet.nutrientsKgPerHa[element],
        1e-9,
      );
  });
  test('a limit per tank volume is held by the carrier volume', () => {
    const perTank = material('citric-anhydrous', { mostPerApplication: { value: 1, unit: 'oz/us-gal' } });
    expect(codes(planned(typedPlan({ items: [byRate(perTank.id, '1.1', 'oz/1000ft2')] }), facts([perTank])))).toEqual([
      'label-rate North',
    ]);
    expect(
      codes(
        planned(
          typedPlan({
            carrier: { value: '2', unit: 'us-gal/1000ft2' },
            items: [byRate(perTank.id, '1.1', 'oz/1000ft2')],
          }),
          facts([perTank]),
        ),
      ),
    ).toEqual([]);
  });
  test('less carrier than the label asks for is past the label; as much is clear', () => {
    const wet = material('urea', { leastCarrierLPerHa: 407.458 });
    expect(
      codes(
        planned(
          typedPlan({
            carrier: { value: '0.9', unit: 'us-gal/1000ft2' },
            items: [byRate('urea', '0.1', 'lb/1000ft2')],
          }),
          facts([wet]),
        ),
      ),
    ).toEqual(['label-carrier Urea 46-0-0']);
    expect(
      codes(
        planned(
          typedPlan({ carrier: { value: '1', unit: 'us-gal/1000ft2' }, items: [byRate('urea', '0.1', 'lb/1000ft2')] }),
          facts([wet]),
        ),
      ),
    ).toEqual([]);
  });
  test('limits nobody entered are said, never passed over', () => {
    expect(
      planned(typedPlan({ items: [byRate('urea', '0.1', 'lb/1000ft2')] }), facts([material('urea')])).checks.find(
        (check) => check.code === 'label-not-entered',
      )?.sentence,
    ).toBe(
      "Urea 46-0-0: no most per application, no shortest interval, no most per season on the shelf, so that isn't checked.",
    );
  });
});

describe('impossible input gets a sentence at its field', () => {
  const acid = material('phosphoric-75');
  // prettier-ignore
  test.each<[string, Partial<TypedPlan>, string, RegExp]>([
    ['a negative rate', { items: [byRate('urea', '-1', 'lb/1000ft2')] }, 'items.0.rate', /^Rate of product 1: expected a number above 0.*, got '-1'$/],
    ['a day the calendar hasn’t', { startedLocal: '2026-02-31T10:00', items: [byRate('urea', '1', 'lb/1000ft2')] }, 'startedLocal', /got '2026-02-31T10:00'$/],
    ['no plot', { plotIds: [], items: [byRate('urea', '1', 'lb/1000ft2')] }, 'plotIds', /expected at least one plot/],
    ['a plot of no area', { plotIds: ['nothing'], items: [byRate('urea', '1', 'lb/1000ft2')] }, 'plotIds', /^Area: expected more than 0 m², got 0/],
    ['a liquid by weight without a density', { items: [byRate('liquid', '1', 'oz/1000ft2')] }, 'items.0.rate', /^Density of Liquid: expected one/],
    ['a nutrient it does not hold', { items: [{ productId: 'urea', by: 'nutrient', rate: { value: '', unit: 'lb/1000ft2' }, nutrient: { value: '1', unit: 'lb/1000ft2' }, basis: 'Fe' }] }, 'items.0.nutrient', /^Nutrient: expected one that Urea.* holds, got Fe/],
    ['a target above the water', { ...CITY, targetPh: '8.4', items: [citricForPh] }, 'targetPh', /^Target pH: expected at most 8.*got 8.4/],
    ['an alkalinity the pH can’t have', { waterPh: '10.5', waterAlkalinity: { value: '1', unit: 'mg/L CaCO3' }, items: [byRate('urea', '1', 'lb/1000ft2')] }, 'waterAlkalinity', /^Alkalinity: expected at least/],
    ['products that overfill the tank', { carrier: { value: '1', unit: 'us-fl-oz/1000ft2' }, items: [byRate('acid', '4', 'us-fl-oz/1000ft2')] }, 'carrier', /^Carrier volume: expected more than the liquid products alone/],
    ['the same product twice', { items: [byRate('urea', '1', 'lb/1000ft2'), byRate('urea', '2', 'lb/1000ft2')] }, 'items.1.productId', /once/],
    ['a wrong row below an empty one', { items: [byRate('', '', 'lb/1000ft2'), byRate('liquid', '1', 'oz/1000ft2')] }, 'items.1.rate', /^Density/],
  ])('%s', (_, part, field, sentence) => {
    const known = facts([material('urea'), material('citric-anhydrous'), { ...acid, id: 'acid' }, { ...acid, id: 'liquid', name: 'Liquid', densityKgPerL: null, composition: null }]);
    const got = sentences(typedPlan(part), { ...known, plots: [...known.plots, { id: 'nothing', name: 'Nothing', areaM2: 0, lengthM: null, widthM: null }] });
    expect(got[field]).toMatch(sentence);
  });
});

describe('walk', () => {
  const sprayer = { id: 's', name: 'Backpack', swathM: 1, walkingMPerS: 1, carrierLPerHa: 407.4585 };
  test('30.48 by 18.288 m with a 1 m swath is 19 passes the long way', () => {
    const plan = planned(
      typedPlan({ sprayerId: 's', items: [byRate('urea', '0.5', 'lb/1000ft2')] }),
      facts([material('urea')], { sprayers: [sprayer] }),
    );
    expect(plan.walk?.plots[0]).toMatchObject({ name: 'North', passes: 19 });
    expect(plan.walk?.paceChanged).toBe(false);
  });
  test('twice the carrier volume is walked at half the pace', () => {
    const plan = planned(
      typedPlan({
        sprayerId: 's',
        carrier: { value: '2', unit: 'us-gal/1000ft2' },
        items: [byRate('urea', '0.5', 'lb/1000ft2')],
      }),
      facts([material('urea')], { sprayers: [sprayer] }),
    );
    expectClose('m/s', plan.walk?.singleSwathMPerS, 0.5, 1e-4);
    expect(plan.walk?.paceChanged).toBe(true);
  });
});
