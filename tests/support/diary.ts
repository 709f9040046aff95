import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach } from 'vitest';
import { closeDiary } from '@/lib/diary/client';
import { createLawn, type Lawn, type LawnInput } from '@/lib/diary/lawns';

const root = fileURLToPath(new URL('../..', import.meta.url));

/**
 * Where SWATHBOOK_TEST_DATABASE names a PostgreSQL server (an address up to its last slash), the tests' diaries are
 * databases there, copied from one that is migrated once a file.
 */
const server = process.env['SWATHBOOK_TEST_DATABASE'];

function onServer(sql: string): void {
  const done = spawnSync('psql', ['-q', '-v', 'ON_ERROR_STOP=1', '-d', `${server}/postgres`, '-c', sql], {
    encoding: 'utf8',
  });
  if (done.status !== 0) throw new Error(`psql: expected '${sql}' to succeed, got ${done.stderr}`);
}

/**
 * Gives every test of the file a diary of its own: a fresh database in a folder that goes away afterwards. The database
 * is migrated once, in a process of its own (the migration engine keeps its file locked until its process ends), and
 * copied for each test.
 */
export function useFreshDiary(): void {
  const template = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-template-'));
  const before = process.env['SWATHBOOK_DATA'];
  let folder = '';
  const pattern = `template_${path
    .basename(template)
    .toLowerCase()
    .replaceAll(/[^a-z0-9]/g, '')}`;
  const own = pattern.replace('template_', 'diary_');
  beforeAll(() => {
    if (server !== undefined) {
      onServer(`CREATE DATABASE ${pattern}`);
      process.env['SWATHBOOK_DATABASE'] = `${server}/${pattern}`;
    }
    const migrated = spawnSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], {
      cwd: root,
      env: { ...process.env, SWATHBOOK_DATA: template },
      encoding: 'utf8',
    });
    if (migrated.status !== 0) throw new Error(`migrate ended with ${migrated.status}: ${migrated.stderr}`);
  }, 60_000);
  beforeEach(() => {
    folder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-diary-'));
    fs.cpSync(template, folder, { recursive: true });
    process.env['SWATHBOOK_DATA'] = folder;
    if (server !== undefined) {
      onServer(`CREATE DATABASE ${own} TEMPLATE ${pattern}`);
      process.env['SWATHBOOK_DATABASE'] = `${server}/${own}`;
    }
  });
  afterEach(async () => {
    await closeDiary();
    if (server !== undefined) onServer(`DROP DATABASE ${own} WITH (FORCE)`);
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    fs.rmSync(folder, { recursive: true, force: true });
  });
  afterAll(() => {
    fs.rmSync(template, { recursive: true, force: true });
    if (server === undefined) return;
    onServer(`DROP DATABASE ${pattern} WITH (FORCE)`);
    delete process.env['SWATHBOOK_DATABASE'];
  });
}

/** A lawn with nothing said but what every lawn must say. */
export function plainLawn(more: Partial<LawnInput> = {}): Promise<Lawn> {
  // prettier-ignore
  return createLawn({
    name: 'Test lawn', place: '', timeZone: 'America/Denver', unitSystem: 'us-customary', grass: '',
    waterChlorinated: false, note: '', ...more,
  });
}
