import { DAY_MS } from '../units/time';
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { benchJpeg } from '../darkroom/bench-photo';
import { stopScorers } from '../darkroom/scorer';
import { closeDiary } from '../diary/client';
import { listLawns } from '../diary/lawns';
import { applyMigrations } from '../diary/migrate';
import { wholeArgument } from '../forms/command-line';
import { median } from '../stats/describe';
import { seededRandom } from '../stats/random';
import { upToDatePhotos } from '../work/worked-out';
import { LOAD_TOKEN } from '../work/seed-load-trial';
import { loadedDiary, seedLoad, type LoadedDiary, type LoadSize } from '../work/seed-load';

/**
 * npm run load [-- --photos N] [--rounds N] [--out FOLDER] [--with FOLDER]: fills one diary with 100 photos, 10 sprays and a year of
 * weather and another with N (10,000; 100,000 is the size to hold) photos, a tenth as many sprays, 5,000 at most, and 20 years of
 * weather, serves both and times the same pages of each, one after the other in turn. Prints the ratio large/small of each page;
 * the aim is 1.5 at most, and what is over it because it holds more says so. With --out it only fills FOLDER; --with measures one filled so earlier. Needs built pages.
 */
const AIM = 1.5;
const ROUNDS = 15;
/** The diaries end today: what is due, and what lies ahead, is looked for around now. */
const NOON = new Date(`${new Date().toISOString().slice(0, 10)}T12:00:00Z`);
const spraysFor = (photos: number) => Math.min(5000, Math.round(photos / 10));

const date = (at: Date) => at.toISOString().slice(0, 10);
const daysBefore = (at: Date, days: number) => new Date(at.getTime() - days * DAY_MS);

/** Every page and file the product has; the folders of `app` are held against this list. */
const pages = (diary: LoadedDiary): [name: string, address: string][] => [
  ['diary', '/'],
  ['diary, one plot', `/?plot=${diary.plotId}`],
  ['diary, photos only', '/?show=photos'],
  ['diary, back in time', `/?before=${daysBefore(diary.newest, 60).toISOString()}`],
  ['photos', '/photos'],
  ['photos, a viewpoint', `/photos?viewpoint=${diary.viewpointId}`],
  ['one photo', `/photos/${diary.photoId}`],
  ['one plot', `/plots/${diary.plotId}`],
  ['before and after', `/compare?viewpoint=${diary.viewpointId}`],
  ['a mark', `/marks/${diary.markId}`],
  ['response', '/response'],
  ['response, against', '/response/against'],
  ['find, a word', '/find?q=load'],
  ['find, no such word', '/find?q=zebra'],
  ['find, marks', '/find?in=marks&kind=silver'],
  ['calendar', '/calendar'],
  ['causes to find out', `/marks/${diary.markId}/find-out`],
  ['one spray', `/sprays/${diary.sprayId}`],
  ['correct a spray', `/sprays/${diary.sprayId}/edit`],
  ['log a spray', '/sprays/new'],
  ['an event', `/events/${diary.eventId}`],
  ['log an event', '/events/new?kind=mowing'],
  ['plan', '/plan'],
  ['a new plan', '/plan/new'],
  ['one plan', `/plan/${diary.planId}`],
  ['change a plan', `/plan/${diary.planId}/edit`],
  ['tank card', `/plan/${diary.planId}/card`],
  ['calibrate', '/plan/calibrate'],
  ['shelf', '/shelf'],
  ['a product', `/shelf/${diary.productId}`],
  ['a new product', '/shelf/new'],
  ['weather', '/weather'],
  ['a day’s weather', `/weather/day/${date(daysBefore(diary.newest, 16))}`],
  ['weather files', '/weather/import'],
  ['trials', '/trials'],
  ['a new trial', '/trials/new'],
  ['a trial', `/trials/${diary.trialId}`],
  ['its report', `/trials/${diary.trialId}/report`],
  ['its analysis', `/trials/${diary.trialId}/analysis`],
  ['its map', `/trials/${diary.trialId}/map`],
  ['on the lawn', `/trials/${diary.trialId}/on-site`],
  ['rate blind', `/trials/${diary.trialId}/rate`],
  ['change a trial', `/trials/${diary.trialId}/edit`],
  ['its values', `/trials/${diary.trialId}/values.csv`],
  ['its columns', `/trials/${diary.trialId}/columns.csv`],
  ['its calendar', `/trials/${diary.trialId}/calendar`],
  ['a shared report', `/shared/${LOAD_TOKEN}`],
  ['a shared strip', `/shared/${LOAD_TOKEN}/strip?photo=${diary.trialPhotoId}&plot=${diary.trialPlotId}`],
  ['plot cards', '/cards'],
  ['lawn', '/lawn'],
  ['keep', '/keep'],
  ['people', '/people'],
  ['bin', '/bin'],
  ['capture', '/capture'],
  ['methods', '/methods'],
  ['health', '/api/health'],
  ['due, as calendar', '/api/calendar.ics'],
  ['archive progress', '/api/archives/progress'],
  ['a print', `/api/photos/${diary.photoId}?width=320`],
  ['its map', `/api/photos/${diary.photoId}/map`],
  ['a plot from above', `/api/photos/${diary.photoId}/above?plot=${diary.plotId}`],
  ['a cut-out', `/api/photos/${diary.photoId}/cut?plot=${diary.plotId}`],
];

