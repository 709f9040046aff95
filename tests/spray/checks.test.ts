import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Application } from '@/lib/spray/application';
import { burnChecks } from '@/lib/spray/burn-checks';
import { CAUTIONS } from '@/lib/spray/cautions';
import { type Check, type CheckCode, gravestFirst, needingReason } from '@/lib/spray/check';
import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import { labelChecks, type LabelLimits } from '@/lib/spray/limits';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixtureChecks } from '@/lib/spray/mixture-checks';
import { saltLoad } from '@/lib/spray/solution';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

function item(id: string, massKgPerHa: number): MixItem {
  const material = GENERIC_MATERIALS.find((one) => one.id === id);
  if (material === undefined) throw new Error(id);
  return {
    ...material,
    dose: { massKgPerHa, volumeLPerHa: material.densityKgPerL === null ? null : massKgPerHa / material.densityKgPerL },
  };
}

function spray(id: string, startDay: number, kgPerHa: number, more: Partial<Application> = {}): Application {
  return {
    id,
    productId: 'p',
    productName: 'Iron',
    startMs: startDay * DAY,
    endMs: startDay * DAY + HOUR,
    plotIds: ['A'],
    dose: { massKgPerHa: kgPerHa, volumeLPerHa: null },
    roles: ['iron'],
    minIntervalDays: null,
    ...more,
  };
}

const NO_LIMITS: LabelLimits = { maxPerApplication: null, minIntervalDays: null, seasonCap: null };
const limits = (more: Partial<LabelLimits>): LabelLimits => ({ ...NO_LIMITS, ...more });
const kg = (massKgPerHa: number) => ({ massKgPerHa, volumeLPerHa: null });
const only = (checks: readonly Check[], code: CheckCode) => checks.filter((check) => check.code === code);

describe('label rate', () => {
  const label = limits({ maxPerApplication: kg(10) });
  test('at the limit is clear, beyond it is over the label', () => {
    expect(labelChecks(spray('now', 0, 10), label, [])).toMatchObject([
      { code: 'label-rate', level: 'clear', value: 10, limit: 10 },
    ]);
    expect(labelChecks(spray('now', 0, 10.1), label, [])).toMatchObject([{ level: 'over-label', unit: 'kg/ha' }]);
  });
  test('adds up sprays that overlap in time on the same plot, and only there', () => {
    const early = spray('early', 0, 6, { startMs: -HOUR / 2, endMs: HOUR / 2 });
    expect(labelChecks(spray('now', 0, 6), label, [early])).toMatchObject([{ level: 'over-label', value: 12 }]);
    expect(labelChecks(spray('now', 0, 6), label, [{ ...early, plotIds: ['B'] }])).toMatchObject([
      { level: 'clear', value: 6 },
    ]);
    expect(labelChecks(spray('now', 0, 6), label, [{ ...early, productId: 'q' }])).toMatchObject([
      { level: 'clear', value: 6 },
    ]);
  });
  test('gives each plot its own answer', () => {
    const checks = labelChecks(spray('now', 0, 6, { plotIds: ['A', 'B'] }), label, [spray('early', 0.1, 6)]);
    expect(checks.map((check) => [check.subject, check.level])).toEqual([
      ['A', 'over-label'],
      ['B', 'clear'],
    ]);
  });
  test('on another basis without a density is a caution, not a pass', () => {
    expect(
      labelChecks(spray('now', 0, 6), limits({ maxPerApplication: { massKgPerHa: null, volumeLPerHa: 9 } }), []),
    ).toMatchObject([{ level: 'caution', value: null, fix: 'Give the density of the product.' }]);
  });
});

describe('label interval', () => {
  const label = limits({ minIntervalDays: 14 });
  test('looks back and ahead to the nearest spray of the product', () => {
    expect(labelChecks(spray('now', 20, 1), label, [spray('a', 10, 1), spray('b', 2, 1)])).toMatchObject([
      { level: 'over-label', unit: 'days' },
    ]);
    expect(labelChecks(spray('now', 20, 1), label, [spray('later', 25, 1)])[0]!.sentence).toContain('before the next');
    expect(labelChecks(spray('now', 20, 1), label, [spray('a', 2, 1)])).toMatchObject([{ level: 'clear' }]);
    expect(labelChecks(spray('now', 20, 1), label, [])).toMatchObject([{ level: 'clear', value: null }]);
  });
  test('counts from the end of one to the start of the next', () => {
    const [check] = labelChecks(spray('now', 14, 1), label, [spray('a', 0, 1)]);
    expect(check!.value).toBeCloseTo(14 - 1 / 24, 9);
    expect(check!.level).toBe('over-label');
  });
  test('passes over the plan itself when it is already in the diary', () => {
    expect(labelChecks(spray('now', 20, 1), label, [spray('now', 19, 1)])).toMatchObject([
      { level: 'clear', value: null },
    ]);
  });
});

