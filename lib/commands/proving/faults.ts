import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { inspectDatabase } from '../../archive/database';
import { orphansIn, STRAYS } from '../../darkroom/shelf';
import { closeDiary } from '../../diary/client';
import { applyMigrations } from '../../diary/migrate';
import { findPhoto } from '../../diary/photos';
import { findSpray } from '../../diary/sprays';
import { wholeArgument } from '../../forms/command-line';
import { seededRandom, type Random } from '../../stats/random';
import { photoEntryName } from '../../work/keep/keep-archive';
import { freePort } from './free-port';
import { changes, drawJpeg, visit, type Acknowledged, type VisitedLawn } from './fault-visitors';
import { killMachines } from './kill-machines';
import { killWork } from './kill-work';
import { layVisitedLawn } from './lay-ground';

/**
 * npm run faults [-- --kills N] [--seed N] [--skip-disk] [--engine postgres]: kills (SIGKILL, no warning) at seeded
 * random moments: half of the times the server, the others a first start, the making of an archive and a restore in
 * turn. Under the server's kills photos are uploaded, sprays logged, and both changed; then proves that every write it
 * had answered is there, that no row lacks its file and no file its row once cleaned up, that the database is sound,
 * and that the work is taken up again. As root it also fills a small disk and makes one read-only. With --engine
 * postgres it is workers, the serving process and a PostgreSQL server of its own that are killed (kill-machines.ts). It
 * drives the built pages: run `npm run build` first.
 */

interface Server {
  readonly url: string;
  readonly process: ChildProcess;
}

const failures: string[] = [];
function prove(fact: string, holds: boolean, but = ''): void {
  if (!holds) failures.push(`${fact}${but ? `: ${but}` : ''}`);
}

/**
 * Starts the server as `npm start` does after its set-up, in a group of its own so that all of it can be killed at
 * once.
 */
async function startServer(folder: string): Promise<Server> {
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/run.mjs', 'serve'], {
    detached: true,
    stdio: ['ignore', 'ignore', 'pipe'],
    env: { ...process.env, SWATHBOOK_DATA: folder, HOST: '127.0.0.1', PORT: String(port), SWATHBOOK_LOG: 'error' },
  });
  let words = '';
  child.stderr?.on('data', (chunk: Buffer) => (words += chunk.toString()));
  const url = `http://127.0.0.1:${port}`;
  for (const until = Date.now() + 120_000; Date.now() < until;) {
    if (child.exitCode !== null) throw new Error(`the server ended with ${child.exitCode}: ${words.slice(-2000)}`);
    const answer = await fetch(`${url}/api/health`).catch(() => null);
    if (answer !== null) return { url, process: child };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error('the server gave no answer within two minutes');
}

async function endOf(child: ChildProcess): Promise<number | null> {
  if (child.exitCode !== null || child.signalCode !== null) return child.exitCode;
  return new Promise((resolve) => child.once('exit', (code) => resolve(code)));
}

async function kill(server: Server): Promise<void> {
  process.kill(-(server.process.pid as number), 'SIGKILL');
  await endOf(server.process);
}

async function prepareDiary(folder: string): Promise<VisitedLawn> {
  await applyMigrations(path.join(folder, 'diary.db'));
  const ground = await layVisitedLawn('Faults');
  await closeDiary();
  return ground;
}

/** What must hold after any kill, before anything is cleaned up. */
async function proveKept(folder: string, known: Acknowledged, when: string): Promise<void> {
  const facts = await inspectDatabase(path.join(folder, 'diary.db'));
  prove(`${when}: the database is sound`, facts.integrity.length === 0 && facts.foreignKeys === 0, facts.integrity[0]);
  const rows = new Map(facts.photos.map((photo) => [photo.sha256, photo]));
  for (const [id, sha256] of known.photos) prove(`${when}: answered photo ${id} has its row`, rows.has(sha256));
  for (const photo of facts.photos) {
    const file = path.join(folder, photoEntryName(photo.sha256, photo.kind) ?? '?');
    const whole = existsSync(file) && createHash('sha256').update(readFileSync(file)).digest('hex') === photo.sha256;
    prove(`${when}: the row of ${photo.sha256.slice(0, 12)} has its file with the right bytes`, whole);
  }
}

