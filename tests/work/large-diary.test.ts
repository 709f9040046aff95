import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { calendarBounds, calendarEvents } from '@/lib/diary/calendar';
import { closeDiary, diary } from '@/lib/diary/client';
import { findEvents, findPhotos, findSprays } from '@/lib/diary/find';
import { listLawns } from '@/lib/diary/lawns';
import { marksOfPlots } from '@/lib/diary/marks';
import { applyMigrations } from '@/lib/diary/migrate';
import { listPhotos, photosBetween, plotsPhotographed } from '@/lib/diary/photos';
import { listPlots } from '@/lib/diary/plots';
import { doneOnPlots, lastDoneOn, listSprays, pastSprays } from '@/lib/diary/sprays';
import { lastMeasuredBefore, photosShowing, readingsOfPlots, wasMeasuredFrom } from '@/lib/diary/trials';
import { firstSprayOn, firstSpraysAfterPause, photoIdsInOrder } from '@/lib/diary/worked-out';
import { PAUSE_DAYS, seriesStarts } from '@/lib/trial/baseline';
import { RESPONSE_HORIZONS, responseRows } from '@/lib/trial/response-table';
import { askChangesOnce, changesIn, type PlotChange } from '@/lib/work/photos/changes';
import { markAndItsPatch, marksOfPhotos, newestMarks } from '@/lib/work/photos/marks';
import { responseFactors } from '@/lib/work/response/response-factors';
import { seedLoad, type LoadedDiary } from '@/lib/work/keep/seed-load';
import { standOf } from '@/lib/work/photos/stand-of';
import { seededRandom } from '@/lib/stats/random';
import { plainPatches } from '../support/plain-patches';
import { turfJpeg } from '../support/pictures';

/**
 * What is asked of a large diary by its indexes, in parts or in SQL, held against the same worked out plainly from all
 * rows.
 */
const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-large-'));
const before = process.env['SWATHBOOK_DATA'];
const DAY_MS = 86_400_000;
let loaded: LoadedDiary;
let lawnId: string;
let photoIds: string[];
let plotIds: string[];

beforeAll(async () => {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  loaded = await seedLoad({ photos: 420, sprays: 42, weatherYears: 1, withTrial: true }, await turfJpeg(), () => {});
  lawnId = (await listLawns())[0]?.id as string;
  photoIds = await photoIdsInOrder(lawnId);
  plotIds = (await listPlots(lawnId)).map((plot) => plot.id);
}, 120_000);
afterAll(async () => {
  await stopScorers();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(folder, { recursive: true, force: true });
});

