import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary } from '@/lib/diary/client';
import { applyMigrations } from '@/lib/diary/migrate';
import { stopComparer } from '@/lib/work/photos/comparer';
import { clearStopped, resumeMeasuring } from '@/lib/work/photos/resume-measuring';
import { seedLoad } from '@/lib/work/keep/seed-load';
import { turfJpeg } from '../support/pictures';

const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-resume-'));
const before = process.env['SWATHBOOK_DATA'];

beforeAll(async () => {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  await seedLoad({ photos: 3, sprays: 1, weatherYears: 0 }, await turfJpeg(), () => {});
});
afterAll(async () => {
  await stopScorers();
  await stopComparer();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(folder, { recursive: true, force: true });
});

test(
  'photos that a stop left unread are read newest first, and none waits afterwards',
  { timeout: 240_000 },
  async () => {
    await diary().photo.updateMany({ data: { measureState: 'waiting', readingsKey: null, comparisonKey: null } });
    const newestFirst = (await diary().photo.findMany({ orderBy: { takenAt: 'desc' }, select: { id: true } })).map(
      ({ id }) => id,
    );
    expect(await resumeMeasuring()).toBe(3);
    // Readings are rows made anew: the order of the rows is the order of the work.
    const made = await diary().$queryRaw<{ photoId: string }[]>`SELECT "photoId" FROM "Reading" ORDER BY rowid`;
    expect([...new Set(made.map(({ photoId }) => photoId))]).toEqual(newestFirst);
    expect(await diary().photo.count({ where: { measureState: 'waiting' } })).toBe(0);
    expect(await resumeMeasuring()).toBe(0);
  },
);

test('files that no photo owns are set aside before the doors open, the owned ones stay', async () => {
  const files = () =>
    readdirSync(path.join(folder, 'photos'), { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.jpg'))
      .sort();
  const owned = files();
  const first = path.join(folder, 'photos', path.dirname(owned[0] as string));
  writeFileSync(path.join(first, `${path.basename(first)}${'0'.repeat(62)}.jpg`), 'stray');
  expect(await clearStopped(new Date(Date.now() + 60_000))).toBe(1);
  expect(files()).toEqual(owned);
  expect(owned.length).toBe(3);
});
