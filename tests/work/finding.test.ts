import { describe, expect, test } from 'vitest';
import { listBinned, setBinned } from '@/lib/diary/bin';
import { diary } from '@/lib/diary/client';
import { listOutlines, replaceOutlines } from '@/lib/diary/outlines';
import { findProduct } from '@/lib/diary/products';
import { removeLawn } from '@/lib/diary/remove-lawn';
import { listSprays } from '@/lib/diary/sprays';
import { calendarMonths, monthAfter } from '@/lib/work/diary/calendar-months';
import { judgeMark } from '@/lib/work/photos/marks';
import { standAsRead } from '../support/stand';
import { findInDiary } from '@/lib/work/diary/find';
import { useFreshDiary } from '../support/diary';
import { testLawn, testSpray } from '../support/test-lawn';

useFreshDiary();

const everything = { q: '', in: 'all', from: null, to: null, kind: null, state: null } as const;

/** A photo's row without a file: for what only reads rows. */
function photoRow(lawnId: string, takenAt: string, sha: string, more: object = {}) {
  return diary().photo.create({
    data: {
      lawnId,
      sha256: sha.repeat(64),
      kind: 'jpeg',
      fileName: `${sha}.jpg`,
      bytes: 1,
      widthPx: 4,
      heightPx: 3,
      takenAt: new Date(takenAt),
      takenAtOffsetMin: 0,
      takenAtBasis: 'typed',
      ...more,
    },
  });
}

describe('finding', () => {
  test('words are found whatever their case, and days are the lawn’s own', async () => {
    const lawn = await testLawn();
    await testSpray(lawn, '2026-05-20T23:30', { note: 'North edge looked DRY' });
    await testSpray(lawn, '2026-05-21T08:00', { note: 'calm' });
    expect(
      (await findInDiary(lawn, { ...everything, q: 'edge looked dry' })).sprays.map((spray) => spray.note),
    ).toEqual(['North edge looked DRY']);
    // 23:30 in New York is the next day in UTC; it belongs to the 20th all the same.
    const ofDay = await findInDiary(lawn, { ...everything, in: 'sprays', from: '2026-05-20', to: '2026-05-20' });
    expect(ofDay.sprays.map((spray) => spray.note)).toEqual(['North edge looked DRY']);
  });

  test('a mark is found by what a person called it, not by what the search had found', async () => {
    const lawn = await testLawn();
    await testSpray(lawn, '2026-05-20T08:00');
    const plot = await diary().plot.findFirstOrThrow();
    const photo = await photoRow(lawn.id, '2026-05-22T12:00:00Z', 'a');
    const mark = await diary().mark.create({
      data: {
        photoId: photo.id,
        plotId: plot.id,
        threadId: 't',
        kind: 'silver',
        score: 9,
        polygon: [],
        areaShare: 0.1,
      },
    });
    await judgeMark(mark.id, { state: 'confirmed', kind: 'burn' }, new Date());
    await standAsRead(lawn.id);
    const marks = async (kind: 'silver' | 'burn') =>
      (await findInDiary(lawn, { ...everything, in: 'marks', kind })).marks.length;
    expect(await marks('burn')).toBe(1);
    expect(await marks('silver')).toBe(0);
  });

  test('no more than asked for is listed, and that there is more is said', async () => {
    const lawn = await testLawn();
    for (const day of ['20', '21', '22']) await testSpray(lawn, `2026-05-${day}T08:00`);
    const found = await findInDiary(lawn, everything, 2);
    expect(found.sprays).toHaveLength(2);
    expect(found.more).toBe(true);
    expect((await findInDiary(lawn, everything, 3)).more).toBe(false);
  });
});