describe('as it was filled', () => {
  test('responses are those of all photos, whichever horizon is asked for', async () => {
    const sprays = (await listSprays(lawnId, { limit: 1000 })).filter((spray) => spray.state === 'done');
    const { changes } = await changesIn(lawnId, photoIds);
    const last = Math.max(...RESPONSE_HORIZONS.map(({ day, toleranceDays }) => day + toleranceDays));
    const day = (at: Date) => Math.round(at.getTime() / DAY_MS);
    const between = (one: PlotChange, after: PlotChange) => {
      if (!after.headline || one.checkPlotId !== after.checkPlotId) return null;
      if (after.baselinePhotoId === one.photoId) return after.headline.value;
      return one.headline && one.baselinePhotoId === after.baselinePhotoId
        ? after.headline.value - one.headline.value
        : null;
    };
    const readings = sprays.flatMap((spray) =>
      spray.plots.flatMap(({ plotId }) => {
        const own = changes.filter((change) => change.plotId === plotId);
        return own
          .filter(
            (change) =>
              change.takenAt > spray.startedAt &&
              (change.takenAt.getTime() - spray.startedAt.getTime()) / DAY_MS <= last + 1,
          )
          .flatMap((after) => {
            const earlier = own.findLast(
              (change) => change.takenAt < spray.startedAt && change.viewpointId === after.viewpointId,
            );
            const response = earlier ? between(earlier, after) : null;
            return response === null
              ? []
              : [{ spray: spray.id, plot: plotId, day: day(after.takenAt), photo: after.photoId, response }];
          });
      }),
    );
    const plain = responseRows(
      sprays.flatMap((spray) =>
        spray.plots.map(({ plotId }) => ({ spray: spray.id, plot: plotId, day: day(spray.startedAt), x: {} })),
      ),
      readings,
    );
    const bare = (
      rows: readonly {
        spray: string;
        plot: string;
        horizon: number;
        photo: string;
        response: number;
        daysAfter: number;
        alsoSprayed: readonly string[];
      }[],
    ) =>
      rows.map(({ spray, plot, horizon, photo, response, daysAfter, alsoSprayed }) => ({
        spray,
        plot,
        horizon,
        photo,
        response,
        daysAfter,
        alsoSprayed,
      }));
    expect(plain.length).toBeGreaterThan(100);
    expect(bare((await responseFactors(lawnId))!.rows)).toEqual(bare(plain));
    for (const { day: days } of RESPONSE_HORIZONS) {
      const found = (await responseFactors(lawnId, [days]))!;
      expect(bare(found.rows)).toEqual(bare(plain.filter((row) => row.horizon === days)));
      expect(found.plots.map((plot) => plot.id).toSorted()).toEqual(
        [...new Set(plain.map((row) => row.plot))].toSorted(),
      );
      expect(
        found.rows.every(
          (row) =>
            typeof row.x['days since the last spray'] === 'number' || row.x['days since the last spray'] === null,
        ),
      ).toBe(true);
    }
  });

  test('a page that asks once says the same as one that asks again and again', async () => {
    const ask = askChangesOnce(lawnId);
    for (const ids of [photoIds.slice(0, 30), photoIds.slice(10, 60), photoIds.slice(-48), photoIds.slice(-90)])
      expect(await ask(ids)).toEqual(await changesIn(lawnId, ids));
  });

  test('marks have the verdict that sorting all of them into patches gives', async () => {
    const [first, second] = (await marksOfPlots(plotIds)).filter((mark) => mark.plotId === loaded.plotId);
    await diary().patch.createMany({
      data: [first!, second!].map((mark, index) => ({
        id: mark.id,
        plotId: mark.plotId,
        acrossShare: index === 0 ? mark.acrossShare : null,
        alongShare: index === 0 ? mark.alongShare : null,
        seenFrom: mark.takenAt,
        seenTo: mark.takenAt,
        state: index === 0 ? 'dismissed' : 'confirmed',
        kind: 'burn',
      })),
    });
    const all = await marksOfPlots(plotIds);
    const patches = await diary().patch.findMany({ orderBy: { judgedAt: 'asc' } });
    const place = (across: number | null, along: number | null) =>
      across === null || along === null ? null : { across, along };
    const patchOf = plainPatches(
      all.map((mark) => ({
        id: mark.id,
        photoId: mark.photoId,
        takenAtMs: mark.takenAt.getTime(),
        place: place(mark.acrossShare, mark.alongShare),
        name: mark.threadId,
      })),
      patches.map((patch) => ({
        id: patch.id,
        place: place(patch.acrossShare, patch.alongShare),
        fromMs: patch.seenFrom.getTime(),
        toMs: patch.seenTo.getTime(),
      })),
    );
    const plain = all.map((mark) => ({
      id: mark.id,
      patchId: patchOf.get(mark.id),
      state: patches.find((patch) => patch.id === patchOf.get(mark.id))?.state ?? 'open',
    }));
    const bare = (marks: readonly { id: string; patchId: string; state: string }[]) =>
      marks.map(({ id, patchId, state }) => ({ id, patchId, state }));
    expect(new Set(plain.map((mark) => mark.state))).toEqual(new Set(['open', 'confirmed', 'dismissed']));
    expect(bare(await marksOfPhotos(lawnId, photoIds))).toEqual(plain);
    expect(bare(await newestMarks(lawnId, plotIds, 5))).toEqual(plain.slice(-5));
    expect(bare(await newestMarks(lawnId, plotIds, 3, (mark) => mark.state === 'dismissed'))).toEqual(
      plain.filter((mark) => mark.state === 'dismissed').slice(-3),
    );
    const one = plain[7]!;
    expect(bare((await markAndItsPatch(one.id))!.sightings)).toEqual(
      plain.filter((mark) => mark.patchId === one.patchId),
    );
  });
});

