import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { benchJpeg } from '../../darkroom/bench-photo';
import { stopScorers } from '../../darkroom/scorer';
import { closeDiary } from '../../diary/client';
import { listLawns } from '../../diary/lawns';
import { applyMigrations } from '../../diary/migrate';
import { wholeArgument } from '../../forms/command-line';
import { quantile } from '../../stats/describe';
import { seededRandom } from '../../stats/random';
import { seedLoad } from '../../work/keep/seed-load';
import { serveLoad } from './load-serving';
import { peakBytesOf } from './peak-bytes';

/**
 * npm run load:readers [-- --readers N] [--photos N] [--pause MS]: serves a diary of 100 photos and lets N (20) readers
 * open its pages, each with a pause between pages as people read, while N (24) photos of 12 megapixels are sent at once
 * and read. Prints the readers' waiting times and the server's peak memory; ends with 1 when p99 is over 500 ms or the
 * peak over 1 GB. What else the machine does counts against it: the load average is printed beside. Needs built pages.
 */
const AIM_P99_MS = 500;
const AIM_BYTES = 1024 ** 3;

const { values } = parseArgs({
  options: { readers: { type: 'string' }, photos: { type: 'string' }, pause: { type: 'string' } },
});
const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-readers-'));
try {
  const readers = wholeArgument('readers', values.readers, { min: 1, max: 1000, otherwise: 20 });
  const photos = wholeArgument('photos', values.photos, { min: 0, max: 1000, otherwise: 24 });
  const pauseMs = wholeArgument('pause', values.pause, { min: 0, max: 60_000, otherwise: 2000 });
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const turf = (width: number, height: number, seed: string) => {
    const random = seededRandom(seed);
    const data = new Uint8Array(width * height * 3);
    for (let at = 0; at < data.length; at += 3) {
      const blade = random.below(40);
      data[at] = 60 + blade;
      data[at + 1] = 95 + blade;
      data[at + 2] = 35 + blade;
    }
    return benchJpeg({ width, height, channels: 3, space: 'srgb', data });
  };
  const diary = await seedLoad(
    { photos: 100, sprays: 10, weatherYears: 1 },
    Buffer.from(await turf(400, 300, 'small')),
    () => {},
  );
  const [lawn] = await listLawns();
  await stopScorers();
  await closeDiary();
  const large = await Promise.all(
    Array.from({ length: Math.min(photos, 4) }, (_, index) => turf(4000, 3000, `large ${index}`)),
  );
  const { url, child } = await serveLoad(folder);
  const pages = [
    '/',
    '/photos',
    `/photos/${diary.photoId}`,
    `/plots/${diary.plotId}`,
    '/response',
    '/plan',
    '/shelf',
    '/weather',
    '/trials',
    `/sprays/${diary.sprayId}`,
    `/api/photos/${diary.photoId}?width=320`,
    `/photos?viewpoint=${diary.viewpointId}`,
  ];
  for (const page of pages) await (await fetch(url + page)).arrayBuffer(); // code is loaded once, by whoever comes first
  const quietPeak = peakBytesOf(child.pid);

  async function readFor(isOver: () => boolean): Promise<number[]> {
    const waits: number[] = [];
    await Promise.all(
      Array.from({ length: readers }, async (_, reader) => {
        const random = seededRandom(`reader ${reader}`);
        await new Promise((resolve) => setTimeout(resolve, random.below(pauseMs + 1)));
        while (!isOver()) {
          const began = performance.now();
          const answer = await fetch(url + pages[random.below(pages.length)]);
          await answer.arrayBuffer();
          if (answer.status >= 500) throw new Error(`a page answered ${answer.status}`);
          waits.push(performance.now() - began);
          await new Promise((resolve) => setTimeout(resolve, pauseMs * (0.5 + random.next())));
        }
      }),
    );
    return waits;
  }
  const say = (name: string, waits: number[]) =>
    console.log(
      `${name}: ${waits.length} pages, p50 ${quantile(waits, 0.5).toFixed(0)} ms, p95 ${quantile(waits, 0.95).toFixed(0)} ms, p99 ${quantile(waits, 0.99).toFixed(0)} ms, longest ${Math.max(...waits).toFixed(0)} ms; load average ${loadavg()[0]?.toFixed(1)} on ${availableParallelism()} processors`,
    );

  const quietUntil = Date.now() + 15_000;
  say('readers alone', await readFor(() => Date.now() > quietUntil));
  let reading = true;
  const began = Date.now();
  const sending = Promise.all(
    Array.from({ length: photos }, async (_, index) => {
      // Each file is another: stray bytes after the picture's end change nothing in it.
      const body = Buffer.concat([
        Buffer.from(large[index % large.length] as Uint8Array),
        Buffer.from(`photo ${index}`),
      ]);
      const answer = await fetch(`${url}/api/photos?lawn=${lawn?.id}&name=${index}.jpg&viewpoint=`, {
        method: 'PUT',
        body,
      });
      if (answer.status !== 200) throw new Error(`a photo answered ${answer.status}: ${await answer.text()}`);
    }),
  ).finally(() => {
    console.log(`${photos} photos of 12 megapixels were answered within ${((Date.now() - began) / 1000).toFixed(1)} s`);
    reading = false;
  });
  const [waits] = await Promise.all([readFor(() => !reading && Date.now() - began > 20_000), sending]);
  say(`readers while ${photos} photos are read`, waits);
  const peak = peakBytesOf(child.pid);
  console.log(
    `most memory: ${Math.round(quietPeak / 1024 ** 2)} MB before, ${Math.round(peak / 1024 ** 2)} MB with the photos`,
  );
  const good = quantile(waits, 0.99) <= AIM_P99_MS && peak <= AIM_BYTES;
  console.log(good ? 'Within the aims (p99 500 ms, 1 GB).' : 'Not within the aims (p99 500 ms, 1 GB).');
  process.exitCode = good ? 0 : 1;
  child.kill('SIGTERM');
  await new Promise((resolve) => child.once('exit', resolve));
} catch (error) {
  console.error(`load:readers: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await stopScorers();
  await closeDiary();
  rmSync(folder, { recursive: true, force: true });
}