async function proveEnd(folder: string, known: Acknowledged): Promise<void> {
  const facts = await inspectDatabase(path.join(folder, 'diary.db'));
  prove(
    'no photo still waits to be measured',
    facts.photos.every((photo) => photo.state !== 'waiting'),
    facts.photos.filter((photo) => photo.state === 'waiting').length.toString(),
  );
  const hashes = new Set(facts.photos.map((photo) => photo.sha256));
  const orphans = await orphansIn(folder, (sha256) => hashes.has(sha256));
  prove('no file on the shelf is without a row', orphans.length === 0, `${orphans.length} are`);
  for (const id of known.sprays) {
    const spray = await findSpray(id);
    prove(
      `answered spray ${id} is there, whole`,
      spray !== null && spray.items.length === 1 && spray.plots.length === 1,
    );
  }
  for (const [id, { tried, answered }] of known.notes) {
    const note = (known.sprays.has(id) ? await findSpray(id) : await findPhoto(id))?.note;
    prove(
      `${id} holds its last answered change or a later one`,
      note !== undefined && tried.lastIndexOf(note) >= answered,
      note,
    );
  }
  await closeDiary();
}

const findStrays = async (folder: string) => (await readdir(path.join(folder, STRAYS)).catch(() => [])).length;

async function killAgainAndAgain(kills: number, random: Random): Promise<void> {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-faults-'));
  process.env['SWATHBOOK_DATA'] = folder;
  const known: Acknowledged = { photos: new Map(), sprays: new Set(), notes: new Map() };
  try {
    const ground = await prepareDiary(folder);
    for (let round = 1; round <= kills; round++) {
      const server = await startServer(folder);
      // The first visit loads the pages' code; the clock starts with the second, so that kills fall into work.
      for (const page of ['/sprays/new', ...[...known.photos.keys()].slice(0, 1).map((id) => `/photos/${id}`)])
        await (await fetch(`${server.url}${page}`)).text();
      let over = false;
      const visitors = [0, 1, 2].map((index) =>
        visit(
          server.url,
          ground,
          known,
          seededRandom(`visitor ${random.nextUint32()}`),
          `r${round}v${index}`,
          () => over,
        ),
      );
      const wait = 100 + random.below(3900);
      await new Promise((resolve) => setTimeout(resolve, wait));
      // On a machine that has much else to do, the kill waits until something was promised.
      const answered = () => known.photos.size + known.sprays.size + changes(known);
      for (const until = Date.now() + 30_000; answered() < 2 * round && Date.now() < until;)
        await new Promise((resolve) => setTimeout(resolve, random.below(60)));
      over = true;
      await kill(server);
      await Promise.all(visitors);
      await proveKept(folder, known, `after kill ${round}`);
      console.log(
        `kill ${String(round).padStart(2)} after ${String(wait).padStart(4)} ms: answered so far ${known.photos.size} photos, ${known.sprays.size} sprays, ${changes(known)} changes${failures.length ? `; ${failures.length} FAILURES` : ''}`,
      );
    }
    const last = await startServer(folder);
    prove('the server takes the next visitor', (await fetch(last.url)).status === 200);
    // What waits to be read is read behind the open doors.
    const waiting = async () =>
      (await inspectDatabase(path.join(folder, 'diary.db'))).photos.filter((photo) => photo.state === 'waiting').length;
    for (const until = Date.now() + 120_000; Date.now() < until && (await waiting()) > 0;)
      await new Promise((resolve) => setTimeout(resolve, 500));
    last.process.kill('SIGTERM');
    prove('asked to stop, the server stops cleanly', (await endOf(last.process)) === 0);
    await proveKept(folder, known, 'at the end');
    await proveEnd(folder, known);
    console.log(
      `${kills} kills; proved ${known.photos.size} photos, ${known.sprays.size} sprays and ${changes(known)} changes that were answered; ${await findStrays(folder)} unfinished photos were set aside.`,
    );
    prove('there was something to prove', known.photos.size >= kills && known.sprays.size > 0 && changes(known) > 0);
  } finally {
    await closeDiary();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Fills a small disk under the diary, then makes it read-only: one clear sentence each, nothing lost. Needs root. */
async function starveOfDisk(random: Random): Promise<void> {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-disk-'));
  if (process.getuid?.() !== 0 || spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=6m', 'tmpfs', folder]).status !== 0) {
    console.log('disk full, read-only: skipped (needs root and mount)');
    rmSync(folder, { recursive: true, force: true });
    return;
  }
  process.env['SWATHBOOK_DATA'] = folder;
  let server: Server | undefined;
  try {
    const ground = await prepareDiary(folder);
    const known: Acknowledged = { photos: new Map(), sprays: new Set(), notes: new Map() };
    server = await startServer(folder);
    const { url } = server;
    const send = async () => {
      const bytes = await drawJpeg(random);
      const answer = await fetch(`${url}/api/photos?lawn=${ground.lawnId}&name=x.jpg&viewpoint=`, {
        method: 'PUT',
        body: Buffer.from(bytes),
      });
      const said = (await answer.json()) as { ok: boolean; photoId?: string; message: string };
      if (said.ok && said.photoId) known.photos.set(said.photoId, createHash('sha256').update(bytes).digest('hex'));
      return { status: answer.status, message: said.message };
    };
    let answer = await send();
    for (let i = 0; i < 200 && answer.status === 200; i++) answer = await send();
    console.log(`disk full after ${known.photos.size} photos: ${answer.status} ${answer.message}`);
    prove(
      'a full disk is told in one sentence',
      answer.status === 507 && /^The disk is full: .*\.$/.test(answer.message),
      `${answer.status} ${answer.message}`,
    );
    prove('the pages still open on a full disk', (await fetch(url)).status === 200);
    await proveKept(folder, known, 'on a full disk');
    await kill(server);
    let remounted = 1;
    for (let i = 0; i < 50 && remounted !== 0; i++) {
      remounted = spawnSync('mount', ['-o', 'remount,ro', folder]).status ?? 1; // busy until the last process has let go
      if (remounted !== 0) await new Promise((resolve) => setTimeout(resolve, 100));
    }
    prove('the disk could be made read-only', remounted === 0);
    const refused = spawnSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], {
      encoding: 'utf8',
      env: process.env,
    });
    console.log(`read-only at start: ${refused.stderr.trim().split('\n')[0]}`);
    prove(
      'a read-only data folder is told in one sentence at start',
      refused.status === 1 &&
        /^swathbook: expected a data folder that can be written to, got .*\n$/.test(refused.stderr),
      refused.stderr,
    );
    spawnSync('mount', ['-o', 'remount,rw,size=60m', folder]);
    server = await startServer(folder);
    const shelf = path.join(folder, 'photos');
    spawnSync('mount', ['--bind', shelf, shelf]);
    prove('the photos could be made read-only', spawnSync('mount', ['-o', 'remount,bind,ro', shelf]).status === 0);
    const bytes = await drawJpeg(random);
    const late = await fetch(`${server.url}/api/photos?lawn=${ground.lawnId}&name=x.jpg&viewpoint=`, {
      method: 'PUT',
      body: Buffer.from(bytes),
    });
    const said = (await late.json()) as { message: string };
    console.log(`read-only while serving: ${late.status} ${said.message}`);
    prove(
      'a folder that turns read-only is told in one sentence',
      late.status === 507 && /^The data folder can’t be written to.*\.$/.test(said.message),
      `${late.status} ${said.message}`,
    );
    await proveKept(folder, known, 'on a read-only disk');
  } finally {
    if (server !== undefined) await kill(server).catch(() => undefined);
    await closeDiary();
    spawnSync('umount', ['-l', path.join(folder, 'photos')]);
    spawnSync('umount', ['-l', folder]);
    rmSync(folder, { recursive: true, force: true });
  }
}

