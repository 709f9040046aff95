import { randomBytes } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { diary } from '@/lib/diary/client';
import { replaceOutlines } from '@/lib/diary/outlines';
import { createPhoto } from '@/lib/diary/photos';
import { asCheck, checkName } from '@/app/_ui/change-text';
import { setBinned } from '@/lib/diary/bin';
import { createPlot, updatePlot, type Plot } from '@/lib/diary/plots';
import { saveReadings } from '@/lib/diary/readings';
import { createSpray } from '@/lib/diary/sprays';
import { findSpray } from '@/lib/diary/sprays';
import { viewpointNamed } from '@/lib/diary/viewpoints';
import type { Lawn } from '@/lib/diary/lawns';
import type { Point } from '@/lib/photo/raster/pixels';
import { changesIn } from '@/lib/work/photos/changes';
import { correctPhoto } from '@/lib/work/photos/correct-photo';
import { causesOfMark } from '@/lib/work/photos/find-causes';
import { cautionsOf } from '@/lib/work/photos/photo-cautions';
import { judgeMark, marksOfPhotos } from '@/lib/work/photos/marks';
import { photosSince, spraysBefore } from '@/lib/work/photos/photo-links';
import { reportTrial } from '@/lib/work/trials/report-trial';
import { responseOverTime } from '@/lib/work/response/response-over-time';
import { readTimeline } from '@/lib/work/diary/timeline';
import { analyseRecord } from '@/lib/work/trials/trial-analysis';
import { trialCsv } from '@/lib/work/trials/trial-csv';
import { readTrial, type TrialRecord } from '@/lib/work/trials/trial-record';
import { useFreshDiary } from '../support/diary';
import { standAsRead } from '../support/stand';
import { testLawn } from '../support/test-lawn';
import { entryOf, laidOut, plainProduct, runTrial } from '../support/trial';
import { seededRandom } from '@/lib/stats/random';

useFreshDiary();

const plotOn = (lawn: Lawn, name: string, isCheck = false): Promise<Plot> =>
  createPlot(lawn.id, {
    name,
    isCheck,
    polygonM: null,
    areaM2: 10,
    note: '',
  });
const SQUARE: Point[] = [
  [10, 10],
  [90, 10],
  [90, 90],
  [10, 90],
];
const sprayOn = (lawn: Lawn, at: string, plots: Plot[]) =>
  createSpray(
    lawn.id,
    { state: 'done', startedAt: new Date(at) },
    [],
    plots.map((plot) => ({ plotId: plot.id, areaM2: 10 })),
  );

async function photoOf(lawn: Lawn, at: string, plots: Plot[], viewpointName = 'step'): Promise<string> {
  const viewpoint = await viewpointNamed(lawn.id, viewpointName);
  const photo = await createPhoto({
    lawnId: lawn.id,
    viewpointId: viewpoint.id,
    sha256: randomBytes(32).toString('hex'),
    kind: 'jpeg',
    fileName: `${at}.jpg`,
    bytes: 1,
    widthPx: 100,
    heightPx: 100,
    takenAt: new Date(at),
    takenAtOffsetMin: 0,
    takenAtBasis: 'typed',
    measureState: 'measured',
  });
  await replaceOutlines(
    photo.id,
    plots.map((plot) => ({ plotId: plot.id, corners: SQUARE, origin: 'surveyed', accepted: true })),
  );
  await saveReadings(
    photo.id,
    plots.map((plot, i) => ({
      plotId: plot.id,
      takenAt: new Date(at),
      methodVersion: 'm',
      parameters: {},
      pixels: 1,
      turfPixels: 1,
      turfShare: 1,
      dgci: 0.5 + 0.01 * i,
      dgciLow95: 0.49,
      dgciHigh95: 0.52,
      blocks: {},
    })),
    [],
  );
  return photo.id;
}

