import { spawn, type ChildProcess } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { closeDiary } from '../../diary/client';
import { applyPostgresqlMigrations } from '../../diary/migrate-postgresql';
import { listOutlines } from '../../diary/outlines';
import { findPhoto } from '../../diary/photos';
import { readingsOfPhoto } from '../../diary/readings';
import { serverFacts } from '../../diary/server-facts';
import { closeQueue, timeIsUp } from '../../diary/work-queue';
import { askedStill } from '../../diary/asked-renewals';
import { seededRandom, type Random } from '../../stats/random';
import { outlinePlots } from '../../work/photos/outline-plots';
import { askRenewal } from '../../work/photos/ask-renewal';
import { photoEntryName } from '../../work/keep/keep-archive';
import { layVisitedLawn } from './lay-ground';
import { changes, visit, type Acknowledged, type VisitedLawn } from './fault-visitors';
import { proveWritten, type Prove } from './fault-proofs';
import { freePort } from './free-port';
import { killArchives } from './kill-archives';
import { postgresPrograms, startPostgres, type PostgresServer } from './own-postgres';

/**
 * Kills, without a word, a worker, the serving process or the database server under a diary that is written to, in turn
 * as a seed says; then proves that everything answered is there, and that every photo was read, each plot of it once as
 * far as anybody can see.
 */

const VICTIMS = ['worker', 'serving process', 'database'] as const;
const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/**
 * The parts of a larger set-up on one machine: a database server, a serving process and two workers, on one folder of
 * photos.
 */
class Machines {
  readonly folder = mkdtempSync(path.join(tmpdir(), 'swathbook-machines-'));
  url = '';
  #serving: ChildProcess | null = null;
  readonly #workers: ChildProcess[] = [];

  constructor(readonly database: PostgresServer) {}

  env(): NodeJS.ProcessEnv {
    return {
      ...process.env,
      SWATHBOOK_DATA: this.folder,
      SWATHBOOK_DATABASE: this.database.url('killed'),
      SWATHBOOK_WORK: 'apart',
      HOST: '127.0.0.1',
      SWATHBOOK_LOG: 'silent',
    };
  }

  async serve(): Promise<void> {
    const port = await freePort();
    const child = spawn(process.execPath, ['lib/commands/run.mjs', 'serve'], {
      detached: true,
      stdio: 'ignore',
      env: { ...this.env(), PORT: String(port) },
    });
    this.#serving = child;
    this.url = `http://127.0.0.1:${port}`;
    for (const until = Date.now() + 120_000; Date.now() < until; await pause(100)) {
      if (child.exitCode !== null) throw new Error(`the serving process ended with ${child.exitCode}`);
      if ((await fetch(`${this.url}/api/health`).catch(() => null))?.ok) return;
    }
    throw new Error('the serving process gave no answer within two minutes');
  }

