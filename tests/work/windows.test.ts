import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary, DiaryTrouble } from '@/lib/diary/client';
import { createBareProduct, createSprayRows } from '@/lib/diary/bulk-rows';
import { listLawns } from '@/lib/diary/lawns';
import { applyMigrations } from '@/lib/diary/migrate';
import { listPlots } from '@/lib/diary/plots';
import { listSprays, spraysBetween } from '@/lib/diary/sprays';
import { beforeAfter } from '@/lib/work/photos/before-after';
import { responseOverTime } from '@/lib/work/response/response-over-time';
import { MOST_PHOTOS, responseSpan } from '@/lib/work/response/response-span';
import { seedLoad, type LoadedDiary } from '@/lib/work/keep/seed-load';
import { turfJpeg } from '../support/pictures';

const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-windows-'));
const before = process.env['SWATHBOOK_DATA'];
const now = new Date('2026-10-02T00:00:00Z');
let loaded: LoadedDiary;
let lawnId: string;

beforeAll(async () => {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  loaded = await seedLoad({ photos: 230, sprays: 23, weatherYears: 0 }, await turfJpeg(), () => {});
  lawnId = (await listLawns())[0]?.id as string;
}, 90_000);
afterAll(async () => {
  await stopScorers();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(folder, { recursive: true, force: true });
});

test('the response pages show every measured photo once, the newest first, a hundred at a time', async () => {
  const seen: string[] = [];
  let to: Date | null = null;
  const sizes: number[] = [];
  for (let page = 0; page < 5; page++) {
    const span = await responseSpan(lawnId, { from: null, to }, now);
    const response = await responseOverTime(lawnId, span.from, span.to);
    const photos = response.plots[0]?.index.map((point) => point.photoId) ?? [];
    sizes.push(photos.length);
    seen.push(...photos);
    if (!span.more) break;
    to = new Date(span.from.getTime() - 1);
  }
  expect(sizes).toEqual([MOST_PHOTOS, MOST_PHOTOS, 30]);
  expect(new Set(seen).size).toBe(230);
});

test('a span that is asked for is shown as asked', async () => {
  const asked = { from: new Date('2026-09-01T00:00:00Z'), to: new Date('2026-09-08T00:00:00Z') };
  expect(await responseSpan(lawnId, asked, now)).toEqual({ ...asked, more: true });
});

test('before and after offers the photos around, the first and the last, and starts with these two', async () => {
  const pair = await beforeAfter(loaded.viewpointId, undefined, undefined);
  expect(pair?.photos.length).toBeLessThanOrEqual(124);
  expect([pair?.before?.id, pair?.after?.id]).toEqual([pair?.photos[0]?.id, pair?.photos.at(-1)?.id]);
  const middle = await beforeAfter(loaded.viewpointId, undefined, loaded.photoId);
  const place = middle?.photos.findIndex((photo) => photo.id === loaded.photoId) as number;
  expect(middle?.before?.id).toBe(middle?.photos[place - 1]?.id);
  expect(middle?.photos.map((photo) => photo.takenAt.getTime())).toEqual(
    middle?.photos.map((photo) => photo.takenAt.getTime()).sort((a, b) => a - b),
  );
});

test('more sprays than one query takes are all listed, each once', async () => {
  const productId = await createBareProduct('Many');
  const [plot] = await listPlots(lawnId);
  const startedAt = new Date('2020-05-01T08:00:00Z'); // all at one instant: the hardest order to page through
  await createSprayRows(
    lawnId,
    Array.from({ length: 1100 }, (_, index) => ({
      id: `manyspray${String(index).padStart(8, '0')}`,
      startedAt,
      productId,
      plotIds: [plot?.id as string],
      areaM2: 10,
    })),
  );
  // 1100 here, 23 sprays and a plan of the diary filled before.
  const listed = await listSprays(lawnId, { limit: 5000 });
  expect([listed.length, new Set(listed.map((spray) => spray.id)).size]).toEqual([1124, 1124]);
  expect((await spraysBetween(lawnId, null, null)).length).toBe(1124);
});

test('a full disk is told in one sentence and nothing is half written', async () => {
  const [{ page_count: pages }] = await diary().$queryRawUnsafe<[{ page_count: bigint }]>('PRAGMA page_count');
  await diary().$queryRawUnsafe(`PRAGMA max_page_count = ${pages}`);
  const count = () => diary().product.count();
  const was = await count();
  let written = 0;
  const fill = async (): Promise<unknown> => {
    for (;;) {
      await createBareProduct('x'.repeat(2000));
      written += 1;
      if (written > 5000) return 'the disk never filled';
    }
  };
  const trouble = await fill().catch((error: unknown) => error);
  expect(trouble).toBeInstanceOf(DiaryTrouble);
  expect((trouble as DiaryTrouble).message).toBe('The disk is full: nothing was saved. Free some space and try again.');
  expect((trouble as DiaryTrouble).digest).toBe('disk-full');
  expect(await count()).toBe(was + written);
});
