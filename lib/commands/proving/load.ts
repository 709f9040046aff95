import type { ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { stopScorers } from '../../darkroom/scorer';
import { closeDiary } from '../../diary/client';
import { listLawns } from '../../diary/lawns';
import { applyMigrations } from '../../diary/migrate';
import { wholeArgument } from '../../forms/command-line';
import { median } from '../../stats/describe';
import { loadedDiary, seedLoad, type LoadedDiary, type LoadSize } from '../../work/keep/seed-load';
import { upToDatePhotos } from '../../work/photos/stand-of';
import { loadMachines } from './load-machines';
import { HOLDS_MORE, pages } from './load-pages';
import { drawLoadJpeg, serveLoad, timed } from './load-serving';

/**
 * npm run load [-- --photos N] [--rounds N] [--out FOLDER] [--with FOLDER]: fills one diary with 100 photos, 10 sprays
 * and a year of weather and another with N (10,000; 100,000 is the size to hold) photos, a tenth as many sprays, 5,000
 * at most, and 20 years of weather, serves both and times the same pages of each, one after the other in turn. Prints
 * the ratio large/small of each page; the aim is 1.5 at most, and what is over it because it holds more says so. With
 * --engine postgres readings a minute with 1, 2 and 4 workers are counted, and the same pages of one size are timed on
 * SQLite and on a PostgreSQL server of its own behind two serving processes (load-machines.ts; --only workers or pages,
 * --database ADDRESS: on a server of yours, filled if it is empty). With --out it only fills FOLDER; --with measures one
 * filled so earlier; --lawns N: on so many lawns, the first with half of the photos; --bare: photos without files. Needs
 * built pages.
 */
const AIM = 1.5;
const ROUNDS = 15;
/** The diaries end today: what is due, and what lies ahead, is looked for around now. */
const NOON = new Date(`${new Date().toISOString().slice(0, 10)}T12:00:00Z`);
const spraysFor = (photos: number) => Math.min(5000, Math.round(photos / 10));

async function fill(folder: string, size: LoadSize): Promise<LoadedDiary> {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const diary = await seedLoad(size, await drawLoadJpeg(), (words) => console.log(`  ${words}`));
  await closeDiary();
  return diary;
}

async function openFilled(folder: string, size: LoadSize): Promise<LoadedDiary> {
  process.env['SWATHBOOK_DATA'] = folder;
  const diary = await loadedDiary(size);
  const [lawn] = await listLawns();
  // Pages that show nothing but that something is being worked out would be quick for no good reason.
  const holds = lawn !== undefined && (await upToDatePhotos(lawn.id, [diary.photoId])).has(diary.photoId);
  await closeDiary();
  if (!holds)
    throw new Error(
      `expected a diary filled by this version, got one whose photos it would read anew: fill another than ${folder} with --out`,
    );
  return diary;
}

async function compare(photos: number, rounds: number, filled: string | undefined): Promise<boolean> {
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-load-'));
  const servers: ChildProcess[] = [];
  try {
    console.log('Filling the small diary (100 photos, 10 sprays, a year of weather)');
    const small = await fill(path.join(root, 'small'), {
      photos: 100,
      sprays: 10,
      weatherYears: 1,
      withTrial: true,
      until: NOON,
    });
    const largeSize = { photos, sprays: spraysFor(photos), weatherYears: 20, withTrial: true, until: NOON };
    const largeFolder = filled ?? path.join(root, 'large');
    console.log(
      filled === undefined
        ? `Filling the large diary (${photos} photos, ${spraysFor(photos)} sprays, 20 years of weather)`
        : `The large diary is the one in ${filled}`,
    );
    const large = filled === undefined ? await fill(largeFolder, largeSize) : await openFilled(largeFolder, largeSize);
    await stopScorers();
    const [few, many] = [await serveLoad(path.join(root, 'small')), await serveLoad(largeFolder)];
    servers.push(few.child, many.child);
    let good = true;
    console.log(
      `\n${'page'.padEnd(20)}${'small'.padStart(9)}${'large'.padStart(9)}${'ratio'.padStart(8)}   content small / large`,
    );
    const largePages = pages(large);
    for (const [index, [name, address]] of pages(small).entries()) {
      const there = (largePages[index] as [string, string])[1];
      const times: [number[], number[]] = [[], []];
      let sizes = [0, 0];
      let status = 200;
      for (let round = -3; round < rounds; round++) {
        const [one, other] = [await timed(few.url + address), await timed(many.url + there)];
        sizes = [one.bytes, other.bytes];
        status = Math.max(one.status, other.status);
        if (round < 0) continue;
        times[0].push(one.ms);
        times[1].push(other.ms);
      }
      if (status === 404) {
        console.log(`${name.padEnd(20)} is not there`);
        continue;
      }
      const [a, b] = [median(times[0]), median(times[1])];
      const ratio = b / a;
      if (ratio > AIM || status !== 200) good = false;
      console.log(
        `${name.padEnd(20)}${a.toFixed(1).padStart(6)} ms${b.toFixed(1).padStart(6)} ms${ratio.toFixed(2).padStart(8)}   ${((sizes[0] as number) / 1000).toFixed(0)} / ${((sizes[1] as number) / 1000).toFixed(0)} kB${ratio > AIM ? `   over the aim${HOLDS_MORE[name] === undefined ? '' : `: ${HOLDS_MORE[name]}`}` : ''}${status === 200 ? '' : `   answered ${status}`}`,
      );
    }
    console.log(good ? `\nEvery page within ${AIM} times.` : `\nNot every page within ${AIM} times.`);
    return good;
  } finally {
    for (const child of servers) child.kill('SIGTERM');
    await Promise.all(
      servers.map(
        (child) => new Promise((resolve) => (child.exitCode === null ? child.once('exit', resolve) : resolve(0))),
      ),
    );
    rmSync(root, { recursive: true, force: true });
  }
}

try {
  const { values } = parseArgs({
    options: {
      photos: { type: 'string' },
      out: { type: 'string' },
      with: { type: 'string' },
      rounds: { type: 'string' },
      engine: { type: 'string', default: 'sqlite' },
      lawns: { type: 'string' },
      bare: { type: 'boolean', default: false },
      only: { type: 'string' },
      database: { type: 'string' },
    },
  });
  if (values.engine !== 'sqlite' && values.engine !== 'postgres')
    throw new Error(`--engine: expected sqlite or postgres, got '${values.engine}'`);
  const photos = wholeArgument('photos', values.photos, { min: 100, max: 1_000_000, otherwise: 10_000 });
  const lawns = wholeArgument('lawns', values.lawns, { min: 1, max: 999, otherwise: 1 });
  const large = {
    photos,
    sprays: spraysFor(photos),
    weatherYears: 20,
    withTrial: true,
    until: NOON,
    lawns,
    bare: values.bare,
  };
  if (values.engine === 'postgres') {
    if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
    if (values.only !== undefined && values.only !== 'pages' && values.only !== 'workers')
      throw new Error(`--only: expected pages or workers, got '${values.only}'`);
    const rounds = wholeArgument('rounds', values.rounds, { min: 1, max: 1000, otherwise: ROUNDS });
    process.exitCode = (await loadMachines(
      { size: large, rounds, only: values.only ?? null, database: values.database ?? null },
      async (root) => {
        const folder = values.with === undefined ? path.join(root, 'sqlite') : path.resolve(values.with);
        const places = values.with === undefined ? await fill(folder, large) : await openFilled(folder, large);
        await stopScorers();
        return { folder, places };
      },
    ))
      ? 0
      : 1;
  } else if (values.out !== undefined) {
    if (existsSync(path.join(values.out, 'diary.db')))
      throw new Error(`expected an empty folder, got '${values.out}' with a diary in it`);
    await fill(path.resolve(values.out), large);
    console.log(`Filled. Serve it: SWATHBOOK_DATA=${path.resolve(values.out)} npm start`);
  } else {
    if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
    process.exitCode = (await compare(
      photos,
      wholeArgument('rounds', values.rounds, { min: 1, max: 1000, otherwise: ROUNDS }),
      values.with === undefined ? undefined : path.resolve(values.with),
    ))
      ? 0
      : 1;
  }
} catch (error) {
  console.error(`load: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await stopScorers();
  await closeDiary();
}