describe('with gaps, bins and outlines of every kind', () => {
  beforeAll(async () => {
    const random = seededRandom('bins');
    const porch = await diary().viewpoint.create({ data: { lawnId, name: 'From the porch' } });
    // What is looked for stands here and there; some of everything is in the bin, or only planned.
    for (const [at, id] of photoIds.entries()) {
      if (at % 5 === 2) await diary().photo.update({ where: { id }, data: { viewpointId: porch.id } });
      if (at % 7 === 3)
        await diary().photo.update({ where: { id }, data: { note: at % 2 === 0 ? 'A Zebra crossed' : 'dew' } });
      if (at % 11 === 5) await diary().photo.update({ where: { id }, data: { deletedAt: new Date() } });
      if (at % 3 !== 0) await diary().photo.update({ where: { id }, data: { outlinesKey: null } });
      if (at % 3 !== 0)
        await diary().outline.updateMany({
          where: { photoId: id },
          data: { origin: 'lined-up', ...(at % 4 === 1 ? { accepted: random.below(2) === 0 } : {}) },
        });
      if (at % 13 === 4) await diary().photo.update({ where: { id }, data: { fileName: `zebra-${at}.jpg` } });
    }
    const sprays = await listSprays(lawnId, { limit: 1000 });
    for (const [at, spray] of sprays.entries()) {
      if (at % 6 === 1) await diary().spray.update({ where: { id: spray.id }, data: { deletedAt: new Date() } });
      if (at % 9 === 4)
        await diary().spray.update({ where: { id: spray.id }, data: { state: 'planned', note: 'zebra' } });
      // Some seasons before it, with pauses of nearly and just over the limit between them.
      if (at % 3 === 0)
        await diary().spray.update({
          where: { id: spray.id },
          data: { startedAt: new Date(spray.startedAt.getTime() - at * (PAUSE_DAYS * DAY_MS + (at % 2) * 1000)) },
        });
    }
    const events = await diary().lawnEvent.findMany({ orderBy: { at: 'asc' } });
    for (const [at, event] of events.entries())
      if (at % 4 === 0)
        await diary().lawnEvent.update({
          where: { id: event.id },
          data: at % 8 === 0 ? { note: 'zebra' } : { deletedAt: new Date() },
        });
  }, 60_000);

  const doneSprays = async () =>
    await diary().spray.findMany({
      where: { lawnId, state: 'done', deletedAt: null },
      include: { plots: true },
      orderBy: { startedAt: 'asc' },
    });

  test('a season begins with the first spray and with each after a pause', async () => {
    const plain = seriesStarts(
      (await doneSprays()).map((spray) => spray.startedAt.getTime()),
      [],
    );
    expect(plain.length).toBeGreaterThan(4);
    expect((await firstSpraysAfterPause(lawnId, PAUSE_DAYS)).map((at) => at.getTime())).toEqual(plain);
  });

  test('sprays of plots are found whether they are few or many', async () => {
    const done = await doneSprays();
    for (const asked of [[loaded.plotId], [loaded.trialPlotId], plotIds, plotIds.slice(0, 2), []]) {
      const on = done.filter((spray) => spray.plots.some((plot) => asked.includes(plot.plotId)));
      expect((await doneOnPlots(lawnId, asked)).map((spray) => spray.id)).toEqual(on.map((spray) => spray.id));
      for (const from of [null, new Date('2026-06-01T00:00:00Z'), new Date('2027-01-01T00:00:00Z')]) {
        expect(await firstSprayOn(lawnId, asked, from)).toEqual(
          on.find((spray) => from === null || spray.startedAt >= from)?.startedAt ?? null,
        );
      }
    }
  });

  test('a photo follows the last spray of each of its plots', async () => {
    const all = await diary().spray.findMany({
      where: { lawnId, deletedAt: null },
      include: { plots: true },
      orderBy: [{ startedAt: 'desc' }, { id: 'desc' }],
    });
    let followed = 0;
    for (const lookThrough of [5, 100]) {
      for (const until of [
        new Date('2026-07-01T12:00:00Z'),
        new Date('2026-09-20T12:00:00Z'),
        new Date('2010-01-01T00:00:00Z'),
      ]) {
        const before = all
          .filter((spray) => spray.startedAt <= until)
          .slice(0, lookThrough)
          .filter((spray) => spray.state === 'done');
        for (const asked of [[loaded.plotId], plotIds, [loaded.trialPlotId, loaded.plotId]]) {
          const last = new Set(
            asked.flatMap(
              (plotId) => before.find((spray) => spray.plots.some((plot) => plot.plotId === plotId))?.id ?? [],
            ),
          );
          const found = (await lastDoneOn(lawnId, asked, until, lookThrough)).map((spray) => spray.id);
          expect(found).toEqual(
            before
              .toReversed()
              .filter((spray) => last.has(spray.id))
              .map((spray) => spray.id),
          );
          followed += found.length;
        }
      }
    }
    expect(followed).toBeGreaterThan(8);
  });

  test('label checks see the amounts and plots of every spray of a span', async () => {
    const [from, to] = [new Date('2020-01-01T00:00:00Z'), new Date('2026-12-01T00:00:00Z')];
    const plain = await diary().spray.findMany({
      where: { lawnId, deletedAt: null, startedAt: { gte: from, lt: to } },
      orderBy: { startedAt: 'asc' },
      select: {
        id: true,
        startedAt: true,
        endedAt: true,
        state: true,
        items: {
          orderBy: { mixingOrder: 'asc' },
          select: { productId: true, rateKgPerHa: true, rateLPerHa: true, actualKg: true, actualL: true },
        },
        plots: { select: { plotId: true, areaM2: true } },
      },
    });
    const byPlot = (sprays: readonly { plots: { plotId: string; areaM2: number }[] }[]) =>
      sprays.map((spray) => ({ ...spray, plots: spray.plots.toSorted((a, b) => a.plotId.localeCompare(b.plotId)) }));
    expect(plain.length).toBeGreaterThan(20);
    expect(byPlot(await pastSprays(lawnId, from, to))).toEqual(byPlot(plain));
  });

  test('photos of plots are found whether they are few or many', async () => {
    const all = await diary().photo.findMany({
      where: { lawnId, deletedAt: null },
      orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }],
      include: { outlines: true },
    });
    for (const plotId of [loaded.plotId, loaded.trialPlotId]) {
      const showing = all
        .filter((photo) => photo.outlines.some((outline) => outline.plotId === plotId))
        .map((photo) => photo.id);
      expect(await photosShowing([plotId])).toEqual(showing);
      expect((await listPhotos(lawnId, { plotId, limit: 1000, oldestFirst: true })).map((photo) => photo.id)).toEqual(
        showing,
      );
    }
    const [from, until] = [all[40]!.takenAt, all[160]!.takenAt];
    const shown = (photos: readonly { takenAt: Date; plotIds: readonly string[] }[]) =>
      photos.map((photo) => [photo.takenAt, photo.plotIds.toSorted()]);
    expect(shown(await plotsPhotographed(lawnId, from, until, 100))).toEqual(
      shown(await photosBetween(lawnId, from, until, 100)),
    );
    const readings = (await readingsOfPlots([loaded.plotId])).filter((reading) => reading.takenAt < until);
    expect(await lastMeasuredBefore(loaded.plotId, until)).toEqual(readings.at(-1)?.takenAt);
    for (const viewpointId of [loaded.viewpointId, null, 'none'])
      expect(await wasMeasuredFrom(viewpointId, loaded.plotId, until)).toBe(
        readings.some((reading) => reading.photo.viewpointId === viewpointId),
      );
  });

  test('a photo is taught by the last photos before it, in fours, its reference left aside', async () => {
    const all = await diary().photo.findMany({
      where: { lawnId, deletedAt: null },
      orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }],
      include: { outlines: { include: { plot: true } } },
    });
    const counts = (photo: (typeof all)[number]) =>
      photo.outlines.some((outline) => outline.accepted && outline.plot.deletedAt === null);
    let taught = 0;
    for (let at = 0; at < photoIds.length; at += 50) {
      for (const [id, stand] of await standOf(lawnId, photoIds.slice(at, at + 50))) {
        const learned = stand.source.photos?.learned;
        if (!learned || !stand.source.photos?.reference) continue;
        const here = all.filter((photo) => photo.viewpointId === stand.state.viewpointId && counts(photo));
        const reference = here.find((photo) =>
          photo.outlines.some((outline) => outline.accepted && outline.origin === 'drawn'),
        );
        const earlier = here
          .slice(
            0,
            here.findIndex((photo) => photo.takenAt > stand.state.takenAt || photo.id === id) === -1
              ? undefined
              : here.findIndex((photo) => photo.takenAt > stand.state.takenAt || photo.id === id),
          )
          .filter((photo) => photo.id !== reference?.id && photo.id !== id);
        expect(learned.map(({ photo }) => photo.id)).toEqual(
          earlier.slice(Math.max(0, Math.floor((earlier.length - 4) / 4) * 4)).map((photo) => photo.id),
        );
        taught++;
      }
    }
    expect(taught).toBeGreaterThan(100);
  });

  test('words are found wherever they stand, the newest first', async () => {
    const [photos, sprays, events] = [
      await diary().photo.findMany({
        where: { lawnId, deletedAt: null },
        include: { viewpoint: true },
        orderBy: { takenAt: 'desc' },
      }),
      await diary().spray.findMany({
        where: { lawnId, deletedAt: null },
        include: { items: { include: { product: true } }, plots: { include: { plot: true } } },
        orderBy: { startedAt: 'desc' },
      }),
      await diary().lawnEvent.findMany({
        where: { lawnId, deletedAt: null },
        include: { product: true, plots: { include: { plot: true } } },
        orderBy: { at: 'desc' },
      }),
    ];
    const has = (text: string, ...where: (string | null | undefined)[]) =>
      where.some((one) => one?.toLowerCase().includes(text.toLowerCase()));
    for (const text of ['zebra', 'ZEBRA', 'porch', 'iron', 'nowhere', 'load', 'dew']) {
      for (const [from, to] of [
        [null, null],
        [new Date('2026-05-01T00:00:00Z'), new Date('2026-08-01T00:00:00Z')],
      ] as const) {
        const within = (at: Date) => (from === null || at >= from) && (to === null || at < to);
        const options = { text, from, to, limit: 25 };
        expect((await findPhotos(lawnId, options)).map((photo) => photo.id)).toEqual(
          photos
            .filter((photo) => within(photo.takenAt) && has(text, photo.fileName, photo.note, photo.viewpoint?.name))
            .slice(0, 25)
            .map((photo) => photo.id),
        );
        expect((await findSprays(lawnId, options)).map((spray) => spray.id)).toEqual(
          sprays
            .filter(
              (spray) =>
                within(spray.startedAt) &&
                has(
                  text,
                  spray.note,
                  spray.applicator,
                  ...spray.items.map((item) => item.product.name),
                  ...spray.plots.map((covered) => covered.plot.name),
                ),
            )
            .slice(0, 25)
            .map((spray) => spray.id),
        );
        expect(await findEvents(lawnId, { ...options, kinds: [] })).toEqual(
          events
            .filter(
              (event) =>
                within(event.at) &&
                has(
                  text,
                  event.subject,
                  event.note,
                  event.detail,
                  event.product?.name,
                  ...event.plots.map((covered) => covered.plot.name),
                ),
            )
            .slice(0, 25)
            .map((event) => event.id),
        );
      }
    }
  });

  test('a calendar holds what happened, and ends where the diary does', async () => {
    const [from, to] = [new Date('2026-03-01T00:00:00Z'), new Date('2026-09-01T00:00:00Z')];
    const span = { gte: from, lt: to };
    const where = { lawnId, deletedAt: null };
    const photos = await diary().photo.findMany({
      where: { ...where, takenAt: span },
      orderBy: { takenAt: 'asc' },
      include: { marks: true },
    });
    expect(await calendarEvents(lawnId, from, to)).toEqual({
      sprays: await diary().spray.findMany({
        where: { ...where, startedAt: span },
        orderBy: { startedAt: 'asc' },
        select: { startedAt: true, state: true },
      }),
      photos: photos.map(({ id, takenAt, marks }) => ({
        id,
        takenAt,
        marked: marks.some((mark) => mark.isNew && mark.kind !== 'other'),
      })),
      events: await diary().lawnEvent.findMany({
        where: { ...where, at: span },
        orderBy: { at: 'asc' },
        select: { at: true },
      }),
    });
    const times = [
      ...(await diary().photo.findMany({ where })).map((row) => row.takenAt.getTime()),
      ...(await diary().spray.findMany({ where })).map((row) => row.startedAt.getTime()),
      ...(await diary().lawnEvent.findMany({ where })).map((row) => row.at.getTime()),
    ];
    expect(await calendarBounds(lawnId)).toEqual({
      first: new Date(Math.min(...times)),
      last: new Date(Math.max(...times)),
    });
  });
});
