import { describe, expect, test } from 'vitest';
import { walkOver } from '@/lib/plan/walk';
import { burnChecks } from '@/lib/spray/burn-checks';
import { dissolvedShare } from '@/lib/spray/dissolved';
import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixtureChecks } from '@/lib/spray/mixture-checks';
import { saltLoad } from '@/lib/spray/solution';

function item(id: string, massKgPerHa: number, more: Partial<MixItem> = {}): MixItem {
  const material = GENERIC_MATERIALS.find((one) => one.id === id);
  if (material === undefined) throw new Error(id);
  return { ...material, dose: { massKgPerHa, volumeLPerHa: null }, ...more };
}
const unknownLiquid = (analysis: MixItem['analysis'], more: Partial<MixItem> = {}): MixItem =>
  item('urea', 40, {
    name: 'Liquid',
    form: 'liquid',
    composition: null,
    analysis,
    mixingKind: 'liquid fertiliser',
    ...more,
  });

describe('dissolved material', () => {
  // The pure salts' own grades (formula weights, IUPAC): what they hold must come back to the salt.
  // prettier-ignore
  test.each([
    ['ammonium sulfate 21.2-0-0-24.26S', { ammoniacalNPercent: 21.2, sPercent: 24.26 }, 1],
    ['urea 46.65-0-0', { ureaNPercent: 46.65 }, 1],
    ['potassium nitrate 13.85-0-46.58', { nitrateNPercent: 13.85, k2oPercent: 46.58 }, 1],
    ['monoammonium phosphate 12.18-61.7-0', { ammoniacalNPercent: 12.18, p2o5Percent: 61.7 }, 1],
    ['potassium sulfate 0-0-54.05', { k2oPercent: 54.05, sPercent: 18.4 }, 1],
    ['ferrous sulfate, water-free', { fePercent: 36.76, sPercent: 21.11 }, 1],
    ['urea-ammonium nitrate solution 32-0-0: 44.3 % ammonium nitrate and 35.4 % urea (Tisdale & Nelson, from memory)', { ammoniacalNPercent: 7.75, nitrateNPercent: 7.75, ureaNPercent: 16.5 }, 0.797],
  ] as const)('%s', (_, analysis, share) => {
    expect(dissolvedShare(unknownLiquid(analysis))?.share).toBeCloseTo(share, 2);
  });
  test('an 8-2-4 liquid of 0.24 dissolved counts a quarter of its weight, not all of it, in the plan and in the burn check', () => {
    const liquid = unknownLiquid({ ureaNPercent: 8, p2o5Percent: 2, k2oPercent: 4 });
    const share = dissolvedShare(liquid)?.share ?? 0;
    expect(share).toBeGreaterThan(0.2);
    expect(share).toBeLessThan(0.3);
    const salt = saltLoad([{ ...liquid, countsAsSalt: true }], 400, 'mortvedt-2001');
    expect(salt.saltGPerL).toBeCloseTo(100 * share, 9);
    expect(
      burnChecks([liquid], { carrierLPerHa: 400, airTempC: null, salt }).find((check) => check.code === 'salt-strength')
        ?.value,
    ).toBeCloseTo(100 * share, 9);
  });
  test('phosphoric acid 75 % is three quarters dissolved; a liquid that states nothing is unknown, a dry product whole', () => {
    expect(dissolvedShare(item('phosphoric-75', 1))).toEqual({ share: 0.75, from: 'composition' });
    expect(dissolvedShare(unknownLiquid({}))).toBeNull();
    expect(dissolvedShare(item('urea', 1, { composition: null }))).toEqual({ share: 1, from: 'whole' });
  });
});

describe('whole passes', () => {
  const sprayer = { swathM: 1, walkingMPerS: 1, carrierLPerHa: 400 };
  test('three passes of 1 m over 2.5 m spray a fifth more than was mixed: said, and walked a fifth faster', () => {
    const walk = walkOver([{ name: 'A', areaM2: 25, lengthM: 10, widthM: 2.5 }], sprayer, 400);
    expect(walk?.plots[0]).toMatchObject({ passes: 3, distanceM: 30 });
    expect(walk?.surplusShare).toBeCloseTo(0.2, 12);
    expect(walk?.singleSwathMPerS).toBe(1);
    expect(walk?.speedMPerS).toBeCloseTo(1.2, 12);
    // L put down at that pace: 30 m of 1 m swath at 400 L/ha, over 1.2, is the 1 L that 25 m² at 400 L/ha take.
    expect((30 * 1 * 400) / 10_000 / ((walk?.speedMPerS ?? 0) / (walk?.singleSwathMPerS ?? 1))).toBeCloseTo(1, 12);
    expect(walk?.seconds).toBeCloseTo(30 / 1.2 + 2 * 4, 9);
  });
  test('a width of whole swaths has no surplus', () => {
    expect(walkOver([{ name: 'A', areaM2: 30, lengthM: 10, widthM: 3 }], sprayer, 400)).toMatchObject({
      surplusShare: 0,
      speedMPerS: 1,
    });
  });
});