describe('season cap', () => {
  test('sums the season with the plan', () => {
    const label = limits({
      seasonCap: { window: { kind: 'between', fromMs: 0, toMs: 365 * DAY }, most: kg(10), mostApplications: 3 },
    });
    const past = [spray('a', 10, 4), spray('b', 40, 4), spray('before', -5, 50)];
    const over = labelChecks(spray('now', 80, 3), label, past);
    expect(only(over, 'label-season-amount')).toMatchObject([{ level: 'over-label', value: 11, limit: 10 }]);
    expect(only(over, 'label-season-applications')).toMatchObject([{ level: 'clear', value: 3 }]);
    expect(
      only(labelChecks(spray('now', 80, 1), label, [...past, spray('c', 60, 1)]), 'label-season-applications'),
    ).toMatchObject([{ level: 'over-label', value: 4 }]);
  });
  test('a rolling window counts later sprays too: any 30 days that hold the plan', () => {
    const label = limits({
      seasonCap: { window: { kind: 'rolling', days: 30 }, most: kg(10), mostApplications: null },
    });
    expect(labelChecks(spray('now', 100, 4), label, [spray('before', 80, 4), spray('after', 120, 4)])).toMatchObject([
      { level: 'clear', value: 8 },
    ]);
    expect(labelChecks(spray('now', 100, 4), label, [spray('before', 90, 4), spray('after', 110, 4)])).toMatchObject([
      { level: 'over-label', value: 12 },
    ]);
  });
  test('two passes of one evening are one application', () => {
    const label = limits({ seasonCap: { window: { kind: 'rolling', days: 365 }, most: null, mostApplications: 2 } });
    expect(labelChecks(spray('now', 50, 1), label, [spray('a', 10, 1), spray('again', 10.1, 1)])).toMatchObject([
      { level: 'clear', value: 2 },
    ]);
  });
  test('the order in which the diary lists its sprays changes nothing', () => {
    const label = limits({
      maxPerApplication: kg(5),
      minIntervalDays: 10,
      seasonCap: { window: { kind: 'rolling', days: 60 }, most: kg(12), mostApplications: 3 },
    });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 0, max: 200 }), fc.double({ min: 0.1, max: 6, noNaN: true })), {
          maxLength: 8,
        }),
        (list) => {
          const others = list.map(([at, rate], place) => spray(`s${place}`, at, rate));
          const forward = labelChecks(spray('now', 100, 2), label, others);
          const backward = labelChecks(spray('now', 100, 2), label, [...others].reverse());
          expect(backward.map((check) => [check.code, check.level])).toEqual(
            forward.map((check) => [check.code, check.level]),
          );
        },
      ),
      { seed: 31 },
    );
  });
});

describe('same role', () => {
  test('another iron product within the longer of the two intervals is a caution', () => {
    const other = spray('a', 10, 1, { productId: 'q', productName: 'Chelate', minIntervalDays: 21 });
    expect(
      labelChecks(spray('now', 20, 1), limits({ minIntervalDays: 7 }), [other]).find(
        (check) => check.code === 'role-interval',
      ),
    ).toMatchObject({ level: 'caution', limit: 21 });
    expect(only(labelChecks(spray('now', 40, 1), limits({ minIntervalDays: 7 }), [other]), 'role-interval')).toEqual(
      [],
    );
  });
  test('a surfactant may come each time', () => {
    const other = spray('a', 10, 1, { productId: 'q', roles: ['surfactant'], minIntervalDays: 21 });
    expect(labelChecks(spray('now', 20, 1, { roles: ['surfactant'] }), NO_LIMITS, [other])).toEqual([]);
  });
  test('a spray that ends before it starts is refused', () => {
    expect(() => labelChecks(spray('now', 1, 1, { endMs: 0 }), NO_LIMITS, [])).toThrow('duration of spray now');
  });
});

