import { spawn, type ChildProcess } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { countRead, fillServerFromFile, forgetReadings, holdsLawns } from '../../diary/bulk-rows';
import { closeDiary } from '../../diary/client';
import { createLawn } from '../../diary/lawns';
import { applyPostgresqlMigrations } from '../../diary/migrate-postgresql';
import { createPlot } from '../../diary/plots';
import { askWorkers } from '../../diary/asked-renewals';
import { closeQueue } from '../../diary/work-queue';
import { median } from '../../stats/describe';
import { outlinePlots } from '../../work/photos/outline-plots';
import type { LoadedDiary, LoadSize } from '../../work/keep/seed-load';
import { takePhoto } from '../../work/photos/take-photo';
import { pages } from './load-pages';
import { drawLoadJpeg, serveLoad, timed } from './load-serving';
import { postgresPrograms, startPostgres, type PostgresServer } from './own-postgres';

/**
 * The larger set-up against the small one: pages of the same diary on both engines, and readings a minute against
 * workers.
 */
const AIM = 1.5;
/** Workers, and the threads each may read on: by itself a worker takes what the machine has. */
const SET_UPS = [
  [1, '1'],
  [2, '1'],
  [4, '1'],
  [1, undefined],
  [2, undefined],
] as const;
const LAWNS = 4;
const PHOTOS_A_LAWN = 6;
const SIZE = [3000, 2000] as const;

async function onServer<T>(
  server: PostgresServer,
  database: string,
  folder: string,
  work: () => Promise<T>,
): Promise<T> {
  await closeDiary();
  Object.assign(process.env, { SWATHBOOK_DATABASE: server.url(database), SWATHBOOK_DATA: folder });
  try {
    return await work();
  } finally {
    await closeQueue().catch(() => undefined);
    await closeDiary();
    delete process.env['SWATHBOOK_DATABASE'];
  }
}

/** An empty, migrated database of this name, or one that was filled earlier. */
async function fillServer(url: string, file: string): Promise<void> {
  await applyPostgresqlMigrations(url);
  if (await holdsLawns(url)) return;
  console.log('Filling the server with the same rows');
  await fillServerFromFile(file, url, (words) => console.log(`  ${words}`));
}

async function comparePages(
  url: string,
  root: string,
  size: LoadSize,
  rounds: number,
  small: { folder: string; places: LoadedDiary },
): Promise<boolean> {
  const folders = [small.folder, path.join(root, 'one'), path.join(root, 'two')] as const;
  console.log(
    `The same diary on both engines: ${size.photos} photos on ${size.lawns ?? 1} lawn(s), ${size.sprays} sprays, ${size.weatherYears} years of weather`,
  );
  await fillServer(url, path.join(small.folder, 'diary.db'));
  for (const folder of folders.slice(1)) {
    mkdirSync(folder, { recursive: true });
    for (const name of ['photos', 'prints']) symlinkSync(path.join(small.folder, name), path.join(folder, name));
  }
  const settings = { SWATHBOOK_DATABASE: url };
  const all = [
    await serveLoad(folders[0]),
    await serveLoad(folders[1], settings),
    await serveLoad(folders[2], settings),
  ] as const;
  try {
    let good = true;
    console.log(
      `\n${'page'.padEnd(20)}${'SQLite'.padStart(9)}${'PostgreSQL, one and other'.padStart(30)}${'ratio'.padStart(8)}`,
    );
    for (const [name, address] of pages(small.places)) {
      const times: [number[], number[], number[]] = [[], [], []];
      let status = 200;
      for (let round = -3; round < rounds; round++) {
        for (const [k, serving] of all.entries()) {
          const one = await timed(serving.url + address);
          status = Math.max(status, one.status);
          if (round >= 0) times[k as 0 | 1 | 2].push(one.ms);
        }
      }
      const [file, one, other] = times.map(median) as [number, number, number];
      const ratio = Math.max(one, other) / file;
      if (ratio > AIM || status !== 200) good = false;
      console.log(
        `${name.padEnd(20)}${file.toFixed(1).padStart(6)} ms${one.toFixed(1).padStart(14)} ms${other.toFixed(1).padStart(10)} ms${ratio.toFixed(2).padStart(8)}${ratio > AIM ? '   over the aim' : ''}${status === 200 ? '' : `   answered ${status}`}`,
      );
    }
    console.log(
      good ? `\nEvery page within ${AIM} times of SQLite.` : `\nNot every page within ${AIM} times of SQLite.`,
    );
    return good;
  } finally {
    for (const { child } of all) child.kill('SIGTERM');
    await Promise.all(
      all.map(
        ({ child }) => new Promise((resolve) => (child.exitCode === null ? child.once('exit', resolve) : resolve(0))),
      ),
    );
  }
}

function startWorker(folder: string, url: string, threads: string | undefined): Promise<ChildProcess> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, ['lib/commands/run.mjs', 'worker'], {
      stdio: ['ignore', 'pipe', 'inherit'],
      env: {
        ...process.env,
        SWATHBOOK_DATA: folder,
        SWATHBOOK_DATABASE: url,
        SWATHBOOK_WORK: 'apart',
        ...(threads === undefined ? {} : { SWATHBOOK_THREADS: threads }),
      },
    });
    child.stdout.on('data', (said: Buffer) => said.toString().includes('Waiting for work') && resolve(child));
    child.once('exit', (code) => reject(new Error(`a worker ended with ${code}`)));
  });
}

