import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, expect, test } from 'vitest';
import { photoPath } from '@/lib/darkroom/shelf';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary } from '@/lib/diary/client';
import { stopComparer } from '@/lib/work/photos/comparer';
import { keepArchive } from '@/lib/work/keep/keep-archive';
import { keepMarks } from '@/lib/work/photos/keep-marks';
import { marksOfPhotos } from '@/lib/work/photos/marks';
import { restoreArchive } from '@/lib/work/keep/restore-archive';
import { photoStates } from '@/lib/diary/worked-out';
import { turfJpeg } from '../support/pictures';

const root = mkdtempSync(path.join(tmpdir(), 'swathbook-before-'));
const before = process.env['SWATHBOOK_DATA'];
afterAll(async () => {
  await stopScorers();
  await stopComparer();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(root, { recursive: true, force: true });
});

/** The last migration of the version whose marks held their verdicts themselves. */
const LAST = '20261125100939_chart_edition';

/** A diary as that version left it: its own migrations, rows as it wrote them. */
async function diaryOfTheVersionBefore(folder: string): Promise<void> {
  mkdirSync(folder, { recursive: true });
  const database = new Database(path.join(folder, 'diary.db'));
  database.exec(
    `CREATE TABLE "_prisma_migrations" ("id" TEXT PRIMARY KEY NOT NULL, "checksum" TEXT NOT NULL, "finished_at" DATETIME, "migration_name" TEXT NOT NULL, "logs" TEXT, "rolled_back_at" DATETIME, "started_at" DATETIME NOT NULL DEFAULT current_timestamp, "applied_steps_count" INTEGER UNSIGNED NOT NULL DEFAULT 0)`,
  );
  for (const name of readdirSync('prisma/migrations')
    .filter((entry) => /^\d/.test(entry) && entry <= LAST)
    .sort()) {
    const sql = readFileSync(path.join('prisma/migrations', name, 'migration.sql'), 'utf8');
    database.exec(sql);
    database
      .prepare(
        'INSERT INTO "_prisma_migrations" ("id", "checksum", "finished_at", "migration_name", "applied_steps_count") VALUES (?, ?, ?, ?, 1)',
      )
      .run(name, createHash('sha256').update(sql).digest('hex'), Date.now(), name);
  }
  const jpeg = await turfJpeg();
  const insert = (table: string, row: Record<string, unknown>) =>
    database
      .prepare(
        `INSERT INTO "${table}" (${Object.keys(row)
          .map((key) => `"${key}"`)
          .join(', ')}) VALUES (${Object.keys(row)
          .map(() => '?')
          .join(', ')})`,
      )
      .run(...Object.values(row));
  insert('Lawn', { id: 'lawn00000', name: 'Old lawn', timeZone: 'UTC' });
  insert('Plot', { id: 'plot00000', lawnId: 'lawn00000', name: 'A', areaM2: 10 });
  insert('Viewpoint', { id: 'view00000', lawnId: 'lawn00000', name: 'step' });
  const photos = ['2026-05-01', '2026-05-04', '2026-05-07'];
  photos.forEach((day, i) => {
    const bytes = Buffer.concat([jpeg, Buffer.from([i])]);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    const file = photoPath(folder, sha256, 'jpeg');
    mkdirSync(path.dirname(file), { recursive: true });
    writeFileSync(file, bytes);
    insert('Photo', {
      id: `photo000${i}`,
      lawnId: 'lawn00000',
      viewpointId: 'view00000',
      sha256,
      kind: 'jpeg',
      fileName: `${day}.jpg`,
      bytes: bytes.length,
      widthPx: 400,
      heightPx: 300,
      takenAt: `${day}T16:00:00.000+00:00`,
      takenAtOffsetMin: 0,
      takenAtBasis: 'typed',
      measureState: 'measured',
    });
    insert('Outline', {
      id: `line0000${i}`,
      photoId: `photo000${i}`,
      plotId: 'plot00000',
      corners: JSON.stringify([
        [50, 50],
        [350, 50],
        [350, 250],
        [50, 250],
      ]),
      origin: 'drawn',
      updatedAt: `${day}T16:00:00.000+00:00`,
    });
  });
  const mark = (
    id: string,
    photo: number,
    threadId: string,
    more: Record<string, unknown>,
    [x, y]: readonly [number, number],
  ) =>
    insert('Mark', {
      id,
      photoId: `photo000${photo}`,
      plotId: 'plot00000',
      threadId,
      kind: 'silver',
      score: 1,
      polygon: JSON.stringify([
        [x - 10, y - 10],
        [x + 10, y - 10],
        [x + 10, y + 10],
        [x - 10, y + 10],
      ]),
      areaShare: 0.02,
      ...more,
    });
  // One patch in two photos, confirmed in the later one; one dismissed; one nobody spoke of.
  mark('markcomes', 1, 'photo0001-0', {}, [120, 100]);
  mark('markstays', 2, 'photo0001-0', { state: 'confirmed', kindByPerson: 'burn', note: 'by the gate' }, [122, 102]);
  mark('marknothg', 2, 'photo0002-1', { state: 'dismissed' }, [290, 210]);
  mark('markopen0', 2, 'photo0002-2', {}, [200, 60]);
  database.close();
}

test(
  'an archive of the version before restores with what was said of its marks, and keeps it when they are found anew',
  { timeout: 120_000 },
  async () => {
    const [old, fresh] = [path.join(root, 'old'), path.join(root, 'fresh')];
    await diaryOfTheVersionBefore(old);
    process.env['SWATHBOOK_DATA'] = old;
    const { path: archive } = await keepArchive({ now: new Date('2026-06-01T00:00:00Z') });
    const { migrated } = await restoreArchive(archive, fresh, new Date('2026-06-02T00:00:00Z'));
    expect(migrated).toContain('20261126152500_written_and_worked_out');

    await closeDiary();
    process.env['SWATHBOOK_DATA'] = fresh;
    const said = async () =>
      (await marksOfPhotos('lawn00000', ['photo0001', 'photo0002']))
        .map(({ id, kind, state, note }) => ({ id, kind, state, note }))
        .sort((a, b) => a.id.localeCompare(b.id));
    const wanted = [
      { id: 'markcomes', kind: 'burn', state: 'confirmed', note: 'by the gate' },
      { id: 'marknothg', kind: 'silver', state: 'dismissed', note: '' },
      { id: 'markopen0', kind: 'silver', state: 'open', note: '' },
      { id: 'markstays', kind: 'burn', state: 'confirmed', note: 'by the gate' },
    ];
    expect(await said()).toEqual(wanted);

    // Found anew, a little elsewhere: the same rows, the same verdicts.
    for (const [photoId, places] of [
      ['photo0001', [[121, 101]]],
      [
        'photo0002',
        [
          [123, 101],
          [291, 209],
          [201, 61],
        ],
      ],
    ] as const) {
      const [state] = await photoStates([photoId]);
      await keepMarks(
        state!,
        places.map(([x, y]) => ({
          kind: 'silver',
          strip: 'plot00000',
          photo: 'after',
          new: true,
          score: 2,
          polygon: [
            [x - 9, y - 9],
            [x + 9, y - 9],
            [x + 9, y + 9],
            [x - 9, y + 9],
          ],
          centroid: [x, y],
          areaShareStrip: 0.03,
          areaM2: null,
          deltaE00: 5,
        })),
      );
    }
    expect(await said()).toEqual(wanted);
    expect(await diary().mark.count({ where: { score: 2 } })).toBe(4);
  },
);