  startWorker(): void {
    this.#workers.push(
      spawn(process.execPath, ['lib/commands/run.mjs', 'worker'], {
        detached: true,
        stdio: ['ignore', 'ignore', 'inherit'],
        env: this.env(),
      }),
    );
  }

  async #end(child: ChildProcess): Promise<void> {
    if (child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((resolve) => child.once('exit', resolve));
    process.kill(-(child.pid as number), 'SIGKILL');
    await ended;
  }

  async kill(victim: (typeof VICTIMS)[number], random: Random): Promise<void> {
    if (victim === 'database') this.database.stop('immediate');
    else if (victim === 'serving process') await this.#end(this.#serving as ChildProcess);
    else await this.#end(this.#workers.splice(random.below(this.#workers.length), 1)[0] as ChildProcess);
  }

  async killWorkers(): Promise<void> {
    await Promise.all(this.#workers.splice(0).map((child) => this.#end(child)));
  }

  async startAgain(victim: (typeof VICTIMS)[number]): Promise<void> {
    if (victim === 'database') this.database.start();
    else if (victim === 'serving process') await this.serve();
    // A worker that ended for want of a database is started anew as well, as whoever looks after processes does.
    for (let at = this.#workers.length - 1; at >= 0; at--)
      if (this.#workers[at]!.exitCode !== null) this.#workers.splice(at, 1);
    while (this.#workers.length < 2) this.startWorker();
  }

  async end(): Promise<void> {
    await Promise.all([...this.#workers, ...(this.#serving ? [this.#serving] : [])].map((child) => this.#end(child)));
    this.database.remove();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/**
 * Outlines both plots in every photo that was answered and has none yet; what is answered here counts as promised too.
 */
async function outline(
  known: Acknowledged,
  ground: VisitedLawn,
  outlined: Set<string>,
  isOver: () => boolean,
): Promise<void> {
  while (!isOver()) {
    for (const id of known.photos.keys()) {
      if (outlined.has(id) || isOver()) continue;
      const corners = (left: number): [number, number][] => [
        [left, 40],
        [left + 150, 40],
        [left + 150, 260],
        [left, 260],
      ];
      const done = await outlinePlots(
        id,
        ground.plotIds.map((plotId, k) => ({ plotId, corners: corners(20 + 190 * k) })),
      ).catch(() => null);
      if (done?.ok) outlined.add(id);
    }
    await pause(50);
  }
}

export async function killMachines(kills: number, random: Random, prove: Prove): Promise<void> {
  const programs = postgresPrograms();
  if (programs === null) throw new Error("expected PostgreSQL's programs in /usr/lib/postgresql, got none");
  const before = { ...process.env };
  const machines = new Machines(await startPostgres(programs));
  const known: Acknowledged = { photos: new Map(), sprays: new Set(), notes: new Map() };
  const outlined = new Set<string>();
  const tally = new Map<string, number>();
  try {
    machines.database.run('CREATE DATABASE killed');
    await applyPostgresqlMigrations(machines.database.url('killed'));
    Object.assign(process.env, {
      SWATHBOOK_DATA: machines.folder,
      SWATHBOOK_DATABASE: machines.database.url('killed'),
      SWATHBOOK_WORK: 'apart',
    });
    const ground = await layVisitedLawn('Kills');
    await machines.serve();
    for (let k = 0; k < 2; k++) machines.startWorker();
    for (const page of ['/sprays/new', '/photos']) await (await fetch(machines.url + page)).text();
    for (let round = 1; round <= kills; round++) {
      const victim = VICTIMS[round % VICTIMS.length] as (typeof VICTIMS)[number];
      let over = false;
      const visitors = [0, 1].map((index) =>
        visit(
          machines.url,
          ground,
          known,
          seededRandom(`visitor ${random.nextUint32()}`),
          `r${round}v${index}`,
          () => over,
        ),
      );
      const outliner = outline(known, ground, outlined, () => over);
      const wait = 400 + random.below(2600);
      await pause(wait);
      const answered = () => known.photos.size + known.sprays.size + changes(known);
      for (const until = Date.now() + 20_000; answered() < 2 * round && Date.now() < until;)
        await pause(random.below(60));
      await machines.kill(victim, random);
      await pause(random.below(500)); // the visitors meet what is left
      over = true;
      await Promise.all([...visitors, outliner]);
      await machines.startAgain(victim);
      await closeQueue().catch(() => undefined);
      // Who is gone is noticed after half a minute; here it is told at once.
      await timeIsUp();
      tally.set(victim, (tally.get(victim) ?? 0) + 1);
      const rows = new Map((await serverFacts()).photos.map((photo) => [photo.sha256, photo]));
      for (const [id, sha256] of known.photos)
        prove(`after kill ${round} (${victim}): answered photo ${id} has its row`, rows.has(sha256));
      console.log(
        `kill ${String(round).padStart(2)}, the ${victim} after ${String(wait).padStart(4)} ms: answered so far ${known.photos.size} photos, ${outlined.size} outlined, ${known.sprays.size} sprays, ${changes(known)} changes`,
      );
    }
    // The last calm: what was left undone is asked for once, as opening a page does.
    const until = Date.now() + 60_000;
    await outline(known, ground, outlined, () => outlined.size >= known.photos.size || Date.now() > until);
    await askRenewal(ground.lawnId);
    const isRead = async (id: string) => {
      const [photo, readings] = [await findPhoto(id), await readingsOfPhoto(id)];
      return photo?.measureState === 'measured' && photo.readingsKey !== null && readings.length === 2;
    };
    const unread = async () =>
      (await Promise.all([...known.photos.keys()].map(async (id) => ((await isRead(id)) ? [] : [id])))).flat();
    // A photo that came late moves what was worked out of those after it; work that failed is tried again after pauses
    // that double.
    const patience = 240_000 + 3_000 * known.photos.size;
    for (const end = Date.now() + patience; Date.now() < end && (await unread()).length > 0;) await pause(1000);
    const left = await unread();
    prove(
      'every answered photo is read',
      left.length === 0,
      `${left.length} of ${known.photos.size} are not: ${(await Promise.all(left.slice(0, 3).map(findPhoto))).map((photo) => `${photo?.measureState} ${photo?.measureMessage ?? ''}`).join('; ')}`,
    );
    const facts = await serverFacts();
    for (const id of known.photos.keys()) {
      const readings = await readingsOfPhoto(id);
      prove(
        `photo ${id} has one reading of each plot`,
        readings.length === 2 && new Set(readings.map((reading) => reading.plotId)).size === 2,
        `${readings.length}`,
      );
      if (outlined.has(id))
        prove(`photo ${id} has its outlines`, (await listOutlines(id)).filter((one) => one.accepted).length === 2);
    }
    for (const photo of facts.photos) {
      const file = path.join(machines.folder, photoEntryName(photo.sha256, photo.kind) ?? '?');
      prove(
        `the row of ${photo.sha256.slice(0, 12)} has its file with the right bytes`,
        existsSync(file) && createHash('sha256').update(readFileSync(file)).digest('hex') === photo.sha256,
      );
    }
    prove('no photo came twice', new Set(facts.photos.map((photo) => photo.sha256)).size === facts.photos.length);
    await proveWritten(known, prove);
    await killArchives(
      { folder: machines.folder, photos: facts.photos.length, random },
      { kill: () => machines.killWorkers(), start: () => machines.startAgain('worker') },
      prove,
    );
    for (const end = Date.now() + patience; Date.now() < end && (await askedStill()) > 0;) await pause(500);
    const still = await askedStill();
    prove('all that was asked for was answered', still === 0, `${still} of it was not`);
    prove('there was something to prove', known.photos.size >= kills && known.sprays.size > 0);
    console.log(
      `${kills} kills (${[...tally].map(([victim, times]) => `${victim} ${times}`).join(', ')}); proved ${known.photos.size} photos with their two readings, ${known.sprays.size} sprays and ${changes(known)} changes that were answered.`,
    );
  } finally {
    await closeQueue().catch(() => undefined);
    await closeDiary();
    await machines.end();
    for (const name of ['SWATHBOOK_DATA', 'SWATHBOOK_DATABASE', 'SWATHBOOK_WORK']) {
      if (before[name] === undefined) delete process.env[name];
      else process.env[name] = before[name];
    }
  }
}
