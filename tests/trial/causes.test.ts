import { describe, expect, it } from 'vitest';
import { dryingWhatIfSentence, findCauses, type CauseFinding, type CauseId, type MarkRecord } from '@/lib/trial/causes';

const calm: MarkRecord = {
  kind: 'other', daysAfterSpray: 1, seenBeforeSpray: false, alsoOnCheck: false, ironKgPerHa: 1.1, labelMaxIronKgPerHa: 4.9, daysSinceLastIron: 21, labelMinIntervalDays: 14,
  nitrogenKgPerHa: 5, solutionPercentWV: 1, carrierLPerHa: 900, labelMinCarrierLPerHa: 400, dryingMinutes: 75, airTempC: 17, maxTempNext24hC: 20, windMPerS: 1.5,
  surfactant: false, ammoniumSalt: false, sunLeftHours: 0.5, ironWithPhosphate: false, tankPh: 5.5, overlapShare: 0, rainWithin4hMm: 0,
};
const unknown: MarkRecord = {
  kind: 'burn', daysAfterSpray: 2, seenBeforeSpray: null, alsoOnCheck: null, ironKgPerHa: null, labelMaxIronKgPerHa: null, daysSinceLastIron: null, labelMinIntervalDays: null,
  nitrogenKgPerHa: null, solutionPercentWV: null, carrierLPerHa: null, labelMinCarrierLPerHa: null, dryingMinutes: null, airTempC: null, maxTempNext24hC: null, windMPerS: null,
  surfactant: null, ammoniumSalt: null, sunLeftHours: null, ironWithPhosphate: null, tankPh: null, overlapShare: null, rainWithin4hMm: null,
};
function find(record: MarkRecord): Record<CauseId, CauseFinding> {
  const report = findCauses(record);
  if (report.kind !== 'findings') throw new Error('expected findings');
  return Object.fromEntries(report.findings.map((one) => [one.cause, one])) as Record<CauseId, CauseFinding>;
}

describe('cause finder', () => {
  it('calls no cause likely when every number is mild', () => {
    expect(Object.values(find(calm)).filter((one) => one.strength === 'likely')).toEqual([]);
  });
  it('calls too much iron likely for a dark mark above the label, with the numbers', () => {
    const got = find({ ...calm, kind: 'blackening', ironKgPerHa: 9.8 })['too-much-iron'];
    expect(got.strength).toBe('likely');
    expect(got.evidenceFor[0]).toMatchObject({ text: "9.8 kg Fe/ha is 2 times the label's most, 4.9", source: 'the product label' });
    expect(got.whatIf[0]!.change).toEqual({ ironFactor: 0.5 });
  });
  it('calls iron too soon likely inside the label interval, unlikely after it', () => {
    expect(find({ ...calm, kind: 'blackening', daysSinceLastIron: 4 })['iron-too-soon'].strength).toBe('likely');
    expect(find({ ...calm, kind: 'blackening' })['iron-too-soon'].strength).toBe('unlikely');
  });
  it('calls fast drying likely for a haze after nine minutes in the sun', () => {
    const got = find({ ...calm, kind: 'silver', dryingMinutes: 9, sunLeftHours: 4, windMPerS: 4 })['dried-too-fast'];
    expect(got.strength).toBe('likely');
    expect(got.whatIf.map((one) => one.id)).toEqual(['twice-the-carrier', 'later-in-the-evening']);
  });
  it('calls surfactant with ammonium salt likely only when both were there', () => {
    expect(find({ ...calm, kind: 'burn', surfactant: true, ammoniumSalt: true, solutionPercentWV: 6 })['surfactant-with-ammonium'].strength).toBe('likely');
    expect(find({ ...calm, kind: 'burn', surfactant: true, ammoniumSalt: false })['surfactant-with-ammonium'].strength).toBe('unlikely');
  });
  it('turns from the spray when the mark was there before it', () => {
    const report = findCauses({ ...calm, kind: 'burn', seenBeforeSpray: true, solutionPercentWV: 6, carrierLPerHa: 200 });
    expect(report.kind === 'findings' && report.findings[0]).toMatchObject({ cause: 'not-the-spray', strength: 'likely' });
    expect(report.kind === 'findings' && report.findings.filter((one) => one.strength === 'likely')).toHaveLength(1);
  });
  it('says too late when a photo more than ten days after the spray shows the plot without it, and still answers for one on the tenth', () => {
    expect(findCauses({ ...calm, daysAfterSpray: 12, clearUntilDays: 10.5 }).kind).toBe('too-late');
    expect(findCauses({ ...calm, daysAfterSpray: 12, clearUntilDays: 10 }).kind).toBe('findings');
  });
  it('first seen is not arisen: fourteen days after, with no photo between, it is weighed, and the gap is said', () => {
    const report = findCauses({ ...calm, daysAfterSpray: 14, clearUntilDays: null });
    expect(report.kind).toBe('findings');
    expect(report.sentences.join(' ')).toContain('some time between the spray and day 14');
    const late = (clearUntilDays: number | null) => {
      const of = findCauses({ ...calm, kind: 'burn', daysAfterSpray: 14, clearUntilDays });
      return of.kind === 'findings' && of.findings.find((one) => one.cause === 'not-the-spray')?.evidenceFor.some((one) => one.text.includes('late for a burn'));
    };
    expect([late(null), late(3), late(8)]).toEqual([false, false, true]);
  });
  it('days before the spray are no days after it', () => {
    expect(() => findCauses({ ...calm, daysAfterSpray: 3, clearUntilDays: 5 })).toThrow('clearUntilDays: expected 0 to 3 days, got 5');
    expect(() => findCauses({ ...calm, daysAfterSpray: -1 })).toThrow('daysAfterSpray: expected 0 or more days, got -1');
  });
  it('finds nothing likely in an empty record, and names what is unknown', () => {
    const got = find(unknown);
    expect(Object.values(got).every((one) => one.strength !== 'likely')).toBe(true);
    expect(got['dried-too-fast'].unknown).toEqual(['drying time', 'sun left']);
  });
  it.each([
    ['ironKgPerHa', [1, 3, 6, 12, 20], 'too-much-iron', 'blackening'],
    ['solutionPercentWV', [0.5, 3, 8], 'strong-solution', 'burn'],
    ['maxTempNext24hC', [18, 28, 34], 'heat', 'burn'],
  ] as const)('more %s never weakens its cause', (field, values, cause, kind) => {
    const rank = { unlikely: 0, possible: 1, likely: 2 };
    const ranks = values.map((value) => rank[find({ ...calm, kind, [field]: value })[cause].strength]);
    expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
    expect(ranks.at(-1)).toBeGreaterThan(ranks[0]!);
  });
  it('gives a source or says there is none, and never claims to know', () => {
    for (const kind of ['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const) {
      for (const one of Object.values(find({ ...calm, kind, ironKgPerHa: 20, dryingMinutes: 5, surfactant: true, ammoniumSalt: true }))) {
        for (const evidence of [...one.evidenceFor, ...one.evidenceAgainst]) expect(evidence.source.length).toBeGreaterThan(3);
        expect(one.sentence).toMatch(/: (likely|possible|unlikely)/);
        expect(one.sentence).not.toMatch(/the cause is|caused by/i);
      }
    }
  });
  it('words a what-if', () => {
    expect(dryingWhatIfSentence('Twice the carrier', '19:40', 21.2, 9.4)).toBe('Twice the carrier at 19:40 would have dried in 21 min instead of 9 (an estimate).');
  });
});
