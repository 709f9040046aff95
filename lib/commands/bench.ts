import 'server-only';
import { randomUUID } from 'node:crypto';
import { rm, writeFile } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import path from 'node:path';
import { benchJpeg, decodeOnly } from '../darkroom/bench-photo';
import { decodePhoto } from '../darkroom/decode';
import { scorePhoto, stopScorers } from '../darkroom/scorer';
import { measurePlots, type PlotToMeasure } from '../photo/measure';
import { lookAtQuality } from '../photo/quality';
import { median } from '../stats/describe';
import { seededRandom } from '../stats/random';

/**
 * npm run bench: what scoring a 12-megapixel photo costs beside decoding it, as ratios of one run on one machine.
 * The photo is drawn: grass-like grain over stripes, as JPEG of quality 90 and 4:2:0 like a phone's. Six strips side by side.
 */
const WIDTH = 4032;
const HEIGHT = 3024;
const RUNS = 9;
const BATCH = 24;

function drawGrass(): Uint8Array {
  const random = seededRandom('bench');
  // One tile of grain laid again and again keeps the drawing quick; its size shares no factor with the photo's.
  const TILE = 509;
  const grain = Int8Array.from({ length: TILE * TILE }, () => Math.max(-100, Math.min(100, Math.round(22 * random.normal()))));
  const data = new Uint8Array(WIDTH * HEIGHT * 3);
  for (let y = 0, at = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++, at += 3) {
      const blade = (grain[(y % TILE) * TILE + (x % TILE)] as number) + (grain[((y >> 2) % TILE) * TILE + ((x >> 2) % TILE)] as number) / 2;
      const stripe = (x >> 8) % 2 === 0 ? 6 : -6;
      data[at] = clampCode(84 + stripe + blade);
      data[at + 1] = clampCode(112 + stripe + blade);
      data[at + 2] = clampCode(52 + stripe + blade * 0.7);
    }
  }
  return data;
}

function clampCode(value: number): number {
  return Math.max(0, Math.min(255, Math.round(value)));
}

const edge = (i: number, y: 500 | 2900): [number, number] => [y === 500 ? 700 + i * 440 : 180 + i * 610, y];

/** Six strips in perspective that cover about two thirds of the photo. */
function sixStrips(): PlotToMeasure[] {
  return Array.from({ length: 6 }, (_, i) => ({
    id: String.fromCharCode(65 + i),
    polygon: [edge(i, 500), edge(i + 0.97, 500), edge(i + 0.97, 2900), edge(i, 2900)],
    groundMetres: [[i, 3], [i + 0.97, 3], [i + 0.97, 0], [i, 0]],
  }));
}

async function time(work: () => Promise<unknown> | unknown): Promise<number> {
  const start = performance.now();
  await work();
  return performance.now() - start;
}

const ms = (value: number): string => `${value.toFixed(0)} ms`.padStart(8);

async function main(): Promise<void> {
  const jpeg = await benchJpeg({ width: WIDTH, height: HEIGHT, channels: 3, space: 'srgb', data: drawGrass() });
  const file = path.join(tmpdir(), `bench-${randomUUID()}.jpg`);
  await writeFile(file, jpeg);
  const plots = sixStrips();
  try {
    // What sharp takes to decode and nothing else, against our decoding, our measuring, and both.
    const times: Record<'decode' | 'ours' | 'measure' | 'quality' | 'score', number[]> = { decode: [], ours: [], measure: [], quality: [], score: [] };
    let share = 0;
    for (let run = -2; run < RUNS; run++) {
      const decode = await time(() => decodeOnly(file));
      let pixels: Awaited<ReturnType<typeof decodePhoto>>['pixels'] | undefined;
      const ours = await time(async () => ({ pixels } = await decodePhoto(file)));
      if (pixels === undefined) throw new Error('the photo was not decoded');
      const decoded = pixels;
      const measure = await time(() => {
        const readings = measurePlots(decoded, plots);
        share = readings.reduce((sum, reading) => sum + reading.pixels, 0) / (WIDTH * HEIGHT);
      });
      const quality = await time(() => lookAtQuality(decoded, plots.map(({ polygon }) => polygon)));
      if (run < 0) continue; // the first two warm up
      times.decode.push(decode);
      times.ours.push(ours);
      times.measure.push(measure);
      times.quality.push(quality);
      times.score.push(ours + measure + quality);
    }
    const decode = median(times.decode);
    const score = median(times.score);
    console.log(`One photo, ${WIDTH} × ${HEIGHT} JPEG of ${(jpeg.length / 1e6).toFixed(1)} MB, six strips over ${(100 * share).toFixed(0)}% of it, median of ${RUNS} runs`);
    console.log(`${ms(decode)}  sharp decoding it, nothing else`);
    console.log(`${ms(median(times.ours))}  decodePhoto (header, orientation, profile)`);
    console.log(`${ms(median(times.measure))}  measurePlots (kernel, intervals)`);
    console.log(`${ms(median(times.quality))}  cautions`);
    console.log(`${ms(score)}  all of scoring: ${(score / decode).toFixed(2)} × decoding (aim 1.25)`);
    console.log(`          peak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`);

    const threads = availableParallelism();
    await Promise.all(Array.from({ length: threads }, () => scorePhoto({ path: file, plots })));
    const batchDecode = await time(() => inBatches(threads, () => decodeOnly(file)));
    const batchScore = await time(() => Promise.all(Array.from({ length: BATCH }, () => scorePhoto({ path: file, plots }))));
    console.log(`\n${BATCH} photos on ${threads} processors`);
    console.log(`${ms(batchDecode)}  sharp decoding them, nothing else, ${threads} at a time`);
    console.log(`${ms(batchScore)}  scoring them on workers: ${(batchScore / batchDecode).toFixed(2)} × decoding (aim 1.05)`);
    console.log(`          peak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`);
    console.log("\nPages at 100 and at 10,000 photos: 'npm run load' fills both diaries and prints the ratio of each page (aim 1.5).");
  } finally {
    await stopScorers();
    await rm(file, { force: true });
  }
}

async function inBatches(threads: number, work: () => Promise<unknown>): Promise<void> {
  let left = BATCH;
  const lane = async (): Promise<void> => {
    while (left-- > 0) await work();
  };
  await Promise.all(Array.from({ length: threads }, lane));
}

await main();
