import 'server-only';
import { randomUUID } from 'node:crypto';
import { rm, writeFile } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import path from 'node:path';
import { benchJpeg, decodeOnly } from '../darkroom/bench-photo';
import { decodePhoto } from '../darkroom/decode';
import { scoreHere } from '../darkroom/score';
import { scorePhoto, stopScorers } from '../darkroom/scorer';
import type { Pixels } from '../photo/pixels';
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
const WARM_UP = 4;
const RUNS = 9;
const BATCH = 24;
const ROUNDS = 3;

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

/** What some work took: by the clock, and of the processors. Others at work on the machine make the clock run on, the processors' time less so. */
interface Cost {
  readonly wallMs: number;
  readonly cpuMs: number;
}

async function cost(work: () => Promise<unknown> | unknown): Promise<Cost> {
  const start = performance.now();
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return { wallMs: performance.now() - start, cpuMs: (user + system) / 1000 };
}

function middle(costs: readonly Cost[]): Cost {
  return { wallMs: median(costs.map((c) => c.wallMs)), cpuMs: median(costs.map((c) => c.cpuMs)) };
}

function line({ wallMs, cpuMs }: Cost, what: string): void {
  console.log(`${wallMs.toFixed(0).padStart(7)} ms ${cpuMs.toFixed(0).padStart(7)} ms  ${what}`);
}

function ratios(part: Cost, whole: Cost, aim: number): string {
  return `${(part.wallMs / whole.wallMs).toFixed(2)} × decoding by the clock, ${(part.cpuMs / whole.cpuMs).toFixed(2)} × of the processors (aim ${aim})`;
}

async function main(): Promise<void> {
  const jpeg = await benchJpeg({ width: WIDTH, height: HEIGHT, channels: 3, space: 'srgb', data: drawGrass() });
  const file = path.join(tmpdir(), `bench-${randomUUID()}.jpg`);
  await writeFile(file, jpeg);
  const plots = sixStrips();
  try {
    await onePhoto(file, plots, jpeg.length);
    await batch(file, plots);
  } finally {
    await stopScorers();
    await rm(file, { force: true });
  }
}

/** What sharp takes to decode and nothing else, and each part of scoring, in turn in every run; the first runs warm up. */
async function onePhoto(file: string, plots: readonly PlotToMeasure[], bytes: number): Promise<void> {
  const runs: Record<'decode' | 'ours' | 'measure' | 'cautions' | 'all', Cost[]> = { decode: [], ours: [], measure: [], cautions: [], all: [] };
  for (let run = -WARM_UP; run < RUNS; run++) {
    const decode = await cost(() => decodeOnly(file));
    let pixels: Pixels | undefined;
    const ours = await cost(async () => ({ pixels } = await decodePhoto(file)));
    const decoded = pixels as unknown as Pixels;
    const measure = await cost(() => measurePlots(decoded, plots));
    const cautions = await cost(() => lookAtQuality(decoded, plots.map(({ polygon }) => polygon)));
    const all = await cost(() => scoreHere({ path: file, plots }));
    if (run < 0) continue;
    for (const [name, found] of Object.entries({ decode, ours, measure, cautions, all })) runs[name as keyof typeof runs].push(found);
  }
  const decode = middle(runs.decode);
  const all = middle(runs.all);
  console.log(`One photo, ${WIDTH} × ${HEIGHT} JPEG of ${(bytes / 1e6).toFixed(1)} MB, six strips over two thirds of it, median of ${RUNS} runs`);
  console.log('  clock    processors');
  line(decode, 'sharp decoding it, nothing else');
  line(middle(runs.ours), 'decodePhoto (header, orientation, profile)');
  line(middle(runs.measure), 'measurePlots (kernel, intervals)');
  line(middle(runs.cautions), 'cautions');
  line(all, `all of scoring: ${ratios(all, decode, 1.25)}`);
  peakMemory();
}

/** Both ways on all processors, in turn; the workers are warm before the first round. */
async function batch(file: string, plots: readonly PlotToMeasure[]): Promise<void> {
  const threads = availableParallelism();
  const scoreAll = (count: number): Promise<unknown> => Promise.all(Array.from({ length: count }, () => scorePhoto({ path: file, plots })));
  await scoreAll(threads * WARM_UP);
  const perRound = BATCH / ROUNDS;
  const decoding: Cost[] = [];
  const scoring: Cost[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    decoding.push(await cost(() => decodeInLanes(file, perRound, threads)));
    scoring.push(await cost(() => scoreAll(perRound)));
  }
  const [decode, score] = [middle(decoding), middle(scoring)];
  console.log(`\n${BATCH} photos on ${threads} processors, ${ROUNDS} rounds of ${perRound}, median round`);
  console.log('  clock    processors');
  line(decode, `sharp decoding them, nothing else, ${threads} at a time`);
  line(score, `scoring them on workers: ${ratios(score, decode, 1.05)}`);
  peakMemory();
}

function peakMemory(): void {
  console.log(`${(process.resourceUsage().maxRSS / 1024).toFixed(0).padStart(7)} MB  peak memory`);
}

async function decodeInLanes(file: string, count: number, lanes: number): Promise<void> {
  let left = count;
  const lane = async (): Promise<void> => {
    while (left-- > 0) await decodeOnly(file);
  };
  await Promise.all(Array.from({ length: lanes }, lane));
}

await main();