function burn(items: MixItem[], carrierLPerHa: number, airTempC: number | null = 20) {
  return burnChecks(items, {
    carrierLPerHa,
    airTempC,
    salt: saltLoad(
      items.map((one) => ({ ...one, countsAsSalt: one.mixingKind !== 'surfactant' })),
      carrierLPerHa,
      'mortvedt-2001',
    ),
  });
}

const ironCheck = (kgFe: number) =>
  only(burn([item('ferrous-sulfate-heptahydrate', kgFe / 0.2)], 900), 'iron-rate')[0]!;
const nitrogenLevel = (poundsN: number) =>
  only(burn([item('urea', (poundsN * 48.824276) / 0.46)], 900), 'foliar-nitrogen-rate')[0]!.level;
const saltCheck = (carrierLPerHa: number) =>
  only(burn([item('ammonium-sulfate', 24)], carrierLPerHa), 'salt-strength')[0]!;

describe('burn', () => {
  test('iron: 2.2 kg/ha is clear, 4 a note, 6 a caution, 20 the dieback figure (Yust 1984; Nebraska 2018; extension copy)', () => {
    expect([2.2, 4, 6, 20].map((rate) => ironCheck(rate).level)).toEqual(['clear', 'note', 'caution', 'caution']);
    expect(ironCheck(20).limit).toBeCloseTo(16.8, 1);
    expect(ironCheck(4).value).toBeCloseTo(4, 9);
  });
  test('nitrogen: 0.2 lb/1000 ft2 clear, 0.5 a note, 1 lb the rate that burned (Agnew & Moore 1989)', () => {
    expect([0.2, 0.5, 1.001].map(nitrogenLevel)).toEqual(['clear', 'note', 'caution']);
  });
  test('salt: the same rate in twice the carrier is half as strong', () => {
    expect(saltCheck(400).level).toBe('caution');
    expect(saltCheck(800).value! * 2).toBeCloseTo(saltCheck(400).value!, 9);
    expect(saltCheck(800).level).toBe('note');
  });
  test('surfactant with an ammonium salt warns; with urea or nitrate it does not', () => {
    expect(
      only(burn([item('ammonium-sulfate', 20), item('non-ionic-surfactant', 1)], 800), 'surfactant-with-ammonium'),
    ).toMatchObject([{ level: 'caution' }]);
    expect(only(burn([item('urea', 20), item('non-ionic-surfactant', 1)], 800), 'surfactant-with-ammonium')).toEqual(
      [],
    );
    expect(
      only(burn([item('ammonium-sulfate', 0), item('non-ionic-surfactant', 1)], 800), 'surfactant-with-ammonium'),
    ).toEqual([]);
  });
  test('heat by the grass: 31 °C is a caution on cool-season grass and clear on warm-season grass', () => {
    const salt = saltLoad([], 800, 'mortvedt-2001');
    const level = (heat?: { warmC: number; hotC: number }) =>
      only(burnChecks([], { carrierLPerHa: 800, airTempC: 31, salt, heat }), 'heat')[0]!.level;
    expect([level(), level({ warmC: 35, hotC: 37.8 })]).toEqual(['caution', 'clear']);
  });
  test('heat above 80 F, and carrier below 1 gal/1000 ft2', () => {
    expect(only(burn([], 800, 28), 'heat')[0]!.level).toBe('caution');
    expect(only(burn([], 800, 26), 'heat')[0]!.level).toBe('clear');
    expect(only(burn([], 800, null), 'heat')).toEqual([]);
    expect([300, 600, 900].map((rate) => only(burn([], rate), 'carrier-volume')[0]!.level)).toEqual([
      'caution',
      'note',
      'clear',
    ]);
  });
});

const mixture = (items: MixItem[], tankPH: number | null = 5.5, hardnessMgPerLCaCO3: number | null = 0) =>
  mixtureChecks(items, { carrierLPerHa: 800, tankPH, hardnessMgPerLCaCO3 });

const ironAtPH = (pH: number | null) =>
  only(mixture([item('ferrous-sulfate-heptahydrate', 10)], pH), 'iron-in-high-ph')[0]!.level;

