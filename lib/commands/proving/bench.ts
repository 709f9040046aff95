import 'server-only';
import { spawnSync } from 'node:child_process';
import { linkSync, mkdtempSync, writeFileSync } from 'node:fs';
import { rm, writeFile } from 'node:fs/promises';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import path from 'node:path';
import { benchJpeg, decodeOnly } from '../../darkroom/bench-photo';
import { decodePhoto } from '../../darkroom/decode';
import { scoreHere } from '../../darkroom/score';
import { scorePhoto, stopScorers } from '../../darkroom/scorer';
import type { Pixels } from '../../photo/raster/pixels';
import { DEFAULT_PARAMETERS, measurePlots, type PlotToMeasure } from '../../photo/measure/measure';
import { scaled, scaleFor, type PhotoScale } from '../../photo/measure/scale';
import { lookAtQuality } from '../../photo/measure/quality';
import { seededRandom } from '../../stats/random';
import { cost, runCost, line, middle, peakMemory, type Cost } from './bench-cost';
import { benchPairs } from './bench-pair';
import { benchServerStart } from './bench-start';

/**
 * npm run bench: what reading a photo of 16 megapixels costs beside decoding it, what 24 cost beside an OpenCV script
 * that makes nothing but the index, how soon a command is there, and what lining up and comparing pairs of 12
 * megapixels takes; ratios of one run on one machine, medians of RUNS, the target beside each. The photo is drawn:
 * grass-like grain over stripes, as JPEG of quality 90 and 4:2:0 like a phone's. Six strips side by side. The script
 * (bench-opencv.py) needs Debian's python3-opencv; without it that part says that it was skipped.
 */
const WIDTH = 4608;
const HEIGHT = 3456;
const WARM_UP = 3;
const RUNS = 5;
const BATCH = 24;
/** Targets: the most a ratio, or a time in seconds, should be. */
const AIM = { one: 1.25, batch: 1.15, script: 0.6, startS: 0.3 } as const;

