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
 * Gives every test of the file a diary of its own: a fresh database in a folder that goes away afterwards. The database is migrated
 * once, in a process of its own (the migration engine keeps its file locked until its process ends), and copied for each test.
 */
export function useFreshDiary(): void {
  const template = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-template-'));
  const before = process.env['SWATHBOOK_DATA'];
  let folder = '';
  beforeAll(() => {
    const migrated = spawnSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], { cwd: root, env: { ...process.env, SWATHBOOK_DATA: template }, encoding: 'utf8' });
    if (migrated.status !== 0) throw new Error(`migrate ended with ${migrated.status}: ${migrated.stderr}`);
  }, 60_000);
  beforeEach(() => {
    folder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-diary-'));
    fs.cpSync(template, folder, { recursive: true });
    process.env['SWATHBOOK_DATA'] = folder;
  });
  afterEach(async () => {
    await closeDiary();
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    fs.rmSync(folder, { recursive: true, force: true });
  });
  afterAll(() => fs.rmSync(template, { recursive: true, force: true }));
}

/** A lawn with nothing said but what every lawn must say. */
export function plainLawn(more: Partial<LawnInput> = {}): Promise<Lawn> {
  return createLawn({
    name: 'Test lawn', place: '', latitudeDeg: null, longitudeDeg: null, elevationM: null, timeZone: 'America/Denver', unitSystem: 'us-customary', grass: '',
    mowingHeightMm: null, mowingHeightEnteredValue: null, mowingHeightEnteredUnit: null, waterPh: null, waterAlkalinityMgPerLCaCO3: null,
    waterHardnessMgPerLCaCO3: null, waterChlorinated: false, note: '', ...more,
  });
}