describe('what must not meet', () => {
  const bleach: MixItem = {
    ...item('urea', 1),
    name: 'bleach',
    analysis: {},
    composition: [{ substance: 'sodium hypochlorite', massShare: 0.06 }],
    mixingKind: 'liquid fertiliser',
  };
  test('chlorine bleach with an acid, or with ammonium: never', () => {
    expect(only(mixture([bleach, item('citric-anhydrous', 1)]), 'acid-with-chlorine')).toMatchObject([
      { level: 'never' },
    ]);
    expect(only(mixture([bleach, item('aqua-ammonia', 1)]), 'oxidiser-with-ammonium')).toMatchObject([
      { level: 'never' },
    ]);
    expect(mixture([bleach])).toEqual([]);
  });
  test('iron salt with phosphate is a caution with the amount that can fall out; a chelate is a note', () => {
    const [salt] = only(mixture([item('ferrous-sulfate-heptahydrate', 10), item('mkp', 10)]), 'iron-with-phosphate');
    expect(salt!.level).toBe('caution');
    // 2 kg Fe/ha in 800 L/ha is 2.5 g/L = 44.8 mmol/L, less than the phosphate: 10 kg × 51.5 % × 0.43643 = 2.248 kg P =
    // 90.7 mmol/L.
    expect(salt!.value).toBeCloseTo(44.77, 2);
    expect(only(mixture([item('iron-edta', 10), item('mkp', 10)]), 'iron-with-phosphate')).toMatchObject([
      { level: 'note' },
    ]);
  });
  test('calcium with sulfate and phosphate, from a product or from hard water', () => {
    expect(
      only(mixture([item('calcium-nitrate', 10), item('ammonium-sulfate', 20)]), 'calcium-with-sulfate'),
    ).toMatchObject([{ level: 'caution' }]);
    expect(only(mixture([item('ammonium-sulfate', 20)], 7.5, 300), 'calcium-with-sulfate')[0]!.value).toBeGreaterThan(
      14.5,
    );
    expect(only(mixture([item('mkp', 10)], 7.5, 200), 'calcium-with-phosphate')).toMatchObject([{ level: 'caution' }]);
    expect(only(mixture([item('mkp', 10)], 5, 200), 'calcium-with-phosphate')).toMatchObject([{ level: 'clear' }]);
    expect(only(mixture([item('mkp', 10)], 7.5, 0), 'calcium-with-phosphate')).toEqual([]);
  });
  test('iron in alkaline water, and a pH that nobody knows', () => {
    expect([ironAtPH(7.5), ironAtPH(5), ironAtPH(null)]).toEqual(['caution', 'clear', 'note']);
  });
  test('humic extract in acid', () => {
    expect(only(mixture([item('humic-extract', 5), item('citric-anhydrous', 1)], null), 'humic-in-acid')).toMatchObject(
      [{ level: 'caution' }],
    );
    expect(only(mixture([item('humic-extract', 5)], 7), 'humic-in-acid')).toEqual([]);
  });
  test('iron stains and phosphorus rules are said whenever they apply', () => {
    const codes = mixture([item('ferrous-sulfate-heptahydrate', 1), item('mkp', 1)]).map((check) => check.code);
    expect(codes).toEqual(expect.arrayContaining(['hard-surfaces', 'phosphorus-rules']));
  });
});

describe('all checks', () => {
  const every = [
    ...burn(
      [item('ferrous-sulfate-heptahydrate', 50), item('ammonium-sulfate', 200), item('non-ionic-surfactant', 1)],
      200,
      35,
    ),
    ...mixture(
      [item('ferrous-sulfate-heptahydrate', 10), item('mkp', 10), item('calcium-nitrate', 5), item('humic-extract', 3)],
      3,
    ),
    ...labelChecks(spray('now', 0, 6), limits({ maxPerApplication: kg(1) }), []),
  ];
  test('carry a source, a sentence, and a fix unless clear', () => {
    for (const check of every) {
      expect(check.source).not.toBe('');
      expect(check.sentence).toMatch(/\.$/);
      expect(check.fix === '').toBe(check.level === 'clear');
      expect(check.sentence).not.toMatch(/NaN|Infinity|undefined/);
    }
  });
  test('are listed gravest first, and label breaches ask for a reason', () => {
    expect(gravestFirst(every)[0]!.level).toBe('over-label');
    expect(needingReason(every)).toHaveLength(1);
  });
  test('the standing cautions say what they must', () => {
    for (const word of [
      'label',
      'eye protection',
      'Acid into water',
      'bleach',
      'concrete',
      'pets',
      'phosphorus',
      'extension',
    ])
      expect(CAUTIONS.join(' ')).toContain(word);
  });
});
