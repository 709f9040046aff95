import { describe, expect, test } from 'vitest';
import { addRatings } from '@/lib/diary/ratings';
import { listPlots } from '@/lib/diary/plots';
import { revokeShareLink, listShareLinks } from '@/lib/diary/share-links';
import { addOmission, binTrial } from '@/lib/diary/trials';
import { diary } from '@/lib/diary/client';
import { seededRandom } from '@/lib/stats/random';
import { RatingForm } from '@/lib/forms/trial-form';
import { judgeMark } from '@/lib/work/photos/marks';
import { blindStrips, doubtsOfSitting, rateBlind, ratingDays, ratingSittings } from '@/lib/work/trials/rate-blind';
import { layOutTrial } from '@/lib/work/trials/lay-out-trial';
import { changeTrial } from '@/lib/work/trials/change-trial';
import { ratingAgreement } from '@/lib/work/trials/rating-agreement';
import { reportTrial } from '@/lib/work/trials/report-trial';
import { sharedTrialId, shareTrial } from '@/lib/work/trials/share-trial';
import { analyseRecord } from '@/lib/work/trials/trial-analysis';
import { type AnalysisChoices } from '@/lib/work/trials/trial-values';
import { trialCsv } from '@/lib/work/trials/trial-csv';
import { trialDays } from '@/lib/work/trials/trial-days';
import { readTrial, type TrialRecord } from '@/lib/work/trials/trial-record';
import { treatmentMixes } from '@/lib/work/trials/treatment-mixes';
import { plainLawn, useFreshDiary } from '../support/diary';
import { entryOf, laidOut, plainProduct, runTrial, sprayTreatment } from '../support/trial';

useFreshDiary();

const choices: AnalysisChoices = { measure: 'change-against-check', comparison: 'tukey', marked: 'left-out' };

