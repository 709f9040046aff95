import { describe, expect, test } from 'vitest';
import { allAsRead } from '@/lib/units/quantity';
import { CAUSE_IDS, type CauseFinding, type CauseId, type CauseReport, type MarkRecord } from '@/lib/explain/causes';
import { dryingWhatIfSentence, findCauses as weigh } from '@/lib/explain/weigh-causes';
import { grassSeason } from '@/lib/spray/grass-season';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';
import { FIRST_HALF, HAZE_AFTER_IRON, SECOND_HALF, type WorkedCase } from './worked-causes';

/** The planner's own minutes: one yardstick. */
/** As a metric reader reads it. */
const findCauses = (record: MarkRecord): CauseReport => allAsRead(weigh(record, DEFAULT_LIMITS), 'metric');

/** Nothing about the lawn that speaks for anything, most of it looked at. */
// prettier-ignore
const lawn = {
  grassSeason: 'cool', hardnessMgPerLCaCO3: null, gypsumMmolPerL: null, photoHoursAfterSunrise: 6, leafWetAtPhoto: false, nightMinTempC: 10, mowingsKnown: 0, mownDaysBefore: null, mownSinceSpray: null,
  sharpenedDaysBefore: null, cutLowerShare: null, wheelsDaysBefore: null, trafficKnown: false, wateringKnown: false, etSinceWaterMm: null, wetHoursPerDay: null, diseaseSeenDaysBefore: null,
  insectsSeenDaysBefore: null, droughtSeenDaysBefore: null, sightingsKnown: false, weedControlDaysBefore: null, productsKnown: false, dustDaysBefore: null, rainSinceSprayMm: null,
} as const;
const nothingOfTheLawn = {
  ...lawn,
  grassSeason: null,
  photoHoursAfterSunrise: null,
  leafWetAtPhoto: null,
  nightMinTempC: null,
} as const;
const calm: MarkRecord = {
  ...lawn,
  kind: 'other',
  daysAfterSpray: 1,
  seenBeforeSpray: false,
  alsoOnCheck: false,
  ironKgPerHa: 1.1,
  labelMaxIronKgPerHa: 4.9,
  daysSinceLastIron: 21,
  labelMinIntervalDays: 14,
  nitrogenKgPerHa: 5,
  solutionPercentWV: 1,
  carrierLPerHa: 900,
  labelMinCarrierLPerHa: 400,
  dryingMinutes: 75,
  airTempC: 17,
  maxTempNext24hC: 20,
  windMPerS: 1.5,
  surfactant: false,
  ammoniumSalt: false,
  sunLeftHours: 0.5,
  ironWithPhosphate: false,
  tankPh: 5.5,
  overlapShare: 0,
  waterWithin4hMm: 0,
};
const unknown: MarkRecord = {
  ...nothingOfTheLawn,
  kind: 'burn',
  daysAfterSpray: 2,
  seenBeforeSpray: null,
  alsoOnCheck: null,
  ironKgPerHa: null,
  labelMaxIronKgPerHa: null,
  daysSinceLastIron: null,
  labelMinIntervalDays: null,
  nitrogenKgPerHa: null,
  solutionPercentWV: null,
  carrierLPerHa: null,
  labelMinCarrierLPerHa: null,
  dryingMinutes: null,
  airTempC: null,
  maxTempNext24hC: null,
  windMPerS: null,
  surfactant: null,
  ammoniumSalt: null,
  sunLeftHours: null,
  ironWithPhosphate: null,
  tankPh: null,
  overlapShare: null,
  waterWithin4hMm: null,
};
function find(record: MarkRecord): Record<CauseId, CauseFinding> {
  const report = findCauses(record);
  if (report.kind !== 'findings') throw new Error('expected findings');
  return Object.fromEntries(report.findings.map((one) => [one.cause, one])) as Record<CauseId, CauseFinding>;
}

