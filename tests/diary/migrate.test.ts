import { spawn, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inspectDatabase } from '@/lib/archive/database';
import { knownMigrations } from '@/lib/diary/migrate';

const root = mkdtempSync(path.join(tmpdir(), 'swathbook-migrate-'));
const command = ['lib/commands/run.mjs', 'migrate'];
const env = (folder: string) => ({ ...process.env, SWATHBOOK_DATA: folder });
const migrate = (folder: string) => spawnSync(process.execPath, command, { encoding: 'utf8', env: env(folder) });
const sqlite = (file: string, sql: string) =>
  spawnSync(
    process.execPath,
    [
      '-e',
      `const db = new (require('better-sqlite3'))(${JSON.stringify(file)}); db.exec(${JSON.stringify(sql)}); db.close();`,
    ],
    { encoding: 'utf8' },
  );
let whole: string;

beforeAll(() => {
  whole = path.join(root, 'whole');
  const first = migrate(whole);
  if (first.status !== 0) throw new Error(first.stderr);
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

/** Kills the command at a moment; @returns whether it was killed before its end */
function killAfter(folder: string, ms: number): Promise<boolean> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, command, { stdio: 'ignore', env: env(folder) });
    const timer = setTimeout(() => child.kill('SIGKILL'), ms);
    child.once('exit', (code) => {
      clearTimeout(timer);
      resolve(code === null);
    });
  });
}

test('killed at any moment, a first start leaves nothing that stops the next one', { timeout: 240_000 }, async () => {
  const started = Date.now();
  migrate(path.join(root, 'timed'));
  const wholeMs = Date.now() - started;
  let killed = 0;
  for (let share = 0.3; share < 1.05; share += 0.15) {
    const folder = path.join(root, `killed-${share.toFixed(2)}`);
    if (await killAfter(folder, share * wholeMs)) killed += 1;
    // The file is there whole or not at all.
    const through = existsSync(path.join(folder, 'diary.db'))
      ? (await inspectDatabase(path.join(folder, 'diary.db'))).migrations
      : knownMigrations();
    expect(through).toEqual(knownMigrations());
    const again = migrate(folder);
    expect([again.status, again.stderr]).toEqual([0, '']);
    expect((await inspectDatabase(path.join(folder, 'diary.db'))).migrations).toEqual(knownMigrations());
    expect(readdirSync(folder).filter((name) => name.includes('migrating'))).toEqual([]);
  }
  expect(killed).toBeGreaterThan(0);
});

test('a database up to date is left alone, to the byte', () => {
  const before = readFileSync(path.join(whole, 'diary.db'));
  expect(migrate(whole).stdout).toBe('The database is up to date.\n');
  expect(readFileSync(path.join(whole, 'diary.db')).equals(before)).toBe(true);
});

test('what an earlier version left of a killed first start is begun anew; of a killed later migration it is told in one sentence', () => {
  const cut = path.join(root, 'cut');
  mkdirSync(cut);
  cpSync(path.join(whole, 'diary.db'), path.join(cut, 'diary.db'));
  const file = path.join(cut, 'diary.db');
  expect(
    sqlite(
      file,
      'DELETE FROM _prisma_migrations WHERE migration_name <> (SELECT min(migration_name) FROM _prisma_migrations); UPDATE _prisma_migrations SET finished_at = NULL; DROP TABLE "Mark"',
    ).stderr,
  ).toBe('');
  const again = migrate(cut);
  expect([again.status, again.stderr]).toEqual([0, '']);
  expect(
    sqlite(
      file,
      `UPDATE _prisma_migrations SET finished_at = NULL WHERE migration_name = '${knownMigrations().at(-1)}'`,
    ).stderr,
  ).toBe('');
  const stopped = migrate(cut);
  expect(stopped.status).toBe(1);
  expect(stopped.stderr).toMatch(
    /^swathbook: expected a database whose migrations ran through, got one that an earlier version was stopped on in '\w+': restore an archive\n$/,
  );
});

test('a copy that a stop left behind is cleared away', () => {
  const folder = path.join(root, 'left');
  cpSync(whole, folder, { recursive: true });
  writeFileSync(path.join(folder, 'diary.db.migrating'), 'half');
  expect(migrate(folder).status).toBe(0);
  expect(existsSync(path.join(folder, 'diary.db.migrating'))).toBe(false);
});

test('the migrations of both databases lead to the schema, partial indexes too: there is nothing to draft', () => {
  const drafted = spawnSync(process.execPath, [...command, 'draft', 'nothing_is_missing'], {
    encoding: 'utf8',
    env: env(path.join(root, 'draft')),
  });
  const written = ['prisma/migrations', 'prisma/postgresql/migrations'].flatMap((parent) =>
    readdirSync(parent)
      .filter((name) => name.endsWith('nothing_is_missing'))
      .map((name) => path.join(parent, name)),
  );
  for (const folder of written) rmSync(folder, { recursive: true });
  expect(drafted.stderr).toBe('');
  expect(drafted.stdout.match(/already lead to the schema/g)).toHaveLength(2);
});