/** Why a page may take longer in the large diary: it holds more, and says so. */
const HOLDS_MORE: Readonly<Record<string, string>> = {
  'diary, back in time': 'forty photos stand there instead of eighteen',
  'one plot': 'sixty marks instead of four, on sixty photos',
  'a mark': 'its patch was seen in hundreds of photos, of which two dozen are asked about',
  'causes to find out': 'its patch was seen in hundreds of photos, of which two dozen are asked about',
  'response, against': '200 sprays on two plots make 400 points instead of 20',
  'find, no such word': 'a piece of a word is looked for in every file name',
  'find, marks': 'thirty marks instead of four',
  calendar: 'four months hold 1,600 photos and 80 sprays instead of 100 and ten',
  'one spray': 'its label is held against the 270 sprays of 400 days instead of ten',
  'a new plan': 'its checks need the 270 sprays of 400 days instead of ten, and the form carries them',
  'change a plan': 'its checks need the 270 sprays of 400 days instead of ten, and the form carries them',
  weather: 'twenty years of seasons instead of one',
  'due, as calendar': 'a month holds 20 sprays and 400 photos instead of four and 40',
};

async function drawJpeg(): Promise<Buffer> {
  const random = seededRandom('load photo');
  const [width, height] = [400, 300];
  const data = new Uint8Array(width * height * 3);
  for (let at = 0; at < data.length; at += 3) {
    const blade = Math.round(5 * random.normal());
    data[at] = 80 + blade;
    data[at + 1] = 115 + blade;
    data[at + 2] = 50 + blade;
  }
  return Buffer.from(await benchJpeg({ width, height, channels: 3, space: 'srgb', data }));
}

async function fill(folder: string, size: LoadSize): Promise<LoadedDiary> {
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const diary = await seedLoad(size, await drawJpeg(), (words) => console.log(`  ${words}`));
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
  if (!holds) throw new Error(`expected a diary filled by this version, got one whose photos it would read anew: fill another than ${folder} with --out`);
  return diary;
}

