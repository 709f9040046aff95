import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary } from '@/lib/diary/client';
import { applyMigrations } from '@/lib/diary/migrate';
import { LOCK_FILE } from '@/lib/door/folder-lock';
import { startOf } from '@/lib/door/process-life';
import { examine, type Finding } from '@/lib/work/keep/doctor';
import { checkHealth } from '@/lib/work/keep/health';
import { seedLoad } from '@/lib/work/keep/seed-load';
import { turfJpeg } from '../support/pictures';

const root = mkdtempSync(path.join(tmpdir(), 'swathbook-doctor-'));
const before = process.env['SWATHBOOK_DATA'];
let folder: string;

beforeAll(async () => {
  folder = path.join(root, 'data');
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  await seedLoad({ photos: 3, sprays: 1, weatherYears: 0 }, await turfJpeg(), () => {});
  await closeDiary();
}, 60_000);
afterAll(async () => {
  await stopScorers();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(root, { recursive: true, force: true });
});

const bad = (findings: Finding[]) =>
  findings.filter((finding) => finding.level === 'bad').map((finding) => finding.sentence);
const photoFiles = () =>
  readdirSync(path.join(folder, 'photos'), { recursive: true, encoding: 'utf8' }).filter((name) =>
    name.endsWith('.jpg'),
  );

test('a sound folder has nothing wrong, also when every photo is hashed again, and is healthy', async () => {
  expect(bad(await examine(folder, new Date(), true))).toEqual([]);
  expect(await checkHealth()).toEqual({ ok: true, database: 'ok', dataFolder: 'ok', disk: 'ok' });
  await closeDiary();
});

test('unfinished uploads are removed and whole photos without an entry set aside, by the fix alone', async () => {
  const stray = path.join(folder, 'photos', 'ab', `${'ab'.repeat(32)}.jpg`);
  const part = path.join(folder, 'photos', 'tmp', 'half.part');
  mkdirSync(path.dirname(stray), { recursive: true });
  writeFileSync(stray, 'whole');
  writeFileSync(part, 'half');
  const found = (await examine(folder, new Date(), false)).find((finding) =>
    finding.sentence.startsWith('2 file(s) on the shelf'),
  );
  expect([existsSync(stray), existsSync(part)]).toEqual([true, true]);
  await found?.fix?.apply();
  expect([
    existsSync(stray),
    existsSync(part),
    readFileSync(path.join(folder, 'strays', path.basename(stray)), 'utf8'),
  ]).toEqual([false, false, 'whole']);
  rmSync(path.join(folder, 'strays'), { recursive: true });
});

test('a photo whose bytes changed is found by the deep look, a photo that is gone by any', async () => {
  const [first, second] = photoFiles() as [string, string];
  const bytes = readFileSync(path.join(folder, 'photos', first));
  const other = readFileSync(path.join(folder, 'photos', second));
  const changed = Buffer.from(bytes);
  changed[50] = (changed[50] as number) ^ 255;
  writeFileSync(path.join(folder, 'photos', first), changed);
  rmSync(path.join(folder, 'photos', second));
  expect(bad(await examine(folder, new Date(), false))).toEqual([
    expect.stringMatching(/^1 photo\(s\) of the diary have no file/),
  ]);
  expect(bad(await examine(folder, new Date(), true))).toEqual([
    expect.stringMatching(/have no file/),
    expect.stringMatching(/^1 photo file\(s\) no longer hold the bytes/),
  ]);
  writeFileSync(path.join(folder, 'photos', first), bytes);
  writeFileSync(path.join(folder, 'photos', second), other);
});

test('a restore cut short is finished by the fix; fixes wait while a server uses the folder', async () => {
  mkdirSync(path.join(folder, 'restore-20260501T000000Z'));
  writeFileSync(
    path.join(folder, LOCK_FILE),
    JSON.stringify({ pid: process.ppid, address: 'http://here', born: null, use: 'serving', key: 'k' }),
  );
  const served = await examine(folder, new Date(), false);
  expect(served.some((finding) => finding.sentence.includes('http://here'))).toBe(true);
  expect(served.filter((finding) => finding.fix !== undefined)).toEqual([]);
  rmSync(path.join(folder, LOCK_FILE));
  await (
    await examine(folder, new Date(), false)
  )
    .find((finding) => finding.sentence.includes('restore-20260501T000000Z'))
    ?.fix?.apply();
  expect(existsSync(path.join(folder, 'restore-20260501T000000Z'))).toBe(false);
});

test('a damaged database is told, with the way back', async () => {
  const file = path.join(folder, 'diary.db');
  const sound = readFileSync(file);
  const damaged = Buffer.from(sound);
  damaged.fill(0xa5, 4096 * 3, 4096 * 6);
  writeFileSync(file, damaged);
  expect(bad(await examine(folder, new Date(), false)).join(' ')).toMatch(/npm run restore -- FILE/);
  writeFileSync(file, Buffer.from('no database'));
  expect(bad(await examine(folder, new Date(), false)).join(' ')).toMatch(/npm run restore -- FILE/);
  writeFileSync(file, sound);
  expect(bad(await examine(folder, new Date(), false))).toEqual([]);
});

test('what killed archives, prints and restores left is told and cleared; an archive that another process makes now stays', async () => {
  const hex = (text: string | null) => Buffer.from(text ?? '').toString('hex');
  const [living, dead] = [
    `making-${process.ppid}-${hex(startOf(process.ppid))}-aaaaaa`,
    `making-${process.ppid}-${hex('another start')}-bbbbbb`,
  ];
  for (const name of [living, dead, 'making-cccccc']) {
    mkdirSync(path.join(folder, 'archives', name), { recursive: true });
    writeFileSync(path.join(folder, 'archives', name, 'diary.db'), 'x'.repeat(1000));
  }
  mkdirSync(path.join(folder, 'prints', 'ab'), { recursive: true });
  for (const name of ['archives/swathbook-20260501T000000Z.zip.0-1.part', 'prints/ab/x-320.jpg.0-1.part'])
    writeFileSync(path.join(folder, name), 'half');
  const found = (await examine(folder, new Date(), false)).find((finding) =>
    finding.sentence.startsWith('A stop left unfinished things behind'),
  );
  expect(await found?.fix?.apply()).toBe('Removed 4 (0.0 MB).');
  expect(readdirSync(path.join(folder, 'archives'))).toEqual([living]);
  expect(readdirSync(path.join(folder, 'prints', 'ab'))).toEqual([]);
  rmSync(path.join(folder, 'archives'), { recursive: true });
  expect((await examine(folder, new Date(), false)).some((finding) => finding.sentence.startsWith('A stop left'))).toBe(
    false,
  );
});

test('a stray file under photos/ is told and left where it is', async () => {
  writeFileSync(path.join(folder, 'photos', 'holiday.jpg'), 'mine');
  const told = (await examine(folder, new Date(), false)).find((finding) =>
    finding.sentence.includes('photos/holiday.jpg'),
  );
  expect([told?.level, told?.fix]).toEqual(['note', undefined]);
  rmSync(path.join(folder, 'photos', 'holiday.jpg'));
});
