import { describe, expect, test } from 'vitest';
import { parseForm } from '@/lib/forms/fields';
import { MeasurementForm, SiteRatingForm } from '@/lib/forms/on-site-form';
import { canonicalMeasurement, columnKey, columnsOf } from '@/lib/trial/measurement';
import { reportTrial } from '@/lib/work/trials/report-trial';
import { doubtsOnSite, measureOnSite, rateOnSite } from '@/lib/work/trials/on-site';
import { analyseRecord } from '@/lib/work/trials/trial-analysis';
import { trialCsv } from '@/lib/work/trials/trial-csv';
import { readTrial } from '@/lib/work/trials/trial-record';
import { plainLawn, useFreshDiary } from '../support/diary';
import { entryOf, laidOut, plainProduct } from '../support/trial';

useFreshDiary();

async function ironTrial(): Promise<string> {
  const iron = await plainProduct({ name: 'Iron salt', fePercent: 20, role: 'iron' });
  const items = [{ productId: iron.id, rate: { value: 60, unit: 'g/100m2' as const } }];
  const treatments = [
    { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
    { name: 'Iron', isCheck: false, onSubplots: false, items },
  ];
  return (await laidOut(await plainLawn({ timeZone: 'UTC' }), entryOf({ treatments }))).id;
}

const form = (entries: Record<string, string>) => {
  const data = new FormData();
  for (const [name, value] of Object.entries(entries)) data.set(name, value);
  return data;
};

describe('the doors', () => {
  test('an ounce of clippings is 28.349523125 g (NIST Handbook 44, appendix C); a meter’s reading stays as read', () => {
    expect(canonicalMeasurement({ kind: 'clippings', value: 1, unit: 'oz' })).toBeCloseTo(28.349523125, 9);
    expect(canonicalMeasurement({ kind: 'clippings', value: 250, unit: 'g' })).toBeCloseTo(250, 9);
    expect(canonicalMeasurement({ kind: 'meter', value: 0.71, unit: '' })).toBe(0.71);
    expect(() => canonicalMeasurement({ kind: 'clippings', value: 1, unit: 'fl oz' })).toThrow(
      "unit of clippings: expected g or oz, got 'fl oz'",
    );
  });
  // prettier-ignore
  test.each([
    [{ kind: 'count', name: 'Weeds', at: '2026-05-01T10:00', 'rows.0.plotId': 'abcdefgh1', 'rows.0.value': '2.5' }, /Count: expected .*whole.*got .*2\.5/],
    [{ kind: 'count', name: 'Weeds', at: '2026-05-01T10:00', 'rows.0.plotId': 'abcdefgh1', 'rows.0.value': '-1' }, /Count: expected/],
    [{ kind: 'clippings', name: 'Clippings', unit: 'fl oz', at: '2026-05-01T10:00', 'rows.0.plotId': 'abcdefgh1', 'rows.0.value': '4' }, /Unit: expected one of g, oz, got/],
    [{ kind: 'meter', name: 'Meter', at: '2026-05-01T10:00', 'rows.0.plotId': 'abcdefgh1', 'rows.0.value': '' }, /Values: expected at least one, got none/],
    [{ kind: 'smell', name: 'x', at: '2026-05-01T10:00' }, /What: expected one of clippings, meter, count/],
  ])('%o is refused in a sentence', (entries, sentence) => {
    const parsed = parseForm(MeasurementForm, form(entries));
    expect(parsed.ok ? 'taken' : Object.values(parsed.errors).join(' ')).toMatch(sentence);
  });
  test('a rating is a whole number from 1 to 9', () => {
    const with_ = (score: string) =>
      parseForm(
        SiteRatingForm,
        form({ rater: 'Ilse', at: '2026-05-01T10:00', 'rows.0.plotId': 'abcdefgh1', 'rows.0.value': score }),
      );
    expect(with_('9').ok).toBe(true);
    for (const score of ['0', '10', '6.5', 'x']) expect(with_(score).ok).toBe(false);
  });
  test('columns are told apart by kind and name, in whatever letters', () => {
    const columns = columnsOf(
      [
        { kind: 'count', name: 'Weeds', enteredUnit: '' },
        { kind: 'count', name: 'weeds', enteredUnit: '' },
        { kind: 'meter', name: 'Weeds', enteredUnit: '%' },
      ],
      'metric',
    );
    expect(columns.map(columnKey)).toEqual(['count:weeds', 'meter:weeds']);
  });
});

describe('on the lawn', () => {
  test('what is weighed becomes a column of the trial: analysed by day, in the CSV in grams, and nothing of another trial’s strips', async () => {
    const trialId = await ironTrial();
    const before = (await readTrial(trialId))!;
    const now = new Date(`${before.firstSprayOn}T12:00:00Z`);
    const at = `${before.firstSprayOn}T08:00`;
    const rows = before.trial.plots.map((plot, i) => ({ plotId: plot.plotId, value: 1 + i }));
    const late = new Date(now.getTime() + 30 * 86_400_000);
    expect(
      await measureOnSite(trialId, { kind: 'clippings', name: 'Clippings', unit: 'oz', by: '', at, rows }, late),
    ).toMatchObject({ ok: true });
    expect(
      await measureOnSite(
        trialId,
        { kind: 'clippings', name: 'Clippings', unit: 'oz', by: '', at, rows: [{ plotId: 'abcdefgh1', value: 1 }] },
        late,
      ),
    ).toMatchObject({ ok: false });
    expect(
      await measureOnSite(
        trialId,
        { kind: 'count', name: 'Weeds', unit: '', by: '', at: '2099-01-01T08:00', rows },
        late,
      ),
    ).toMatchObject({ ok: false, field: 'at' });
    const record = (await readTrial(trialId))!;
    expect(record.measurements).toHaveLength(rows.length);
    const metric: typeof record = { ...record, lawn: { ...record.lawn, unitSystem: 'metric' } };
    const { values } = analyseRecord(metric, {
      measure: 'measured',
      column: 'clippings:clippings',
      comparison: 'tukey',
      marked: 'left-out',
    });
    expect(values).toHaveLength(rows.length);
    expect(values.map(({ value }) => value! / 28.349523125).toSorted((a, b) => a - b)[0]).toBeCloseTo(1, 9);
    expect(values.every(({ day }) => day === 0)).toBe(true);
    const american = analyseRecord(record, {
      measure: 'measured',
      column: 'clippings:clippings',
      comparison: 'tukey',
      marked: 'left-out',
    });
    expect(american.values.map(({ value }) => value!).toSorted((x, y) => x - y)[0]).toBeCloseTo(1, 9);
    const report = await reportTrial(record);
    expect(report.measured.map(({ column, findings }) => [column.name, column.unit, findings.values.length])).toEqual([
      ['Clippings', 'oz', rows.length],
    ]);
    expect(trialCsv(record)).toMatch(/,Clippings,28\.349523125\d*,,,g,/);
  });

  test('ratings without a photo count on the day they were given', async () => {
    const trialId = await ironTrial();
    const { trial, firstSprayOn } = (await readTrial(trialId))!;
    const at = `${firstSprayOn}T18:00`;
    const kept = await rateOnSite(
      trialId,
      { rater: 'Ilse', at, blind: true, rows: trial.plots.map((plot) => ({ plotId: plot.plotId, value: 7 })) },
      new Date('2099-01-01T00:00:00Z'),
    );
    expect(kept).toMatchObject({ ok: true });
    const record = (await readTrial(trialId))!;
    expect(record.ratings.map(({ on, photoId, blind, score }) => ({ on, photoId, blind, score }))).toEqual(
      trial.plots.map(() => ({ on: firstSprayOn, photoId: null, blind: true, score: 7 })),
    );
  });

  test('strips without a rating, and strips rated before that day, are asked about first', async () => {
    const trialId = await ironTrial();
    const record = (await readTrial(trialId))!;
    const strips = record.trial.plots.map((plot) => ({ plotId: plot.plotId, value: 7 }));
    const entry = { rater: 'Ilse', at: `${record.firstSprayOn}T18:00`, blind: true, rows: strips.slice(1) };
    expect(doubtsOnSite(record, { ...entry, rows: strips })).toEqual([]);
    expect(doubtsOnSite(record, entry)).toEqual([
      `1 of ${strips.length} strips without a rating: keep only the ${strips.length - 1} given?`,
    ]);
    await rateOnSite(trialId, entry, new Date('2099-01-01T00:00:00Z'));
    const again = { ...entry, rater: 'ilse', rows: strips.slice(0, 2) };
    expect(doubtsOnSite((await readTrial(trialId))!, again)).toEqual([
      `${strips.length - 2} of ${strips.length} strips without a rating: keep only the 2 given?`,
      'ilse has rated 1 strip on that day before: keep both, so that their mean counts?',
    ]);
  });
});