async function serve(folder: string): Promise<{ url: string; child: ChildProcess }> {
  const port = await new Promise<number>((resolve) => {
    const probe = createServer();
    probe.listen(0, '127.0.0.1', () => {
      const free = (probe.address() as AddressInfo).port;
      probe.close(() => resolve(free));
    });
  });
  const child = spawn(process.execPath, ['lib/commands/front.mjs'], {
    stdio: ['ignore', 'ignore', 'inherit'],
    env: { ...process.env, NODE_ENV: 'production', NEXT_TELEMETRY_DISABLED: '1', SWATHBOOK_DATA: folder, HOST: '127.0.0.1', PORT: String(port), SWATHBOOK_LOG: 'error' },
  });
  const url = `http://127.0.0.1:${port}`;
  for (let i = 0; i < 600; i++) {
    if (await fetch(`${url}/api/health`).then(() => true, () => false)) return { url, child };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error('the server gave no answer within a minute');
}

async function timed(address: string): Promise<{ ms: number; bytes: number; status: number }> {
  const started = performance.now();
  const answer = await fetch(address);
  const bytes = (await answer.arrayBuffer()).byteLength;
  return { ms: performance.now() - started, bytes, status: answer.status };
}

async function compare(photos: number, rounds: number, filled: string | undefined): Promise<boolean> {
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-load-'));
  const servers: ChildProcess[] = [];
  try {
    console.log('Filling the small diary (100 photos, 10 sprays, a year of weather)');
    const small = await fill(path.join(root, 'small'), { photos: 100, sprays: 10, weatherYears: 1, withTrial: true, until: NOON });
    const largeSize = { photos, sprays: spraysFor(photos), weatherYears: 20, withTrial: true, until: NOON };
    const largeFolder = filled ?? path.join(root, 'large');
    console.log(filled === undefined ? `Filling the large diary (${photos} photos, ${spraysFor(photos)} sprays, 20 years of weather)` : `The large diary is the one in ${filled}`);
    const large = filled === undefined ? await fill(largeFolder, largeSize) : await openFilled(largeFolder, largeSize);
    await stopScorers();
    const [few, many] = [await serve(path.join(root, 'small')), await serve(largeFolder)];
    servers.push(few.child, many.child);
    let good = true;
    console.log(`\n${'page'.padEnd(20)}${'small'.padStart(9)}${'large'.padStart(9)}${'ratio'.padStart(8)}   content small / large`);
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
      console.log(`${name.padEnd(20)}${a.toFixed(1).padStart(6)} ms${b.toFixed(1).padStart(6)} ms${ratio.toFixed(2).padStart(8)}   ${(sizes[0] as number / 1000).toFixed(0)} / ${(sizes[1] as number / 1000).toFixed(0)} kB${ratio > AIM ? `   over the aim${HOLDS_MORE[name] === undefined ? '' : `: ${HOLDS_MORE[name]}`}` : ''}${status === 200 ? '' : `   answered ${status}`}`);
    }
    console.log(good ? `\nEvery page within ${AIM} times.` : `\nNot every page within ${AIM} times.`);
    return good;
  } finally {
    for (const child of servers) child.kill('SIGTERM');
    await Promise.all(servers.map((child) => new Promise((resolve) => (child.exitCode === null ? child.once('exit', resolve) : resolve(0)))));
    rmSync(root, { recursive: true, force: true });
  }
}

try {
  const { values } = parseArgs({ options: { photos: { type: 'string' }, out: { type: 'string' }, with: { type: 'string' }, rounds: { type: 'string' } } });
  const photos = wholeArgument('photos', values.photos, { min: 100, max: 1_000_000, otherwise: 10_000 });
  if (values.out !== undefined) {
    if (existsSync(path.join(values.out, 'diary.db'))) throw new Error(`expected an empty folder, got '${values.out}' with a diary in it`);
    await fill(path.resolve(values.out), { photos, sprays: spraysFor(photos), weatherYears: 20, withTrial: true, until: NOON });
    console.log(`Filled. Serve it: SWATHBOOK_DATA=${path.resolve(values.out)} npm start`);
  } else {
    if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
    process.exitCode = (await compare(photos, wholeArgument('rounds', values.rounds, { min: 1, max: 1000, otherwise: ROUNDS }), values.with === undefined ? undefined : path.resolve(values.with))) ? 0 : 1;
  }
} catch (error) {
  console.error(`load: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await stopScorers();
  await closeDiary();
}