async function ironTrial(blocks = 4, seed = 11) {
  const lawn = await plainLawn({
    timeZone: 'UTC',
    unitSystem: 'metric',
    latitudeDeg: 45.678,
    longitudeDeg: 9.876,
    place: 'Secret Street 5',
  });
  const iron = await plainProduct({ name: 'Iron salt', fePercent: 20, role: 'iron' });
  const item = (value: number) => [{ productId: iron.id, rate: { value, unit: 'g/100m2' as const } }];
  const trial = await laidOut(
    lawn,
    entryOf({
      blocks,
      seed,
      treatments: [
        { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
        { name: 'Lean', isCheck: false, onSubplots: false, items: item(30) },
        { name: 'Full', isCheck: false, onSubplots: false, items: item(110) },
      ],
    }),
  );
  return { lawn, trial, iron };
}

const recordOf = async (id: string): Promise<TrialRecord> => (await readTrial(id)) as TrialRecord;

describe('laying out', () => {
  test('the plots of a new trial lie on the lawn’s plan from its near-left stake, each treatment once in every block', async () => {
    const { lawn, trial } = await ironTrial();
    const plots = await listPlots(lawn.id);
    expect(plots).toHaveLength(12);
    expect(plots.filter((plot) => plot.isCheck)).toHaveLength(4);
    for (const block of [0, 1, 2, 3])
      expect(new Set(trial.plots.filter((plot) => plot.block === block).map((plot) => plot.treatmentId)).size).toBe(3);
    const first = plots.find((plot) => plot.name === '101');
    expect(first?.polygonM?.[3]).toEqual([2, 3]); // near left: the origin given
    expect(first?.areaM2).toBeCloseTo(1.5 * 5, 9); // two passes of 0.75 m, 5 m long
  });

  test('the same seed draws the same order, another seed another', async () => {
    const lawn = await plainLawn();
    const iron = await plainProduct({ name: 'Iron salt' });
    const treatments = ['A', 'B', 'C', 'D'].map((name) => ({
      name,
      isCheck: false,
      onSubplots: false,
      items: [{ productId: iron.id, rate: { value: 1, unit: 'g/m2' as const } }],
    }));
    const orderOf = async (seed: number) => {
      const trial = await laidOut(lawn, entryOf({ name: `Seed ${seed}`, seed, treatments }));
      return trial.plots.map((plot) => trial.treatments.find((one) => one.id === plot.treatmentId)?.name).join('');
    };
    const [once, again, other] = [await orderOf(5), await orderOf(5), await orderOf(6)];
    expect(again).toBe(once);
    expect(other).not.toBe(once);
  });

  test('a treatment without a product that is not the check is refused in one sentence and leaves no plots', async () => {
    const lawn = await plainLawn();
    const laid = await layOutTrial(
      lawn.id,
      entryOf({
        treatments: [
          { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
          { name: 'Empty', isCheck: false, onSubplots: false, items: [] },
        ],
      }),
    );
    expect(laid).toMatchObject({ ok: false, field: 'treatments.1.name' });
    expect(await listPlots(lawn.id)).toEqual([]);
  });

  test('what to mix: 110 g/100 m² on four strips of 7.5 m² is 33 g in 1.8 L at 6 L/100 m²', async () => {
    const { trial } = await ironTrial();
    const full = treatmentMixes(trial, null).find((mix) => mix.treatment === 'Full');
    expect(full?.lines[0]?.amount?.massKg).toBeCloseTo(0.033, 9);
    expect(full?.carrierL).toBeCloseTo(1.8, 9);
    const query = new URL(full?.plan ?? '', 'http://x').searchParams;
    expect(query.get('items')).toMatch(/^[a-z0-9]+:110:g\/100m2$/);
    expect(query.get('plots')?.split(',')).toHaveLength(4);
    expect(query.get('carrier')).toBe('6:L/100m2');
  });

  test('a split plot carries both treatments of a plot', async () => {
    const lawn = await plainLawn();
    const iron = await plainProduct({ name: 'Iron salt' });
    const treatment = (name: string, onSubplots: boolean, isCheck = false) => ({
      name,
      isCheck,
      onSubplots,
      items: isCheck ? [] : [{ productId: iron.id, rate: { value: 1, unit: 'g/m2' as const } }],
    });
    const trial = await laidOut(
      lawn,
      entryOf({
        design: 'split-plot',
        blocks: 3,
        treatments: [
          treatment('Low', false),
          treatment('High', false),
          treatment('None', true, true),
          treatment('Wetter', true),
        ],
      }),
    );
    expect(trial.plots).toHaveLength(12);
    expect(trial.plots.every((plot) => plot.subTreatmentId !== null)).toBe(true);
  });
});

describe('running', () => {
  test('a day’s photo is due, then late, then done; a strip without a reading is named', async () => {
    const { lawn, trial } = await ironTrial();
    await runTrial(lawn, trial, seededRandom(3), () => 0, [1], 0.005);
    const record = await recordOf(trial.id);
    const on = (date: string, kind: string, day: number) =>
      trialDays(record, new Date(`${date}T12:00:00Z`)).find((item) => item.kind === kind && item.dayOfTrial === day);
    expect(on('2026-05-02', 'photo', 1)?.state).toBe('done');
    expect(on('2026-05-02', 'photo', 0)?.state).toBe('done'); // the photo of the day before counts as the baseline
    expect(on('2026-05-04', 'photo', 3)).toMatchObject({
      state: 'due',
      missingPlots: record.trial.layout.strips.map((strip) => strip.label),
    });
    expect(on('2026-05-05', 'photo', 3)?.state).toBe('late');
    expect(on('2026-05-20', 'photo', 3)?.state).toBe('missed');
    expect(on('2026-05-02', 'spray', 0)?.state).toBe('done'); // the check needs none
  });

  test('blind order holds every strip, is the same when a session is taken up again, and differs from rater to rater', async () => {
    const { lawn, trial } = await ironTrial();
    await runTrial(lawn, trial, seededRandom(3), () => 0, [1], 0.005);
    const record = await recordOf(trial.id);
    const order = (rater: string) => blindStrips(record, '2026-05-02', rater).map((one) => one.item.plotId);
    expect(order('Ann')).toEqual(order('Ann'));
    expect(order('Ann')).not.toEqual(order('Bo'));
    expect(new Set(order('Ann')).size).toBe(12);
    expect(order('Ann')).toHaveLength(14); // two come twice
  });

  test('scores for strips of another trial are refused', async () => {
    const { trial } = await ironTrial();
    expect(
      await rateBlind(
        trial.id,
        { rater: 'Ann', scores: [{ plotId: 'nothere00', photoId: 'nothere00', score: 5 }], unscored: 0 },
        new Date(),
      ),
    ).toMatchObject({ ok: false });
  });
});

describe('a trial and its sprays', () => {
  test('a spray made before the planned first day counts, and the days count from it', async () => {
    const { lawn, trial } = await ironTrial(); // planned for 1 May
    await sprayTreatment(lawn, trial, 'Lean', new Date('2026-04-29T08:00:00Z'));
    await sprayTreatment(lawn, trial, 'Full', new Date('2026-04-29T09:00:00Z'));
    const record = await recordOf(trial.id);
    expect([record.sprays.length, record.firstSprayOn, record.spraysBefore.length]).toEqual([2, '2026-04-29', 0]);
  });

  test('on plots older than the trial earlier sprays are the lawn’s own, until the day is moved', async () => {
    const { lawn, trial } = await ironTrial();
    await diary().plot.updateMany({ data: { createdAt: new Date('2020-01-01T00:00:00Z') } });
    await sprayTreatment(lawn, trial, 'Lean', new Date('2026-04-29T08:00:00Z'));
    const before = await recordOf(trial.id);
    expect([before.sprays.length, before.spraysBefore.length]).toEqual([0, 1]);
    await changeTrial(trial.id, {
      name: 'Iron, again',
      question: 'Which?',
      startsOn: '2026-04-28',
      photoDays: [2],
      note: 'moved',
    });
    const after = await recordOf(trial.id);
    expect([
      after.sprays.length,
      after.spraysBefore.length,
      after.trial.name,
      after.trial.question,
      after.trial.photoDays,
    ]).toEqual([1, 0, 'Iron, again', 'Which?', [2]]);
  });
});

describe('a rater’s own scatter', () => {
  test('is the second look of one sitting; a later sitting on the same day is none', async () => {
    const { lawn, trial } = await ironTrial();
    const [photoId] = (await runTrial(lawn, trial, seededRandom(3), () => 0, [1], 0.005)).slice(-1) as [string];
    const [a, b] = trial.plots.map((plot) => plot.plotId) as [string, string];
    const rated = (plotId: string, score: number, at: string) => ({
      plotId,
      photoId,
      trialId: trial.id,
      rater: 'Ann',
      score,
      blind: true,
      ratedAt: new Date(at),
    });
    await addRatings([
      rated(a, 4, '2026-05-02T10:00Z'),
      rated(b, 5, '2026-05-02T10:00Z'),
      rated(a, 9, '2026-05-02T15:00Z'),
      rated(b, 9, '2026-05-02T15:00Z'),
    ]);
    expect(ratingAgreement(await recordOf(trial.id)).repeats).toEqual([]);
    await addRatings([rated(b, 7, '2026-05-02T10:00Z')]);
    expect(ratingAgreement(await recordOf(trial.id)).repeats).toEqual([{ rater: 'Ann', strips: 1, difference: 2 }]);
  });

  test('is none of ratings given on the lawn, where no strip is shown twice: a second one of the same minute mends the first', async () => {
    const { trial } = await ironTrial();
    const plotId = trial.plots[0]!.plotId;
    const at = new Date('2026-05-02T10:00Z');
    const onSite = (score: number) => ({
      plotId,
      photoId: null,
      trialId: trial.id,
      rater: 'Ann',
      score,
      blind: true,
      ratedAt: at,
    });
    await addRatings([onSite(4)]);
    await addRatings([onSite(7)]);
    expect(ratingAgreement(await recordOf(trial.id)).repeats).toEqual([]);
  });

  /** A trial with a photo, and blind ratings of its first strips there. */
  async function ratedTrial() {
    const { lawn, trial } = await ironTrial();
    const [photoId] = (await runTrial(lawn, trial, seededRandom(3), () => 0, [1], 0.005)).slice(-1) as [string];
    const plotIds = trial.plots.map((plot) => plot.plotId).slice(0, 3);
    const of = (rater: string, at: string, scores: readonly number[]) =>
      scores.map((score, i) => ({
        plotId: plotIds[i]!,
        photoId,
        trialId: trial.id,
        rater,
        score,
        blind: true,
        ratedAt: new Date(at),
      }));
    return { trial, photoId, plotIds, of };
  }

  test('two raters are held against each other: mean difference, and within what 95 % of differences lie', async () => {
    const { trial, of } = await ratedTrial();
    await addRatings([...of('Ann', '2026-05-02T10:00Z', [2, 4, 9]), ...of('Ben', '2026-05-02T10:00Z', [1, 5, 6])]);
    const [pair, ...more] = ratingAgreement(await recordOf(trial.id)).pairs;
    expect(more).toEqual([]);
    // By hand: differences 1, -1, 3; mean 1, standard deviation 2; 1 ± 1.96 × 2.
    expect(pair).toMatchObject({ a: 'Ann', b: 'Ben', strips: 3, difference: 1 });
    expect(pair!.limits.map((limit) => Number(limit.toFixed(2)))).toEqual([-2.92, 4.92]);
  });

  test('one person is one rater, however the name was typed, and is called as first written', async () => {
    const { trial, photoId, plotIds, of } = await ratedTrial();
    await addRatings([
      ...of('ann', '2026-05-02T11:00Z', [4, 6, 9]),
      ...of('Ann', '2026-05-02T10:00Z', [2, 4, 9]),
      ...of(' ANN ', '2026-05-02T12:00Z', [3, 5, 9]),
      ...of('Ben', '2026-05-02T10:00Z', [2, 6, 6]),
    ]);
    const record = await recordOf(trial.id);
    // Ann's means of three sittings are 3, 5 and 9: 1, -1 and 3 more than Ben's.
    expect(ratingAgreement(record).pairs.map(({ a, b, difference }) => [a, b, difference])).toEqual([
      ['Ann', 'Ben', 1],
    ]);
    expect(ratingDays(record).find((day) => day.raters.length > 0)?.raters).toEqual(['Ann', 'Ben']);
    expect(ratingSittings(record).map(({ rater, scores }) => [rater, scores])).toEqual([
      ['Ann', 9],
      ['Ben', 3],
    ]);
    const strip = { plotId: plotIds[0]!, photoId };
    expect(doubtsOfSitting(record, { rater: 'aNN', scores: [strip], unscored: 0 })).toHaveLength(1);
    expect(doubtsOfSitting(record, { rater: 'Anna', scores: [strip], unscored: 0 })).toEqual([]);
  });

  test('pictures without a score, and strips scored before, are asked about before a sitting is kept', async () => {
    const { lawn, trial } = await ironTrial();
    const [photoId] = (await runTrial(lawn, trial, seededRandom(3), () => 0, [1], 0.005)).slice(-1) as [string];
    const [a, b, c] = trial.plots.map((plot) => plot.plotId);
    const sitting = RatingForm.parse({
      rater: 'Ann',
      scores: {
        0: { plotId: a, photoId, score: '5' },
        1: { plotId: b, photoId },
        2: { plotId: c, photoId, score: '6' },
      },
    });
    expect(doubtsOfSitting(await recordOf(trial.id), sitting)).toEqual([
      '1 of 3 pictures without a score: keep only the 2 given?',
    ]);
    expect(await rateBlind(trial.id, sitting, new Date('2026-05-02T10:00Z'))).toEqual({
      ok: true,
      message: '2 scores kept. 1 picture left without one.',
    });
    expect(doubtsOfSitting(await recordOf(trial.id), { ...sitting, unscored: 0 })[0]).toMatch(
      /^Ann has scored 2 strips of these photos before/,
    );
  });
});

describe('analysing', () => {
  test('gains laid into the readings come out as differences from the check, though light and blocks differ', async () => {
    const { lawn, trial } = await ironTrial();
    await runTrial(
      lawn,
      trial,
      seededRandom(7),
      (treatment) => ({ Lean: 0.02, Full: 0.05 })[treatment] ?? 0,
      [3, 7],
      0.004,
    );
    const { analysis } = analyseRecord(await recordOf(trial.id), choices);
    expect(analysis.byDay.map((one) => one.day)).toEqual([3, 7]);
    for (const { analysis: day } of analysis.byDay) {
      if (day.kind !== 'tested') throw new Error(`expected a tested day, got ${day.kind}`);
      const mean = (name: string) => day.factors[0]?.means.find((one) => one.treatment === name);
      expect(mean('Unsprayed')?.mean).toBe(0);
      for (const [name, gain] of [
        ['Lean', 0.02],
        ['Full', 0.05],
      ] as const)
        expect(Math.abs((mean(name)?.mean ?? 0) - gain)).toBeLessThan(0.012); // four standard errors of a difference of changes: 4 × 0.004 × √(2/4)
      expect(day.factors[0]?.againstCheck?.every((one) => one.significant)).toBe(true);
    }
  });

  test('a trial without effect finds a difference in about 1 of 20: between 1 and 12 of 100 seeded runs', async () => {
    // Binomial(100, 0.05): outside 1..12 with probability 0.006 + 0.0015. Only the analysis is repeated, on values
    // drawn anew.
    const { lawn, trial } = await ironTrial();
    await runTrial(lawn, trial, seededRandom(1), () => 0, [7], 0.006);
    const record = await recordOf(trial.id);
    const random = seededRandom(2);
    let found = 0;
    for (let run = 0; run < 100; run++) {
      // Every plot's own change is drawn; what is kept is that less the change of the check they are all compared with.
      const own = new Map(record.trial.plots.map((plot) => [plot.plotId, 0.006 * Math.SQRT2 * random.normal()]));
      const readings = record.readings.map((reading) => ({
        ...reading,
        change: reading.change && {
          ...reading.change,
          headline: {
            value: (own.get(reading.plotId) as number) - (own.get(reading.change.checkPlotId) as number),
            low95: null,
            high95: null,
          },
        },
      }));
      const day = analyseRecord({ ...record, readings }, choices).analysis.byDay[0]?.analysis;
      if (day?.kind === 'tested' && (day.factors[0]?.p ?? 1) < 0.05) found++;
    }
    expect(found).toBeGreaterThanOrEqual(1);
    expect(found).toBeLessThanOrEqual(12);
  });

  test('a strip left out in one photo is out with its reason, and the other photo still counts it', async () => {
    const { lawn, trial } = await ironTrial();
    const photos = await runTrial(lawn, trial, seededRandom(5), () => 0, [3, 7], 0.004);
    const out = trial.plots[4] as (typeof trial.plots)[number];
    await addOmission(trial.id, { photoId: photos[1] as string, plotId: out.plotId, reason: 'a tarp lay on it' });
    const { analysis } = analyseRecord(await recordOf(trial.id), choices);
    expect(analysis.byDay[0]?.analysis.leftOut).toEqual([{ plot: '202', day: 3, reason: 'a tarp lay on it' }]);
    expect(analysis.byDay[1]?.analysis.leftOut).toEqual([]);
  });

  test('strips with a mark can be left out as a whole, dismissed marks count for nothing', async () => {
    const { lawn, trial } = await ironTrial();
    const photos = await runTrial(lawn, trial, seededRandom(5), () => 0, [3], 0.004);
    const mark = { photoId: photos[1] as string, kind: 'silver', threadId: 't', score: 1, polygon: [], areaShare: 0.1 };
    await diary().mark.create({ data: { ...mark, plotId: trial.plots[0]?.plotId as string } });
    const dismissed = await diary().mark.create({
      data: { ...mark, threadId: 'u', plotId: trial.plots[1]?.plotId as string },
    });
    await judgeMark(dismissed.id, { state: 'dismissed' }, new Date());
    const record = await recordOf(trial.id);
    expect(analyseRecord(record, choices).analysis.byDay[0]?.analysis.leftOut).toEqual([]);
    expect(
      analyseRecord(record, { ...choices, marked: 'without' }).analysis.byDay[0]?.analysis.leftOut.map(
        (one) => one.plot,
      ),
    ).toEqual(['101']);
  });

  test('one block gives strips without a test and says so', async () => {
    const { lawn, trial } = await ironTrial(1);
    await runTrial(lawn, trial, seededRandom(7), () => 0.03, [3], 0.004);
    const day = analyseRecord(await recordOf(trial.id), choices).analysis.byDay[0]?.analysis;
    expect(day?.kind).toBe('strips-only');
    expect(day?.sentences[0]).toMatch(/no test is given/i);
  });

  test('ratings of several people are averaged a strip and analysed by ranks first', async () => {
    const { lawn, trial } = await ironTrial();
    const photos = await runTrial(lawn, trial, seededRandom(7), () => 0, [3], 0.004);
    const base = trial.treatments.map((one) => one.id);
    await addRatings(
      trial.plots.flatMap((plot) =>
        ['Ann', 'Bo'].map((rater, i) => ({
          plotId: plot.plotId,
          photoId: photos[1] as string,
          trialId: trial.id,
          rater,
          score: 3 + 2 * base.indexOf(plot.treatmentId) + i * (plot.block % 2),
          blind: true,
          ratedAt: new Date('2026-06-01T00:00:00Z'),
        })),
      ),
    );
    const { analysis, values } = analyseRecord(await recordOf(trial.id), { ...choices, measure: 'rating' });
    expect(analysis.byDay.map((one) => one.day)).toEqual([3]); // the photo's day, not the day of rating
    expect(values.find((value) => value.treatment === 'Unsprayed' && value.block === '2')?.value).toBe(3.5);
    expect(analysis.byDay[0]?.analysis.sentences[0]).toMatch(/^By ranks/);
  });

  test('cost per area is the price of what was sprayed: 110 g/100 m² at 3 a kilogram is 33 a hectare', async () => {
    const { lawn, trial, iron } = await ironTrial();
    await diary().product.update({
      where: { id: iron.id },
      data: { priceAmount: 30, priceCurrency: 'EUR', pricePerEnteredValue: 10, pricePerEnteredUnit: 'kg' },
    });
    await runTrial(lawn, trial, seededRandom(7), () => 0, [3], 0.004);
    const { costPerHa, currency } = analyseRecord(await recordOf(trial.id), choices);
    expect(costPerHa['Full']).toBeCloseTo(33, 9);
    expect(currency).toBe('EUR');
  });
});

describe('showing others', () => {
  test('a link opens its trial until it is revoked or the trial is binned; the diary keeps no token', async () => {
    const { trial } = await ironTrial();
    const token = await shareTrial(trial.id);
    expect(await sharedTrialId(token)).toBe(trial.id);
    expect(await sharedTrialId(`${token.slice(0, -1)}${token.endsWith('A') ? 'B' : 'A'}`)).toBeNull();
    expect(JSON.stringify(await diary().shareLink.findMany())).not.toContain(token);
    const [link] = await listShareLinks(trial.id);
    await revokeShareLink(trial.id, link?.id as string, new Date());
    expect(await sharedTrialId(token)).toBeNull();
    const second = await shareTrial(trial.id);
    await binTrial(trial.id, new Date());
    expect(await sharedTrialId(second)).toBeNull();
  });

  test('the long table has one row a value with its unit, and nothing of the place', async () => {
    const { lawn, trial } = await ironTrial();
    await runTrial(lawn, trial, seededRandom(7), () => 0.03, [3, 7], 0.004);
    const csv = trialCsv(await recordOf(trial.id));
    const lines = csv.trim().split('\r\n');
    expect(lines).toHaveLength(1 + 36 + 22); // 12 strips in 3 photos, and the change of 11 against the twelfth in 2
    expect(lines[0]).toContain('value (see unit)');
    expect(csv).not.toMatch(/45\.678|9\.876|Secret/);
  });

  test('a report names what was sprayed, the frames of its film strip, and the method of its readings', async () => {
    const { lawn, trial } = await ironTrial();
    await runTrial(lawn, trial, seededRandom(7), () => 0.03, [3], 0.004);
    const report = await reportTrial(await recordOf(trial.id));
    expect(report.sprays.map((spray) => spray.items[0]?.name)).toEqual(['Iron salt', 'Iron salt']);
    expect(report.film.dates).toEqual(['2026-04-30', '2026-05-04']);
    expect(report.film.rows.every((row) => row.frames.every((frame) => frame !== null))).toBe(true);
    expect(report.methods).toEqual([{ version: 'turf-hsb-1', corrections: ['none'] }]);
  });
});
