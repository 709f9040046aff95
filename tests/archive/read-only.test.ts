import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { closeDiary } from '@/lib/diary/client';
import { stopScorers } from '@/lib/darkroom/scorer';
import { applyMigrations } from '@/lib/diary/migrate';
import { keepArchive } from '@/lib/work/keep/keep-archive';
import { seedLoad } from '@/lib/work/keep/seed-load';
import { turfJpeg } from '../support/pictures';

const root = mkdtempSync(path.join(tmpdir(), 'swathbook-read-only-'));
const before = process.env['SWATHBOOK_DATA'];
const [source, locked, open] = ['source', 'locked', 'open'].map((name) => path.join(root, name)) as [
  string,
  string,
  string,
];
const archive = path.join(root, 'kept.zip');
/** Root may write anywhere: there the commands run as somebody who may not. */
const nobody = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};

/** @returns exit code and what was said on the error stream */
function run(folder: string, ...args: string[]): [number | null, string] {
  const done = spawnSync(process.execPath, ['lib/commands/run.mjs', ...args], {
    encoding: 'utf8',
    env: { ...process.env, SWATHBOOK_DATA: folder },
    ...nobody,
  });
  return [done.status, done.stderr];
}

function setMode(folder: string, mode: number): void {
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true }))
    chmodSync(path.join(entry.parentPath, entry.name), entry.isDirectory() ? mode : mode & 0o666);
  chmodSync(folder, mode);
}

beforeAll(async () => {
  process.env['SWATHBOOK_DATA'] = source;
  await applyMigrations(path.join(source, 'diary.db'));
  await seedLoad({ photos: 2, sprays: 1, weatherYears: 0 }, await turfJpeg(), () => {});
  await keepArchive({ now: new Date(), target: archive });
  await closeDiary();
  await stopScorers();
  run(source, 'doctor'); // compiled by whoever may write there
  chmodSync(root, 0o755);
  chmodSync(archive, 0o644);
  cpSync(source, locked, { recursive: true });
  cpSync(source, open, { recursive: true });
  setMode(open, 0o777);
  setMode(locked, 0o555);
});
afterAll(() => {
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  setMode(locked, 0o755);
  rmSync(root, { recursive: true, force: true });
});

const files = () => readdirSync(locked, { recursive: true, encoding: 'utf8' }).toSorted();

test('archive and restore say in one sentence that the data folder can’t be written to, and change nothing in it', () => {
  const there = files();
  const sentence = new RegExp(
    `^\\w+: Expected a data folder that can be written to, got ${locked}, which can't \\(E\\w+\\)\\.\\n$`,
  );
  for (const args of [['archive'], ['archive', '--out', path.join(open, 'elsewhere.zip')], ['restore', archive]])
    expect(run(locked, ...args)).toEqual([1, expect.stringMatching(sentence)]);
  expect(files()).toEqual(there);
  expect(existsSync(path.join(open, 'elsewhere.zip'))).toBe(false);
});

test('a place for the archive that can’t be written to is told in one sentence', () => {
  const there = files();
  expect(run(open, 'archive', '--out', path.join(locked, 'kept.zip'))).toEqual([
    1,
    'archive: Expected a folder that can be written to, got one that can’t: nothing was changed.\n',
  ]);
  expect(files()).toEqual(there);
});