describe('photos and sprays', () => {
  test('a spray logged after its photos is followed by them, and they by it, the same both ways', async () => {
    const lawn = await testLawn({ timeZone: 'UTC' });
    const [a, b] = [await plotOn(lawn, 'A'), await plotOn(lawn, 'B')];
    const first = await sprayOn(lawn, '2026-05-01T08:00:00Z', [a, b]);
    const photo = await photoOf(lawn, '2026-05-04T16:00:00Z', [a]);
    const onlyB = await photoOf(lawn, '2026-05-04T17:00:00Z', [b]);
    const late = await sprayOn(lawn, '2026-05-03T08:00:00Z', [a]);
    const followed = async (id: string, plot: Plot) =>
      (
        await spraysBefore({
          lawnId: lawn.id,
          takenAt: (await diary().photo.findUniqueOrThrow({ where: { id } })).takenAt,
          plotIds: [plot.id],
        })
      ).map((spray) => spray.id);
    expect(await followed(photo, a)).toEqual([late.id]);
    expect(await followed(onlyB, b)).toEqual([first.id]);
    const since = async (id: string) => (await photosSince((await findSpray(id))!)).map((one) => one.id);
    expect(await since(late.id)).toEqual([photo]);
    expect(await since(first.id)).toEqual([onlyB]);
  });

  test('two sprays of one morning on two strips: a photo of both follows both', async () => {
    const lawn = await testLawn({ timeZone: 'UTC' });
    const [a, b] = [await plotOn(lawn, 'A'), await plotOn(lawn, 'B')];
    const [one, other] = [
      await sprayOn(lawn, '2026-05-01T08:00:00Z', [a]),
      await sprayOn(lawn, '2026-05-01T09:00:00Z', [b]),
    ];
    const photo = await photoOf(lawn, '2026-05-04T16:00:00Z', [a, b]);
    for (const spray of [one, other])
      expect((await photosSince((await findSpray(spray.id))!)).map((found) => found.id)).toEqual([photo]);
  });
});

test('a photo of a strip inside the whole front follows the front’s spray and its own, the same both ways', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const front = await plotOn(lawn, 'Front');
  const strip = await plotOn(lawn, 'Strip');
  await updatePlot(strip.id, { ...strip, areaM2: 1, groundPlace: 'inside', insidePlotId: front.id });
  const back = await plotOn(lawn, 'Back');
  await updatePlot(back.id, { ...back, groundPlace: 'apart' });
  const onFront = await sprayOn(lawn, '2026-05-01T08:00:00Z', [front]);
  const onStrip = await sprayOn(lawn, '2026-05-02T08:00:00Z', [strip]);
  const takenAt = new Date('2026-05-04T16:00:00Z');
  const photo = await photoOf(lawn, takenAt.toISOString(), [strip]);
  await photoOf(lawn, '2026-05-04T17:00:00Z', [back]);
  expect((await spraysBefore({ lawnId: lawn.id, takenAt, plotIds: [strip.id] })).map((spray) => spray.id)).toEqual([
    onFront.id,
    onStrip.id,
  ]);
  for (const { id } of [onFront, onStrip])
    expect((await photosSince((await findSpray(id))!)).map((one) => one.id)).toEqual([photo]);
});

test('cautions of the moment follow the photo’s time: low sun goes when the time is put right, and comes with a wrong one', async () => {
  const lawn = await testLawn({ timeZone: 'UTC', latitudeDeg: 45, longitudeDeg: 10 });
  const id = await photoOf(lawn, '2026-05-04T02:00:00Z', [await plotOn(lawn, 'A')]);
  const codes = async () => (await cautionsOf(lawn, [id])).get(id)?.map((caution) => caution.code) ?? [];
  expect(await codes()).toContain('low-sun');
  await correctPhoto(
    id,
    { viewpoint: 'step', takenLocal: '2026-05-04T11:00', note: '' },
    new Date('2026-06-01T00:00:00Z'),
  );
  expect(await codes()).not.toContain('low-sun');
});

test('outlines that overlap are named as the plots are called now, and one whose plot is in the bin shares nothing', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const [a, b] = [await plotOn(lawn, 'A'), await plotOn(lawn, 'B')];
  const id = await photoOf(lawn, '2026-05-04T16:00:00Z', [a, b]);
  const said = async () =>
    (await cautionsOf(lawn, [id])).get(id)?.filter((one) => one.code === 'outlines-overlap')[0]?.sentence;
  expect(await said()).toMatch(/^Outlines overlap: A and B share 100 % of the smaller/);
  await updatePlot(b.id, { ...b, name: 'By the hedge' });
  expect(await said()).toMatch(/^Outlines overlap: A and By the hedge share/);
  await setBinned('plot', b.id, new Date());
  expect(await said()).toBeUndefined();
});