describe('the calendar', () => {
  test('puts events on the lawn’s own days and marks where they are new', async () => {
    const lawn = await testLawn();
    await testSpray(lawn, '2026-05-31T23:30');
    await photoRow(lawn.id, '2026-06-01T02:00:00Z', 'b'); // 22:00 on 31 May in New York
    const shown = await calendarMonths(lawn, '2026-06', 2);
    const may = shown?.months[1];
    expect(may?.month).toBe('2026-05');
    expect(may?.startsOn).toBe(5); // 1 May 2026 is a Friday
    expect(may?.days).toHaveLength(31);
    expect(may?.days.at(-1)).toMatchObject({
      date: '2026-05-31',
      sprays: 1,
      photos: 1,
      marks: 0,
      endsAt: new Date('2026-06-01T04:00:00Z'),
    });
    expect(shown?.months[0]?.days.every((day) => day.sprays + day.photos === 0)).toBe(true);
  });

  test('months are counted over the turn of a year', () => {
    expect(monthAfter('2026-01', -1)).toBe('2025-12');
    expect(monthAfter('2025-12', 1)).toBe('2026-01');
    expect(monthAfter('2026-03', -27)).toBe('2023-12');
  });
});

describe('the bin', () => {
  test('a binned spray is in the bin and nowhere else, and comes back whole', async () => {
    const lawn = await testLawn();
    const id = await testSpray(lawn, '2026-05-20T08:00');
    await setBinned('spray', id, new Date('2026-05-21T00:00:00Z'));
    expect((await listBinned(lawn.id)).map((entry) => [entry.kind, entry.id])).toEqual([['spray', id]]);
    expect(await listSprays(lawn.id, { limit: 10 })).toEqual([]);
    expect((await findInDiary(lawn, everything)).sprays).toEqual([]);
    expect(await setBinned('spray', id, null)).toBe(true);
    expect((await listSprays(lawn.id, { limit: 10 }))[0]?.plots).toHaveLength(1);
    expect(await listBinned(lawn.id)).toEqual([]);
  });

  test('a plot in the bin keeps its outline while the photo is outlined anew without it', async () => {
    const lawn = await testLawn();
    const plot = (name: string) => diary().plot.create({ data: { lawnId: lawn.id, name, areaM2: 10 } });
    const [a, b, c] = [await plot('A'), await plot('B'), await plot('C')];
    const photo = await photoRow(lawn.id, '2026-05-22T12:00:00Z', 'd');
    const corners: [number, number][] = [
      [0, 0],
      [1, 0],
      [1, 1],
    ];
    const outline = (plotId: string) => ({ plotId, corners, origin: 'drawn' as const, accepted: true });
    await replaceOutlines(photo.id, [outline(a.id), outline(b.id), outline(c.id)]);
    await setBinned('plot', b.id, new Date());
    await replaceOutlines(photo.id, [outline(a.id)]);
    expect((await listOutlines(photo.id)).map((one) => one.plotId)).toEqual([a.id]);
    await setBinned('plot', b.id, null);
    expect(new Set((await listOutlines(photo.id)).map((one) => one.plotId))).toEqual(new Set([a.id, b.id]));
  });

  test('a lawn that is removed takes its rows along, and of its products only those nothing else uses', async () => {
    const [demo, own] = [await testLawn({ name: 'Demo' }), await testLawn({ name: 'Own' })];
    const product = (name: string) => diary().product.create({ data: { name, form: 'dry' } });
    const [shared, alone] = [await product('Shared'), await product('Alone')];
    const item = (productId: string) => ({ productId, rate: { value: 1, unit: 'kg/ha' as const } });
    await testSpray(demo, '2026-05-20T08:00', { items: [item(shared.id), item(alone.id)] });
    await testSpray(own, '2026-05-20T08:00', { items: [item(shared.id)] });
    const photo = await photoRow(demo.id, '2026-05-22T12:00:00Z', 'c');
    expect(await removeLawn(demo.id, [shared.id, alone.id])).toEqual([{ sha256: photo.sha256, kind: 'jpeg' }]);
    expect(await findProduct(shared.id)).not.toBeNull();
    expect(await findProduct(alone.id)).toBeNull();
    expect(await diary().spray.count()).toBe(1);
    expect(await diary().photo.count()).toBe(0);
  });
});
