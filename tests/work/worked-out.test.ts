import { afterAll, describe, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { diary } from '@/lib/diary/client';
import { setBinned } from '@/lib/diary/bin';
import { photoIdsInOrder } from '@/lib/diary/worked-out';
import { changesIn } from '@/lib/work/photos/changes';
import { stopComparer } from '@/lib/work/photos/comparer';
import { judgeMark, markAndItsPatch, marksOfPhotos } from '@/lib/work/photos/marks';
import { renewAround, renewLawn, renewUpload } from '@/lib/work/photos/worked-out';
import { standOf, isUpToDate } from '@/lib/work/photos/stand-of';
import { useFreshDiary } from '../support/diary';
import { drawnLawn, outlineBoth, upload, type DrawnShot } from '../support/drawn-diary';
import { createSpray } from '@/lib/diary/sprays';

useFreshDiary();
afterAll(async () => {
  await stopScorers();
  await stopComparer();
});

const slow = { timeout: 600_000 };
const rows = () =>
  Promise.all([
    diary().reading.findMany({ orderBy: { id: 'asc' } }),
    diary().change.findMany({ orderBy: { id: 'asc' } }),
    diary().mark.findMany({ orderBy: { id: 'asc' } }),
  ]);

describe('a mark and what a person said of it', () => {
  test(
    'measured again it keeps its name and its verdict; measured again without a change nothing is done at all',
    slow,
    async () => {
      const plots = await drawnLawn();
      const { lawn } = plots;
      await outlineBoth(await upload(lawn, { at: '2026-05-01T16:00' }), plots);
      await createSpray(
        lawn.id,
        { state: 'done', startedAt: new Date('2026-05-02T16:00:00Z') },
        [],
        [{ plotId: plots.sprayed.id, areaM2: 10 }],
      );
      const after = await upload(lawn, { at: '2026-05-04T16:00', greening: 0.85, haze: true });
      await outlineBoth(after, plots);
      const [mark] = (await marksOfPhotos(lawn.id, [after])).filter((one) => one.plotId === plots.sprayed.id);
      expect(mark?.state).toBe('open');
      await judgeMark(mark?.id as string, { state: 'confirmed', kind: 'silver' }, new Date());

      // Again, as it is.
      const before = await rows();
      expect(await outlineBoth(after, plots)).toEqual({
        ok: true,
        message: 'Nothing has changed since this photo was measured.',
      });
      expect(await rows()).toEqual(before);

      // Again, with a corner moved: everything is worked out anew, and the patch is still the one that was confirmed.
      const corner = await diary().outline.findFirstOrThrow({ where: { photoId: after, plotId: plots.sprayed.id } });
      await diary().outline.update({
        where: { id: corner.id },
        data: {
          corners: [
            [362, 92],
            [590, 90],
            [590, 410],
            [360, 410],
          ],
        },
      });
      expect(await renewLawn(lawn.id)).toBe(1);
      const again = await markAndItsPatch(mark?.id as string);
      expect(again?.mark).toMatchObject({ state: 'confirmed', kind: 'silver' });

      // Haze makes no plot greener: the headline leaves it out, the other way of counting stands beside it.
      const change = (await changesIn(lawn.id, [after])).changes.find((one) => one.plotId === plots.sprayed.id);
      expect(change?.counted).toBe('without-marks');
      expect(change?.marksLeftOut).toBeGreaterThan(0);
      expect(change?.headline?.value).not.toBe(change?.otherWay?.value);
      await judgeMark(mark?.id as string, { state: 'dismissed' }, new Date());
      const all = await marksOfPhotos(lawn.id, [after]);
      for (const other of all) await judgeMark(other.id, { state: 'dismissed' }, new Date());
      const dismissed = (await changesIn(lawn.id, [after])).changes.find((one) => one.plotId === plots.sprayed.id);
      expect(dismissed?.headline?.value).toBe(change?.otherWay?.value);
    },
  );
});

describe('order of arrival', () => {
  const shots: DrawnShot[] = [
    { at: '2026-05-01T16:00' },
    { at: '2026-05-03T16:00', greening: 0.95 },
    { at: '2026-05-06T16:00', greening: 0.88, haze: true },
  ];

  /** Everything worked out, under names that don't depend on when a row was made. */
  async function workedOut(plots: Awaited<ReturnType<typeof drawnLawn>>, order: readonly number[]) {
    const { lawn } = plots;
    const outlined = shots[0]?.at;
    for (const index of order) {
      const id = await upload(lawn, shots[index] as DrawnShot);
      const byHand = shots[index]?.at === outlined;
      if (byHand) await outlineBoth(id, plots, 'drawn');
      // No more than what hangs on it: below, nothing of the lawn is left to be done.
      await (byHand ? renewAround(id) : renewUpload(id));
    }
    const ids = await photoIdsInOrder(lawn.id);
    expect([...(await standOf(lawn.id, ids)).values()].every(isUpToDate)).toBe(true);
    expect(await renewLawn(lawn.id)).toBe(0);
    const when = new Map((await diary().photo.findMany()).map((photo) => [photo.id, photo.takenAt.toISOString()]));
    const name = (plotId: string) => (plotId === plots.check.id ? 'K' : 'A');
    const sorted = (lines: string[]) => lines.sort();
    return {
      outlines: sorted(
        (await diary().outline.findMany({ where: { photo: { lawnId: lawn.id } } })).map(
          (row) =>
            `${when.get(row.photoId)} ${name(row.plotId)} ${row.origin} ${row.accepted} ${JSON.stringify(row.corners)}`,
        ),
      ),
      readings: sorted(
        (await diary().reading.findMany({ where: { photo: { lawnId: lawn.id } } })).map(
          (row) => `${when.get(row.photoId)} ${name(row.plotId)} ${row.dgci}`,
        ),
      ),
      changes: sorted(
        (await changesIn(lawn.id, ids)).changes.map(
          (row) =>
            `${row.takenAt.toISOString()} ${row.plotName} since ${row.baselineAt.toISOString()} ${row.isBaseline} ${JSON.stringify(row.headline)}`,
        ),
      ),
      marks: sorted(
        (await marksOfPhotos(lawn.id, ids)).map(
          (row) => `${row.takenAt.toISOString()} ${row.plotName} ${row.kind} ${row.areaShare}`,
        ),
      ),
    };
  }

  test('never matters: shuffled, the same outlines, readings, changes and marks come out', slow, async () => {
    const plots = await drawnLawn();
    await createSpray(
      plots.lawn.id,
      { state: 'done', startedAt: new Date('2026-05-02T16:00:00Z') },
      [],
      [{ plotId: plots.sprayed.id, areaM2: 10 }],
    );
    const inOrder = await workedOut(plots, [0, 1, 2]);
    expect(inOrder.outlines).toHaveLength(6);
    expect(inOrder.changes.filter((line) => line.includes('since 2026-05-01'))).toHaveLength(3);
    await diary().photo.deleteMany();
    expect(await workedOut(plots, [2, 0, 1])).toEqual(inOrder);
    // The newest photo moves none before it: they aren't even looked at.
    const [first] = await photoIdsInOrder(plots.lawn.id);
    await diary().photo.update({ where: { id: first as string }, data: { readingsKey: 'another' } });
    expect(await renewUpload(await upload(plots.lawn, { at: '2026-05-08T16:00', greening: 0.9 }))).toBe(1);
    expect((await diary().photo.findUniqueOrThrow({ where: { id: first as string } })).readingsKey).toBe('another');
    expect(await renewLawn(plots.lawn.id)).toBeGreaterThan(0);
  });
});

describe('photos that come together', () => {
  test('are each read once, in the order they were taken', slow, async () => {
    const plots = await drawnLawn();
    const { lawn } = plots;
    await outlineBoth(await upload(lawn, { at: '2026-05-01T16:00' }), plots, 'drawn');
    const ids: string[] = [];
    for (const day of ['02', '03', '04']) ids.push(await upload(lawn, { at: `2026-05-${day}T16:00`, greening: 0.95 }));
    const renewed = await Promise.all(ids.map((id) => renewUpload(id)));
    // All wait for one run, which found three photos to read, no more.
    expect(Math.max(...renewed)).toBe(3);
    expect([...(await standOf(lawn.id, ids)).values()].every(isUpToDate)).toBe(true);
    expect(await renewLawn(lawn.id)).toBe(0);
  });
});

describe('what an edit leaves behind', () => {
  test(
    'a photo that arrives late, from before the spray, becomes the baseline; in the bin it is none again',
    slow,
    async () => {
      const plots = await drawnLawn();
      const { lawn } = plots;
      await outlineBoth(await upload(lawn, { at: '2026-05-01T16:00' }), plots);
      await createSpray(
        lawn.id,
        { state: 'done', startedAt: new Date('2026-05-03T08:00:00Z') },
        [],
        [{ plotId: plots.sprayed.id, areaM2: 10 }],
      );
      const after = await upload(lawn, { at: '2026-05-05T16:00', greening: 0.9 });
      await outlineBoth(after, plots);
      const baselineOf = async () =>
        (await changesIn(lawn.id, [after])).changes[0]?.baselineAt.toISOString().slice(0, 10);
      expect(await baselineOf()).toBe('2026-05-01');
      const late = await upload(lawn, { at: '2026-05-02T16:00' });
      await outlineBoth(late, plots);
      // Until it is renewed the old number isn't shown.
      expect((await changesIn(lawn.id, [after])).changes).toEqual([]);
      expect((await changesIn(lawn.id, [after])).pending).toEqual(new Set([after]));
      await renewLawn(lawn.id);
      expect(await baselineOf()).toBe('2026-05-02');
      await setBinned('photo', late, new Date());
      await renewLawn(lawn.id);
      expect(await baselineOf()).toBe('2026-05-01');
    },
  );
});