test('what lies on a plot is told by the name the plot has now, never by its key', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const a = await plotOn(lawn, 'A');
  const id = await photoOf(lawn, '2026-05-04T16:00:00Z', [a]);
  await standAsRead(lawn.id);
  await diary().photo.update({
    where: { id },
    data: { comparisonCautions: [{ code: 'not-turf', value: 0.04, sentence: `Plot ${a.id}: leaves lie on it.` }] },
  });
  const said = async () =>
    (await cautionsOf(lawn, [id])).get(id)?.flatMap((one) => (one.code === 'not-turf' ? one.sentence : []));
  expect(await said()).toEqual(['A: leaves lie on it.']);
  await updatePlot(a.id, { ...a, name: 'By the hedge' });
  expect(await said()).toEqual(['By the hedge: leaves lie on it.']);
});

test('what was said of a patch stays when its photo’s time is put right by months', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const plot = await plotOn(lawn, 'A');
  const id = await photoOf(lawn, '2026-01-04T12:00:00Z', [plot]);
  const mark = (photoId: string) =>
    diary().mark.create({
      data: {
        photoId,
        plotId: plot.id,
        threadId: 't',
        acrossShare: 0.5,
        alongShare: 0.5,
        kind: 'silver',
        score: 1,
        polygon: [],
        areaShare: 0.1,
      },
    });
  const first = await photoOf(lawn, '2026-01-02T12:00:00Z', [plot]);
  await mark(first);
  // Said of what the second photo shows; both show it.
  await judgeMark((await mark(id)).id, { state: 'confirmed', kind: 'burn' }, new Date());
  const now = new Date('2026-06-01T00:00:00Z');
  const said = { state: 'confirmed', kind: 'burn' };
  for (const [photo, day] of [
    [id, '04'],
    [first, '02'],
  ] as const) {
    expect(await correctPhoto(photo, { viewpoint: 'step', takenLocal: `2026-05-${day}T12:00`, note: '' }, now)).toEqual(
      { ok: true },
    );
    expect(await marksOfPhotos(lawn.id, [first, id])).toMatchObject([said, said]);
  }
  // What shows up there in the months it was never seen in is another.
  const other = await photoOf(lawn, '2026-01-04T12:00:00Z', [plot]);
  await mark(other);
  expect(await marksOfPhotos(lawn.id, [other])).toMatchObject([{ state: 'open', kind: 'silver' }]);
});

