import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { inspectDatabase } from '../../archive/database';
import { leftBehind } from '../../archive/left-overs';
import { readArchive } from '../../archive/read';
import { benchJpeg } from '../../darkroom/bench-photo';
import { stopScorers } from '../../darkroom/scorer';
import { closeDiary } from '../../diary/client';
import { applyMigrations, knownMigrations } from '../../diary/migrate';
import { holderOf } from '../../door/folder-lock';
import { isRunning } from '../../door/process-life';
import { parseArchiveManifest } from '../../forms/archive-manifest';
import type { Random } from '../../stats/random';
import { keepArchive, photoEntryName } from '../../work/keep/keep-archive';
import { seedLoad } from '../../work/keep/seed-load';
import type { Prove } from './fault-proofs';

const environment = (folder: string) => ({ ...process.env, SWATHBOOK_DATA: folder });

/**
 * Runs a command of ours and kills it, and all it started, after a while; null lets it end.
 * @returns its end in words
 */
function runAndKill(folder: string, args: readonly string[], afterMs: number): Promise<string> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, ['lib/commands/run.mjs', ...args], {
      detached: true,
      stdio: 'ignore',
      env: environment(folder),
    });
    const timer = setTimeout(() => process.kill(-(child.pid as number), 'SIGKILL'), afterMs);
    child.once('exit', (code, signal) => {
      clearTimeout(timer);
      resolve(signal === null ? `through with ${code}` : 'killed');
    });
  });
}

/** What `npm start` does before it serves: it must always get through, whatever lies there. */
function startAgain(folder: string): { status: number | null; words: string } {
  const migrated = spawnSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], {
    encoding: 'utf8',
    env: environment(folder),
  });
  if (migrated.status !== 0) return { status: migrated.status, words: migrated.stderr };
  const mended = spawnSync(process.execPath, ['lib/commands/run.mjs', 'doctor', '--fix'], {
    encoding: 'utf8',
    env: environment(folder),
  });
  return { status: mended.status, words: `${mended.stdout}${mended.stderr}` };
}

async function proveWhole(folder: string, when: string, prove: Prove): Promise<readonly string[]> {
  const facts = await inspectDatabase(path.join(folder, 'diary.db'), { rows: true });
  prove(
    `${when}: the database is sound and through all migrations`,
    facts.integrity.length === 0 &&
      facts.foreignKeys === 0 &&
      facts.wrongValues.length === 0 &&
      facts.migrations.length === knownMigrations().length,
    facts.integrity[0],
  );
  for (const photo of facts.photos) {
    const file = path.join(folder, photoEntryName(photo.sha256, photo.kind) ?? '?');
    prove(
      `${when}: ${photo.sha256.slice(0, 12)} has its file with the right bytes`,
      existsSync(file) && createHash('sha256').update(readFileSync(file)).digest('hex') === photo.sha256,
    );
  }
  prove(`${when}: nobody holds the folder`, holderOf(folder) === null);
  prove(
    `${when}: nothing unfinished is left`,
    (await leftBehind(folder, isRunning)).length === 0,
    (await leftBehind(folder, isRunning)).join(', '),
  );
  return facts.photos.map((photo) => photo.sha256);
}

async function fill(folder: string, photos: number): Promise<void> {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const jpeg = await benchJpeg({
    width: 400,
    height: 300,
    channels: 3,
    space: 'srgb',
    data: new Uint8Array(400 * 300 * 3).map((_, at) => 60 + ((at * 37 + photos) % 90)),
  });
  await seedLoad({ photos, sprays: 2, weatherYears: 0 }, Buffer.from(jpeg), () => {});
  await stopScorers();
  await closeDiary();
}

/**
 * Kills first starts, archives and restores in turn; after each the next start must find all of one diary, old or new,
 * and clear the rest.
 */
export async function killWork(kills: number, random: Random, prove: Prove): Promise<void> {
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-work-'));
  const before = process.env['SWATHBOOK_DATA'];
  const [old, other] = [path.join(root, 'old'), path.join(root, 'other')];
  const tally = new Map<string, { killed: number; through: number }>();
  try {
    await fill(old, 20);
    await fill(other, 30);
    process.env['SWATHBOOK_DATA'] = other;
    const archive = await keepArchive({ now: new Date(), target: path.join(root, 'other.zip') });
    const [oldPhotos, otherPhotos] = [await proveWhole(old, 'before', prove), await proveWhole(other, 'before', prove)];
    for (let round = 1; round <= kills; round++) {
      const kind = (['first start', 'archive', 'restore'] as const)[round % 3] as 'first start' | 'archive' | 'restore';
      const folder = path.join(root, `round-${round}`);
      if (kind !== 'first start') cpSync(old, folder, { recursive: true });
      // A command takes a while to load; kills fall between its first step and its last.
      const afterMs = 120 + random.below(kind === 'first start' ? 1400 : 2800);
      const args = { 'first start': ['migrate'], archive: ['archive'], restore: ['restore', archive.path] }[kind];
      const end = await runAndKill(folder, args, afterMs);
      const counted = tally.get(kind) ?? { killed: 0, through: 0 };
      tally.set(kind, {
        killed: counted.killed + (end === 'killed' ? 1 : 0),
        through: counted.through + (end === 'killed' ? 0 : 1),
      });
      const when = `${kind} ${end} after ${afterMs} ms`;
      const again = startAgain(folder);
      prove(`${when}: the next start gets through`, again.status === 0, again.words.slice(-400));
      const photos = await proveWhole(folder, when, prove);
      if (kind === 'first start') prove(`${when}: the diary is empty`, photos.length === 0);
      if (kind === 'archive') prove(`${when}: the diary is as it was`, photos.join() === oldPhotos.join());
      if (kind === 'restore')
        prove(
          `${when}: it is all of the old diary or all of the other`,
          photos.join() === oldPhotos.join() || photos.join() === otherPhotos.join(),
          `${photos.length} photos`,
        );
      for (const name of existsSync(path.join(folder, 'archives')) ? readdirSync(path.join(folder, 'archives')) : []) {
        const kept = await readArchive({
          file: path.join(folder, 'archives', name),
          into: null,
          parseManifest: parseArchiveManifest,
        }).then(
          (manifest) => manifest.entries.length,
          () => 0,
        );
        prove(`${when}: the archive ${name} is whole`, kept === oldPhotos.length + 1);
      }
      rmSync(folder, { recursive: true, force: true });
    }
    for (const [kind, { killed, through }] of tally)
      console.log(
        `${kind}: killed ${killed} times${through > 0 ? `, ${through} times through before the kill` : ''}; each next start found one whole diary and left nothing unfinished.`,
      );
  } finally {
    await closeDiary();
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    rmSync(root, { recursive: true, force: true });
  }
}