/** Seconds of processor a process has used so far, from Linux's own account of it; NaN elsewhere. */
function processorSeconds({ pid }: ChildProcess): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]!.split(' ');
    return (Number(fields[11]) + Number(fields[12])) / 100;
  } catch {
    return Number.NaN;
  }
}

/** Photos of several lawns (one lawn is read by one worker at a time), read anew by 1, 2 and 4 workers. */
async function timeWorkers(server: PostgresServer, root: string): Promise<void> {
  const folder = path.join(root, 'work');
  mkdirSync(folder, { recursive: true });
  server.run('CREATE DATABASE readings');
  await applyPostgresqlMigrations(server.url('readings'));
  const nothing = { place: '', grass: '', waterChlorinated: false, note: '' };
  const jpeg = await drawLoadJpeg(SIZE);
  process.env['SWATHBOOK_WORK'] = 'apart';
  await onServer(server, 'readings', folder, async () => {
    const lawns: string[] = [];
    for (let k = 0; k < LAWNS; k++) {
      const lawn = await createLawn({ name: `Lawn ${k}`, timeZone: 'UTC', unitSystem: 'metric', ...nothing });
      lawns.push(lawn.id);
      const plots = [];
      for (const name of ['A', 'B'])
        plots.push(
          await createPlot(lawn.id, {
            name,
            isCheck: name === 'A',
            polygonM: null,
            areaM2: 50,
            areaEnteredValue: null,
            areaEnteredUnit: null,
            note: '',
          }),
        );
      for (let n = 0; n < PHOTOS_A_LAWN; n++) {
        // A byte behind the picture's end makes another file of it.
        const bytes = Buffer.concat([jpeg, Buffer.from(`lawn ${k} photo ${n}`)]);
        const taken = await takePhoto(Readable.from([bytes]), {
          lawnId: lawn.id,
          fileName: `${k}-${n}.jpg`,
          viewpointName: 'gate',
          modified: undefined,
          taken: { instant: new Date(Date.UTC(2026, 4, 1 + n, 12)), offsetMinutes: 0 },
          now: new Date(),
        });
        if (!taken.ok) throw new Error(taken.message);
        await outlinePlots(
          taken.photoId,
          plots.map((plot, i) => ({
            plotId: plot.id,
            corners: [
              [200 + 1300 * i, 300],
              [1400 + 1300 * i, 300],
              [1400 + 1300 * i, 1700],
              [200 + 1300 * i, 1700],
            ] as [number, number][],
          })),
        );
      }
    }
    const all = LAWNS * PHOTOS_A_LAWN;
    for (const [count, threads] of SET_UPS) {
      const workers = await Promise.all(
        Array.from({ length: count }, () => startWorker(folder, server.url('readings'), threads)),
      );
      const read = async (ms: number) => {
        for (
          const until = Date.now() + ms;
          (await countRead(lawns)) < all;
          await new Promise((resolve) => setTimeout(resolve, 50))
        )
          if (Date.now() > until)
            throw new Error(`expected ${all} photos read within ${ms / 1000} s, got ${await countRead(lawns)}`);
      };
      for (const lawnId of lawns) await askWorkers({ lawnId, what: 'lawn', photoId: null });
      await read(120_000); // once for the workers to be warm
      await new Promise((resolve) => setTimeout(resolve, 1500));
      await forgetReadings(lawns);
      const used = () => workers.reduce((sum, worker) => sum + processorSeconds(worker), 0);
      const [started, before] = [performance.now(), used()];
      for (const lawnId of lawns) await askWorkers({ lawnId, what: 'lawn', photoId: null });
      await read(120_000);
      const seconds = (performance.now() - started) / 1000;
      const processors = used() - before;
      console.log(
        `${count} ${count === 1 ? 'worker ' : 'workers'}, ${threads === undefined ? 'a thread a processor' : `${threads} thread each`}: ${all} photos of ${(SIZE[0] * SIZE[1]) / 1e6} megapixels with two plots in ${seconds.toFixed(1)} s, ${Math.round((all * 2 * 60) / seconds)} readings a minute; ${(processors / all).toFixed(2)} s of processor a photo, ${(processors / seconds).toFixed(2)} processors busy with it`,
      );
      await Promise.all(
        workers.map((worker) => new Promise((resolve) => (worker.once('exit', resolve), worker.kill('SIGTERM')))),
      );
    }
  });
}

/**
 * @param options.size of the diary whose pages are measured, and where it lies already, as a file and on a server that
 *   may be empty
 */
export async function loadMachines(
  {
    size,
    rounds,
    only,
    database,
  }: { size: LoadSize; rounds: number; only: 'pages' | 'workers' | null; database: string | null },
  filled: (root: string) => Promise<{ folder: string; places: LoadedDiary }>,
): Promise<boolean> {
  const programs = postgresPrograms();
  if (programs === null) throw new Error("expected PostgreSQL's programs in /usr/lib/postgresql, got none");
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-load-machines-'));
  const server = await startPostgres(programs);
  try {
    if (only !== 'pages') await timeWorkers(server, root);
    delete process.env['SWATHBOOK_WORK'];
    if (only === 'workers') return true;
    if (database === null) server.run('CREATE DATABASE pages');
    return await comparePages(database ?? server.url('pages'), root, size, rounds, await filled(root));
  } finally {
    delete process.env['SWATHBOOK_WORK'];
    server.remove();
    rmSync(root, { recursive: true, force: true });
  }
}