describe('one number for a change', () => {
  test('the photo’s page, Response, the diary, the trial’s analysis, its report and its table give the very same value and interval', async () => {
    const lawn = await testLawn({ timeZone: 'UTC' });
    const iron = await plainProduct({ name: 'Iron salt', fePercent: 20, role: 'iron' });
    const trial = await laidOut(
      lawn,
      entryOf({
        blocks: 1,
        design: 'paired-strips',
        treatments: [
          { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
          {
            name: 'Iron',
            isCheck: false,
            onSubplots: false,
            items: [{ productId: iron.id, rate: { value: 100, unit: 'g/100m2' as const } }],
          },
        ],
      }),
    );
    const [, after] = await runTrial(
      lawn,
      trial,
      seededRandom(3),
      (treatment) => (treatment === 'Iron' ? 0.07 : 0),
      [3],
      0.004,
    );
    const strip = trial.plots.find((plot) => !plot.plot.isCheck)!;
    // A marked patch: with it counted the strip looks greener than it is.
    await diary().mark.create({
      data: {
        photoId: after as string,
        plotId: strip.plotId,
        threadId: 't',
        kind: 'silver',
        score: 1,
        polygon: [],
        areaShare: 0.2,
      },
    });
    await diary().change.updateMany({
      where: { photoId: after as string },
      data: {
        difference: 0.127,
        low95: 0.117,
        high95: 0.137,
        differenceWithoutMarks: 0.103,
        low95WithoutMarks: 0.092,
        high95WithoutMarks: 0.114,
      },
    });
    const wanted = { value: 0.103, low95: 0.092, high95: 0.114 };

    expect((await changesIn(lawn.id, [after as string])).changes[0]).toMatchObject({
      headline: wanted,
      otherWay: { value: 0.127, low95: 0.117, high95: 0.137 },
      counted: 'without-marks',
      marksLeftOut: 1,
    });
    const point = (await responseOverTime(lawn.id, new Date(0), new Date('2027-01-01T00:00:00Z'))).plots
      .find((plot) => plot.plotId === strip.plotId)
      ?.change.at(-1);
    expect(point).toMatchObject(wanted);
    const entry = (await readTimeline(lawn.id, { show: 'photos' })).entries.find(
      (one) => one.kind === 'photo' && one.photo.id === after,
    );
    expect(entry?.kind === 'photo' && entry.changes[0]?.headline).toEqual(wanted);
    const record = (await readTrial(trial.id)) as TrialRecord;
    const shown = (analysis: ReturnType<typeof analyseRecord>) => {
      const day = analysis.analysis.byDay[0]?.analysis;
      return day?.kind === 'strips-only' ? day.strips.find((one) => one.treatment === 'Iron') : undefined;
    };
    const ofTrial = shown(
      analyseRecord(record, { measure: 'change-against-check', comparison: 'tukey', marked: 'left-out' }),
    );
    expect([ofTrial?.value, ofTrial?.ownInterval]).toEqual([wanted.value, [wanted.low95, wanted.high95]]);
    const ofReport = shown((await reportTrial(record)).change);
    expect([ofReport?.value, ofReport?.ownInterval]).toEqual([wanted.value, [wanted.low95, wanted.high95]]);
    expect(
      shown(analyseRecord(record, { measure: 'change-against-check', comparison: 'tukey', marked: 'counted' }))?.value,
    ).toBe(0.127);
    const line = trialCsv(record)
      .split('\r\n')
      .find((one) => one.includes('change against the check,'));
    expect(line).toContain('0.103,0.092,0.114');
  });

  test('photos from two viewpoints are two lines that name them', async () => {
    const lawn = await testLawn({ timeZone: 'UTC' });
    const [k, a] = [await plotOn(lawn, 'K', true), await plotOn(lawn, 'A')];
    for (const viewpoint of ['gate', 'step'])
      for (const day of ['01', '05']) await photoOf(lawn, `2026-05-${day}T16:00:00Z`, [k, a], viewpoint);
    await sprayOn(lawn, '2026-05-02T08:00:00Z', [a]);
    await standAsRead(lawn.id);
    const { plots } = await responseOverTime(lawn.id, new Date(0), new Date('2027-01-01T00:00:00Z'));
    expect(
      plots.filter((plot) => plot.plotId === a.id).map((plot) => [plot.viewpointName, plot.change.length]),
    ).toEqual([
      ['gate', 2],
      ['step', 2],
    ]);
  });
});

test('a mark first seen fourteen days after a spray, with no photo between, is weighed against it; a photo without it between makes it late', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const plot = await plotOn(lawn, 'A');
  await photoOf(lawn, '2026-04-30T16:00:00Z', [plot]);
  const spray = await sprayOn(lawn, '2026-05-01T16:00:00Z', [plot]);
  const after = await photoOf(lawn, '2026-05-15T16:00:00Z', [plot]);
  const mark = await diary().mark.create({
    data: { photoId: after, plotId: plot.id, threadId: 't', kind: 'burn', score: 1, polygon: [], areaShare: 0.1 },
  });
  const causes = await causesOfMark(mark.id);
  expect(causes?.spray?.id).toBe(spray.id);
  expect(causes?.report?.kind).toBe('findings');
  expect(causes?.record).toMatchObject({ daysAfterSpray: 14, clearUntilDays: null });
  await photoOf(lawn, '2026-05-13T16:00:00Z', [plot]);
  expect((await causesOfMark(mark.id))?.report?.kind).toBe('too-late');
});

test('a plot that is called check is not called so twice, wherever it is named', () => {
  expect(['Check', 'K', 'the check, unsprayed'].map(checkName)).toEqual(['Check', 'K (check)', 'the check, unsprayed']);
  expect(['Check', 'K'].map((name) => asCheck({ name, isCheck: true }))).toEqual(['', ', the check']);
  expect(asCheck({ name: 'K', isCheck: false })).toBe('');
});

test('before any spray changes are since the first photo, and the page is told so', async () => {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const [k, a] = [await plotOn(lawn, 'K', true), await plotOn(lawn, 'A')];
  for (const day of ['01', '05']) await photoOf(lawn, `2026-05-${day}T16:00:00Z`, [k, a]);
  await standAsRead(lawn.id);
  const asked = () => responseOverTime(lawn.id, new Date(0), new Date('2026-05-10T00:00:00Z'));
  const own = (response: Awaited<ReturnType<typeof asked>>) =>
    response.plots.find((plot) => plot.plotId === a.id)?.change.map(({ change }) => change.sinceSpray);
  const before = await asked();
  expect([before.sprayed, own(before)]).toEqual([false, [false]]);
  await sprayOn(lawn, '2026-05-02T08:00:00Z', [a]);
  await standAsRead(lawn.id);
  const after = await asked();
  expect([after.sprayed, own(after)]).toEqual([true, [true, true]]);
});