describe('cause finder', () => {
  test('calls no cause likely when every number is mild', () => {
    expect(Object.values(find(calm)).filter((one) => one.strength === 'likely')).toEqual([]);
  });
  test('calls too much iron likely for a dark mark above the label, with the numbers', () => {
    const got = find({ ...calm, kind: 'blackening', ironKgPerHa: 9.8 })['too-much-iron'];
    expect(got.strength).toBe('likely');
    expect(got.evidenceFor[0]).toMatchObject({
      text: "9.8 kg/ha of Fe is 2 times the label's most, 4.9 kg/ha",
      source: 'the product label',
    });
    expect(got.whatIf[0]!.change).toEqual({ ironFactor: 0.5 });
  });
  test('iron above the label’s most is not said to be at it', () => {
    const texts = (ironKgPerHa: number) =>
      find({ ...calm, kind: 'silver', ironKgPerHa, labelMaxIronKgPerHa: 5 })['iron-on-leaf'].evidenceFor.map(
        ({ text }) => text,
      );
    expect(texts(5)).toContain("the iron was at the label's most, 5 kg/ha of Fe");
    expect(texts(10)).toContain("the iron was above the label's most, 5 kg/ha of Fe");
  });
  test('calls iron too soon likely inside the label interval, unlikely after it', () => {
    expect(find({ ...calm, kind: 'blackening', daysSinceLastIron: 4 })['iron-too-soon'].strength).toBe('likely');
    expect(find({ ...calm, kind: 'blackening' })['iron-too-soon'].strength).toBe('unlikely');
  });
  test('calls fast drying likely for a haze after nine minutes in the sun', () => {
    const got = find({ ...calm, kind: 'silver', dryingMinutes: 9, sunLeftHours: 4, windMPerS: 4 })['dried-too-fast'];
    expect(got.strength).toBe('likely');
    expect(got.whatIf.map((one) => one.id)).toEqual(['twice-the-carrier', 'later-in-the-evening']);
  });
  test('calls surfactant with ammonium salt likely only when both were there', () => {
    expect(
      find({ ...calm, kind: 'burn', surfactant: true, ammoniumSalt: true, solutionPercentWV: 6 })[
        'surfactant-with-ammonium'
      ].strength,
    ).toBe('likely');
    expect(
      find({ ...calm, kind: 'burn', surfactant: true, ammoniumSalt: false })['surfactant-with-ammonium'].strength,
    ).toBe('unlikely');
  });
  test('turns from the spray when the mark was there before it', () => {
    const report = findCauses({
      ...calm,
      kind: 'burn',
      seenBeforeSpray: true,
      solutionPercentWV: 6,
      carrierLPerHa: 200,
    });
    expect(report.kind === 'findings' && report.findings[0]).toMatchObject({
      cause: 'not-the-spray',
      strength: 'likely',
    });
    expect(report.kind === 'findings' && report.findings.filter((one) => one.strength === 'likely')).toHaveLength(1);
  });
  test('says too late when a photo more than ten days after the spray shows the plot without it, and still answers for one on the tenth', () => {
    expect(findCauses({ ...calm, daysAfterSpray: 12, clearUntilDays: 10.5 }).kind).toBe('too-late');
    expect(findCauses({ ...calm, daysAfterSpray: 12, clearUntilDays: 10 }).kind).toBe('findings');
  });
  test('first seen is not arisen: fourteen days after, with no photo between, it is weighed, and the gap is said', () => {
    const report = findCauses({ ...calm, daysAfterSpray: 14, clearUntilDays: null });
    expect(report.kind).toBe('findings');
    expect(report.sentences.join(' ')).toContain('some time between the spray and day 14');
    const late = (clearUntilDays: number | null) => {
      const of = findCauses({ ...calm, kind: 'burn', daysAfterSpray: 14, clearUntilDays });
      return (
        of.kind === 'findings' &&
        of.findings
          .find((one) => one.cause === 'not-the-spray')
          ?.evidenceFor.some((one) => one.text.includes('late for a burn'))
      );
    };
    expect([late(null), late(3), late(8)]).toEqual([false, false, true]);
  });
  test('days before the spray are no days after it', () => {
    expect(() => findCauses({ ...calm, daysAfterSpray: 3, clearUntilDays: 5 })).toThrow(
      'clearUntilDays: expected 0 to 3 days, got 5',
    );
    expect(() => findCauses({ ...calm, daysAfterSpray: -1 })).toThrow(
      'daysAfterSpray: expected 0 or more days, got -1',
    );
  });
  test('finds nothing likely in an empty record, and names what is unknown', () => {
    const got = find(unknown);
    expect(Object.values(got).every((one) => one.strength !== 'likely')).toBe(true);
    expect(got['dried-too-fast'].unknown).toContain('drying time');
  });
  test.each([
    ['ironKgPerHa', [1, 3, 6, 12, 20], 'too-much-iron', 'blackening'],
    ['solutionPercentWV', [0.5, 3, 8], 'strong-solution', 'burn'],
    ['maxTempNext24hC', [18, 28, 34], 'heat', 'burn'],
  ] as const)('more %s never weakens its cause', (field, values, cause, kind) => {
    const rank = { 'not weighed': 0, unlikely: 0, possible: 1, likely: 2 };
    const ranks = values.map((value) => rank[find({ ...calm, kind, [field]: value })[cause].strength]);
    expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
    expect(ranks.at(-1)).toBeGreaterThan(ranks[0]!);
  });
  test('gives a source or says there is none, and never claims to know', () => {
    for (const kind of ['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const) {
      for (const one of Object.values(
        find({ ...calm, kind, ironKgPerHa: 20, dryingMinutes: 5, surfactant: true, ammoniumSalt: true }),
      )) {
        for (const evidence of [...one.evidenceFor, ...one.evidenceAgainst])
          expect(evidence.source.length).toBeGreaterThan(3);
        expect(one.sentence).toMatch(/: (likely|possible|unlikely|not weighed)/);
        expect(one.sentence).not.toMatch(/the cause is|caused by/i);
      }
    }
  });
  test('words a what-if', () => {
    expect(dryingWhatIfSentence('Twice the carrier', '19:40', 21.2, 9.4)).toBe(
      'Twice the carrier at 19:40 would have dried in 21 min instead of 9 (an estimate).',
    );
  });
});

function findingsOf(record: MarkRecord): readonly CauseFinding[] {
  const report = findCauses(record);
  return report.kind === 'findings' ? report.findings : [];
}

describe('worked cases', () => {
  const cases = [...FIRST_HALF, ...SECOND_HALF];
  test('are thirty or more, half of them older than the weights', () => {
    expect(cases.length).toBeGreaterThanOrEqual(30);
    expect(FIRST_HALF.length).toBeGreaterThanOrEqual(15);
    for (const one of cases) expect(one.source.length + one.reason.length).toBeGreaterThan(10);
  });
  test.each(cases.map((one): [string, WorkedCase] => [one.name, one]))('%s', (_, one) => {
    const findings = findingsOf({ ...calm, ...one.record });
    const leading = findings.slice(0, one.order.length).map(({ cause }) => cause);
    const strength = one.order.length === 0 ? one.strength : findings[0]?.strength;
    const calledLikely = findings
      .filter((f) => f.strength === 'likely' && one.notLikely?.includes(f.cause))
      .map((f) => f.cause);
    expect({ leading, strength, calledLikely }).toEqual({
      leading: one.order,
      strength: one.strength,
      calledLikely: [],
    });
  });
  test('silver after iron names iron in the mix, the quick drying and the short interval, and what to do otherwise with numbers', () => {
    const [first] = findingsOf({ ...calm, ...HAZE_AFTER_IRON });
    const texts = first?.evidenceFor.map((one) => one.text).join('; ');
    expect(first).toMatchObject({ cause: 'iron-on-leaf', strength: 'likely' });
    expect(texts).toMatch(
      /iron was in the mix, 2\.4 kg\/ha of Fe.*dry after about 25 min.*7 days after the last iron, where 14 are asked/,
    );
    expect(first?.whatIf.map((one) => `${one.id}: ${one.text}`)).toEqual(
      expect.arrayContaining([
        'twice-the-carrier: The same in twice the carrier, 9 L/100 m²',
        'later-in-the-evening: The same 1 h later, half an hour before sunset',
        'half-the-iron: Half the iron: 1.2 kg/ha of Fe instead of 2.4 kg/ha',
      ]),
    );
    expect(first?.look).toContain('finger');
  });
});

describe('the sentence on top', () => {
  const lead = (record: Partial<MarkRecord>): string =>
    findCauses({ ...calm, kind: 'silver', ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 90, ...record })
      .sentences[0] ?? '';
  test('names what the lawn suffers without adding that it is something other than the spray', () => {
    const dew = lead({ alsoOnCheck: true, photoHoursAfterSunrise: 1, leafWetAtPhoto: true });
    expect(dew).toBe('Most likely from the record: dew, guttation or frost in the photo.');
  });
  test('two explanations of which one would do are told apart from two that work together', () => {
    const both = lead({ ...HAZE_AFTER_IRON, alsoOnCheck: null, photoHoursAfterSunrise: 1, leafWetAtPhoto: true });
    expect(both).toBe(
      'Most likely from the record: iron left on the leaf; it could also be dew, guttation or frost in the photo.',
    );
    expect(lead({ ...HAZE_AFTER_IRON, kind: 'blackening' })).toMatch(
      /iron left on the leaf; iron too soon after the last, heat may have worked with it\.$/,
    );
  });
  test('what was mown in the morning was not mown a day before', () => {
    const found = findingsOf({ ...calm, kind: 'silver', mowingsKnown: 5, mownDaysBefore: 0.3 });
    const texts = found.find(({ cause }) => cause === 'mower')?.evidenceFor.map(({ text }) => text);
    expect(texts?.[0]).toMatch(/^mown less than a day before the photo/);
  });
  test('a watering that nobody measured is told without millimetres', () => {
    const [first] = find({ ...calm, ...HAZE_AFTER_IRON, waterWithin4hMm: 5, waterWithin4hGuessed: true })[
      'iron-on-leaf'
    ].evidenceAgainst;
    expect(first?.text).toBe('a watering that nobody measured within 4 h rinsed the leaf');
  });
  test('a blade sharpened half a year and nine mowings ago is told as a dull one', () => {
    const mower = find({ ...calm, kind: 'silver', mowingsKnown: 9, mownDaysBefore: 1, sharpenedDaysBefore: 180 }).mower;
    expect(mower.evidenceFor.map(({ text }) => text)).toContain('the blade was last sharpened 180 days before');
  });
});

describe('what a trial of a cause showed', () => {
  const shown = (factor: string, causes: readonly CauseId[]) => ({
    trialId: 't',
    trialName: 'Test',
    factor,
    causes,
    verdict: 'for' as const,
    shown: true,
    text: 'tried',
    limits: 'one small trial',
  });
  test('makes no cause likely that the tank had nothing for', () => {
    const carrier = shown('carrier volume', ['iron-on-leaf', 'strong-solution', 'dried-too-fast']);
    const got = find({ ...calm, kind: 'silver', ironKgPerHa: 0, tested: [carrier] });
    expect([got['iron-on-leaf'].strength, got['dried-too-fast'].strength]).toEqual(['unlikely', 'likely']);
    const salts = shown('fertiliser salt', ['strong-solution', 'surfactant-with-ammonium']);
    const burn = find({ ...calm, kind: 'burn', surfactant: false, ammoniumSalt: true, tested: [salts] });
    expect([burn['surfactant-with-ammonium'].strength, burn['strong-solution'].strength]).toEqual([
      'unlikely',
      'likely',
    ]);
  });
});

describe('what the diary has no record of', () => {
  test('is said not to be weighed, last, with what to look for', () => {
    const findings = findingsOf({ ...unknown, kind: 'silver' });
    const silent = findings.filter((one) => one.strength === 'not weighed').map((one) => one.cause);
    expect(silent.sort()).toEqual([
      'dew-or-frost',
      'drought',
      'dust',
      'hard-water-film',
      'herbicide-bleaching',
      'leaf-disease',
      'mites',
      'mower',
    ]);
    expect(findings.slice(-silent.length).every((one) => one.strength === 'not weighed')).toBe(true);
    for (const one of findings) expect(one.look.length).toBeGreaterThan(20);
  });
  test('is weighed once it is recorded', () => {
    for (const [cause, record] of [
      ['mower', { mowingsKnown: 4, mownDaysBefore: 6 }],
      ['mites', { sightingsKnown: true }],
      ['herbicide-bleaching', { productsKnown: true }],
      ['drought', { etSinceWaterMm: 3 }],
      ['hard-water-film', { hardnessMgPerLCaCO3: 100 }],
      ['dust', { trafficKnown: true }],
      ['leaf-disease', { sightingsKnown: true, wetHoursPerDay: 3 }],
    ] as const)
      expect(find({ ...calm, kind: 'silver', ...record })[cause].strength).toBe('unlikely');
  });
});

describe('grass', () => {
  test.each([
    ['Kentucky bluegrass', 'cool'],
    ['Tall fescue', 'cool'],
    ['Perennial ryegrass', 'cool'],
    ['Creeping bentgrass', 'cool'],
    ['Bermudagrass', 'warm'],
    ['Zoysiagrass', 'warm'],
    ['St. Augustinegrass', 'warm'],
    ['Mixed', null],
    ['', null],
    ['Bermuda overseeded with rye', null],
  ] as const)('%s is %s-season', (name, season) => expect(grassSeason(name)).toBe(season));
  test('every cause of the list is weighed for some kind of mark', () => {
    const all = new Set(
      (['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const).flatMap((kind) =>
        findingsOf({ ...calm, kind }).map((one) => one.cause),
      ),
    );
    expect([...all].sort()).toEqual([...CAUSE_IDS].sort());
  });
});