try {
  const { values } = parseArgs({
    options: {
      engine: { type: 'string', default: 'sqlite' },
      kills: { type: 'string' },
      seed: { type: 'string' },
      'skip-disk': { type: 'boolean', default: false },
    },
  });
  const kills = wholeArgument('kills', values.kills, { min: 0, max: 10_000, otherwise: 50 });
  const seed = wholeArgument('seed', values.seed, { min: 0, max: 2 ** 31, otherwise: 7 });
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  const started = Date.now();
  if (values.engine !== 'postgres' && values.engine !== 'sqlite')
    throw new Error(`--engine: expected sqlite or postgres, got '${values.engine}'`);
  if (values.engine === 'postgres') await killMachines(kills, seededRandom(`machines ${seed}`), prove);
  const ofServer = Math.ceil(kills / 2);
  if (values.engine === 'sqlite' && ofServer > 0) await killAgainAndAgain(ofServer, seededRandom(`faults ${seed}`));
  if (values.engine === 'sqlite' && kills > ofServer)
    await killWork(kills - ofServer, seededRandom(`work ${seed}`), prove);
  if (values.engine === 'sqlite' && !values['skip-disk']) await starveOfDisk(seededRandom(`disk ${seed}`));
  for (const failure of failures.slice(0, 40)) console.error(`NOT TRUE  ${failure}`);
  console.log(
    failures.length === 0
      ? `Everything held (${Math.round((Date.now() - started) / 1000)} s).`
      : `${failures.length} thing(s) did not hold.`,
  );
  process.exitCode = failures.length === 0 ? 0 : 1;
} catch (error) {
  console.error(`faults: ${(error as Error).message}`);
  process.exitCode = 2;
}