function drawGrass(): Uint8Array {
  const random = seededRandom('bench');
  // One tile of grain laid again and again keeps the drawing quick; its size shares no factor with the photo's.
  const TILE = 509;
  const grain = Int8Array.from({ length: TILE * TILE }, () =>
    Math.max(-100, Math.min(100, Math.round(22 * random.normal()))),
  );
  const data = new Uint8Array(WIDTH * HEIGHT * 3);
  for (let y = 0, at = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++, at += 3) {
      const blade =
        (grain[(y % TILE) * TILE + (x % TILE)] as number) +
        (grain[((y >> 2) % TILE) * TILE + ((x >> 2) % TILE)] as number) / 2;
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

const edge = (i: number, y: 570 | 3320): [number, number] => [y === 570 ? 800 + i * 500 : 200 + i * 700, y];

/** Six strips in perspective that cover about two thirds of the photo. */
function sixStrips(): PlotToMeasure[] {
  return Array.from({ length: 6 }, (_, i) => ({
    id: String.fromCharCode(65 + i),
    polygon: [edge(i, 570), edge(i + 0.97, 570), edge(i + 0.97, 3320), edge(i, 3320)],
    groundMetres: [
      [i, 3],
      [i + 0.97, 3],
      [i + 0.97, 0],
      [i, 0],
    ],
  }));
}

function ratios(part: Cost, whole: Cost, what: string, aim: number): string {
  const ratio = part.wallMs / whole.wallMs;
  return `${ratio.toFixed(2)} × ${what} by the clock, ${(part.cpuMs / whole.cpuMs).toFixed(2)} × of the processors (target ${aim}${ratio > aim ? ', missed' : ''})`;
}

async function main(): Promise<void> {
  const jpeg = await benchJpeg({ width: WIDTH, height: HEIGHT, channels: 3, space: 'srgb', data: drawGrass() });
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-'));
  const file = path.join(folder, 'grass.jpg');
  await writeFile(file, jpeg);
  const plots = sixStrips();
  console.log(`Load average ${loadavg()[0]?.toFixed(1)} on ${availableParallelism()} processors before the start.`);
  try {
    await benchPairs(folder);
    await onePhoto(file, plots, jpeg.length);
    await batch(file, plots);
    await stopScorers();
    commands(folder, file, plots);
    await benchServerStart(folder);
    console.log(
      '\nMeasured elsewhere: uploads, npm run load:uploads; every page of a large diary, npm run load; the first view on a phone, tests/e2e/first-view.test.ts.',
    );
  } finally {
    await stopScorers();
    await rm(folder, { recursive: true, force: true });
  }
}

/**
 * What sharp takes to decode and nothing else, and each part of scoring, in turn in every run; the first runs warm up.
 */
async function onePhoto(file: string, plots: readonly PlotToMeasure[], bytes: number): Promise<void> {
  const runs: Record<'whole' | 'decode' | 'ours' | 'measure' | 'cautions' | 'all', Cost[]> = {
    whole: [],
    decode: [],
    ours: [],
    measure: [],
    cautions: [],
    all: [],
  };
  const scale = scaleFor({ width: WIDTH, height: HEIGHT });
  for (let run = -WARM_UP; run < RUNS; run++) {
    const whole = await cost(() => decodeOnly(file, 1));
    const decode = await cost(() => decodeOnly(file, scale));
    const opened: Pixels[] = [];
    const ours = await cost(async () => opened.push((await decodePhoto(file, { scale })).pixels));
    const decoded = opened[0]!;
    const measure = await cost(() => measurePlots(decoded, plots, { ...DEFAULT_PARAMETERS, scale }));
    const cautions = await cost(() =>
      lookAtQuality(
        decoded,
        plots.map(({ polygon }) => scaled(polygon, scale)),
      ),
    );
    const all = await cost(() => scoreHere({ path: file, plots }));
    if (run < 0) continue;
    for (const [name, found] of Object.entries({ whole, decode, ours, measure, cautions, all }))
      runs[name as keyof typeof runs].push(found);
  }
  const decode = middle(runs.decode);
  const all = middle(runs.all);
  console.log(
    `One photo, ${WIDTH} × ${HEIGHT} JPEG of ${(bytes / 1e6).toFixed(1)} MB, six strips over two thirds of it, median of ${RUNS} runs`,
  );
  console.log('  clock    processors');
  line(middle(runs.whole), 'sharp decoding it whole, nothing else');
  line(decode, `sharp decoding it at 1/${scale}, nothing else`);
  line(middle(runs.ours), 'decodePhoto (header, orientation, profile)');
  line(middle(runs.measure), 'measurePlots (kernel, intervals)');
  line(middle(runs.cautions), 'cautions');
  line(all, `all of scoring: ${ratios(all, decode, 'decoding what it decodes', AIM.one)}`);
  peakMemory();
}

/** Both ways on all processors, in turn; the workers are warm before the first round. */
async function batch(file: string, plots: readonly PlotToMeasure[]): Promise<void> {
  const threads = availableParallelism();
  const scale = scaleFor({ width: WIDTH, height: HEIGHT });
  const scoreAll = (count: number): Promise<unknown> =>
    Promise.all(Array.from({ length: count }, () => scorePhoto({ path: file, plots })));
  await scoreAll(threads * WARM_UP);
  const decoding: Cost[] = [];
  const scoring: Cost[] = [];
  for (let round = 0; round < RUNS; round++) {
    decoding.push(await cost(() => decodeInLanes(file, BATCH, threads, scale)));
    scoring.push(await cost(() => scoreAll(BATCH)));
  }
  const [decode, score] = [middle(decoding), middle(scoring)];
  console.log(`\n${BATCH} photos on ${threads} processors, median of ${RUNS} rounds`);
  console.log('  clock    processors');
  line(decode, `sharp decoding them at 1/${scale}, nothing else, ${threads} at a time`);
  line(score, `scoring them on workers: ${ratios(score, decode, 'decoding what it decodes', AIM.batch)}`);
  peakMemory();
}

/** The command as a person runs it, start and all, beside the script, in turn. */
function commands(folder: string, file: string, plots: readonly PlotToMeasure[]): void {
  const outlines = path.join(folder, 'outlines.json');
  writeFileSync(outlines, JSON.stringify({ plots: plots.map(({ id, polygon }) => ({ id, corners: polygon })) }));
  const photos = Array.from({ length: BATCH }, (_, index) => path.join(folder, `${index}.jpg`));
  for (const photo of photos) linkSync(file, photo);
  const measure = (...more: string[]) => runCost(process.execPath, ['lib/commands/run.mjs', 'measure', ...more]);
  const python = ['python3', '/usr/bin/python3'].find(
    (one) => spawnSync(one, ['-c', 'import cv2, numpy']).status === 0,
  );
  const script = () =>
    python === undefined ? null : runCost(python, ['lib/commands/proving/bench-opencv.py', outlines, ...photos]);
  const small = path.join(folder, 'small.txt');
  const runs: Record<'ours' | 'script' | 'node' | 'start', Cost[]> = { ours: [], script: [], node: [], start: [] };
  for (let run = -1; run < RUNS; run++) {
    const found = {
      ours: measure(...photos, '--outlines', outlines, '--json'),
      script: script(),
      node: runCost(process.execPath, ['-e', '0']),
      start: runCost('bash', ['-c', `"${process.execPath}" lib/commands/run.mjs measure "${small}" || true`]),
    };
    if (run >= 0)
      for (const [name, one] of Object.entries(found)) if (one !== null) runs[name as keyof typeof runs].push(one);
  }
  console.log(`\nAs commands, start and all, median of ${RUNS} runs`);
  console.log('  clock    processors');
  const ours = middle(runs.ours);
  if (python !== undefined) {
    line(middle(runs.script), `OpenCV and numpy, two processes, ${BATCH} photos, only the index`);
    line(ours, `measure of the same: ${ratios(ours, middle(runs.script), 'the script', AIM.script)}`);
  } else {
    line(ours, `measure of ${BATCH} photos`);
    console.log(
      '           The OpenCV script was skipped: python3 without cv2 (Debian: apt-get install python3-opencv).',
    );
  }
  line(middle(runs.node), 'node, doing nothing');
  const start = middle(runs.start);
  line(
    start,
    `measure of a file that isn't there: start and end (target ${AIM.startS} s${start.wallMs > AIM.startS * 1000 ? ', missed by the clock' : ''}${start.cpuMs > AIM.startS * 1000 ? ', missed of the processors' : ''})`,
  );
  console.log(`Load average ${loadavg()[0]?.toFixed(1)} at the end.`);
}

async function decodeInLanes(file: string, count: number, lanes: number, scale: PhotoScale): Promise<void> {
  let left = count;
  const lane = async (): Promise<void> => {
    while (left-- > 0) await decodeOnly(file, scale);
  };
  await Promise.all(Array.from({ length: lanes }, lane));
}

await main();