describe('what must not meet, by name', () => {
  const named = (name: string): MixItem => unknownLiquid({}, { name });
  const codes = (items: MixItem[]): string[] =>
    mixtureChecks(items, { carrierLPerHa: 800, tankPH: 5, hardnessMgPerLCaCO3: 0 })
      .filter((check) => check.level === 'never')
      .map((check) => check.code);
  test.each([
    'Household bleach',
    'Chlorine 12 %',
    'Sodium hypochlorite',
    'Pool shock',
    'Chlorinating liquid',
    'Pool chlorinator',
    'Sodium dichloroisocyanurate',
  ])('%s of unknown composition is bleach', (name) => {
    expect(codes([named(name), item('citric-anhydrous', 1)])).toEqual(['acid-with-chlorine']);
    expect(codes([named(name), item('ammonium-sulfate', 1)])).toEqual(['oxidiser-with-ammonium']);
  });
  test('an acid is known by its name as well, and humic acid is none', () => {
    expect(codes([named('Household bleach'), named('White vinegar')])).toEqual(['acid-with-chlorine']);
    expect(codes([named('Household bleach'), named('Muriatic acid')])).toEqual(['acid-with-chlorine']);
    expect(codes([named('Household bleach'), named('Humic acid')])).toEqual([]);
  });
  test('nitrogen whose form nobody said may be urea or ammonium; nitrate is neither', () => {
    for (const oxidiser of ['Household bleach', 'Hydrogen peroxide']) {
      expect(codes([named(oxidiser), unknownLiquid({ totalNPercent: 28 })])).toEqual(['oxidiser-with-ammonium']);
      expect(codes([named(oxidiser), named('Ammonia cleaner')])).toEqual(['oxidiser-with-ammonium']);
      expect(codes([named(oxidiser), item('potassium-nitrate', 1)])).toEqual([]);
    }
  });
  test.each(['Chlorine-free cleaner', 'Dechlorinator', 'Iron chelate', 'Dichlorprop'])('%s is not', (name) => {
    expect(codes([named(name), item('citric-anhydrous', 1)])).toEqual([]);
  });
  test('peroxide with urea or ammonium is never, with iron a caution', () => {
    expect(codes([named('Hydrogen peroxide 3 %'), item('urea', 1)])).toEqual(['oxidiser-with-ammonium']);
    expect(codes([named('Hydrogen peroxide 3 %'), item('citric-anhydrous', 1)])).toEqual([]);
    const iron = mixtureChecks([named('Peroxide'), item('ferrous-sulfate-heptahydrate', 1)], {
      carrierLPerHa: 800,
      tankPH: 5,
      hardnessMgPerLCaCO3: 0,
    });
    expect(iron.find((check) => check.code === 'peroxide-with-iron')?.level).toBe('caution');
  });
});

// Argo & Fisher 2002 as tabled on a growers' training page: EDTA, DTPA and EDDHA; EDTA at the lower figure of growers'
// notes (6 to 6.5).
describe('iron chelates apart', () => {
  const at = (name: string, tankPH: number) =>
    mixtureChecks([unknownLiquid({ fePercent: 6 }, { name, mixingKind: 'chelate' })], {
      carrierLPerHa: 800,
      tankPH,
      hardnessMgPerLCaCO3: 0,
    }).find((check) => check.code === 'iron-in-high-ph');
  test.each([
    ['Iron EDTA', 6.5],
    ['Iron HEDTA 4.5 %', 7],
    ['Fe-HEEDTA', 7],
    ['Iron DTPA', 7.5],
    ['FeEDDHA 6 %', 9],
    ['Chelated iron', 6.5],
  ] as const)('%s holds to pH %d', (name, limit) => {
    expect(at(name, limit - 0.1)).toMatchObject({ level: 'clear', limit });
    expect(at(name, limit + 0.1)).toMatchObject({ level: 'caution', limit });
  });
  test('a chelate of a kind nobody named is said to be taken as EDTA', () => {
    expect(at('Chelated iron', 8)?.sentence).toContain('nobody said');
  });
});
