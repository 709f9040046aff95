import { quadOf } from '../../photo/raster/points';
import 'server-only';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFile, mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { benchJpeg, decodeOnly } from '../../darkroom/bench-photo';
import { demoScenario, type DemoPhoto, type DemoScenario } from '../../demo/scenario';
import { drawLawnPhoto } from '../../demo/lawn-renderer';
import { applyHomography, homographyFrom4 } from '../../photo/ground/homography';
import type { Point } from '../../photo/raster/pixels';
import onWorker from '../../work/photos/comparer-worker';
import type { OutlinesFile } from '../../forms/outlines-file';
import { cost, runCost, line, middle, type Cost } from './bench-cost';
import { peakBytesOf } from './peak-bytes';

/**
 * Pairs of 12 megapixels, lined up and compared: the demo's lawn drawn at a phone's size on two days, three strips,
 * then twelve plots of them. Files are copied under other names where a photo at hand would be taken up again. Targets
 * in seconds, on two processors.
 */
const WIDTH = 4032;
const AIM = { warmS: 1.5, coldS: 2.5, twelveS: 2.5, batchS: 0.9, peakMb: 600 } as const;
const RUNS = 5;
const WARM_UP = 3;
const PAIRS = 24;

/** A photo of the demo as a camera of more pixels would take it. */
export function enlarged(photo: DemoPhoto): DemoPhoto {
  const by = WIDTH / photo.widthPx;
  return {
    ...photo,
    widthPx: WIDTH,
    heightPx: Math.round(photo.heightPx * by),
    pose: { ...photo.pose, focalPx: photo.pose.focalPx * by },
  };
}

type Plots = OutlinesFile['plots'];

/** The strips, each cut into `parts` along its length. */
export function plotsOf({ strips }: DemoScenario, photo: DemoPhoto, parts: number): Plots {
  const by = WIDTH / photo.widthPx;
  return strips.flatMap(({ id, isCheck, polygonM }) => {
    const corners = photo.plotCorners[id].map(([x, y]): Point => [(x + 0.5) * by - 0.5, (y + 0.5) * by - 0.5]);
    const [toPhoto, toMetres] = [
      homographyFrom4(UNIT, corners),
      homographyFrom4(
        UNIT,
        polygonM.map(([x, y]): Point => [x, y]),
      ),
    ];
    if (!toPhoto || !toMetres) throw new Error('the demo has a strip without area');
    return Array.from({ length: parts }, (_, k) => {
      const part: Point[] = UNIT.map(([u, v]) => [u, (k + v) / parts]);
      const through = (map: typeof toPhoto) => quadOf(part.map((p) => applyHomography(map, p)));
      return {
        id: parts === 1 ? id : `${id}${k + 1}`,
        check: isCheck && k === 0,
        corners: through(toPhoto),
        groundMetres: through(toMetres),
      };
    });
  });
}

const UNIT: readonly Point[] = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
];

export async function benchPairs(folder: string): Promise<void> {
  const scenario = demoScenario();
  const [first, second] = [scenario.photos[0]!, scenario.photos[2]!];
  const [before, after] = [path.join(folder, 'before.jpg'), path.join(folder, 'after.jpg')];
  for (const [photo, file] of [
    [first, before],
    [second, after],
  ] as const)
    await writeFile(file, await benchJpeg(drawLawnPhoto(enlarged(photo), scenario.strips)));
  const [three, twelve] = [plotsOf(scenario, first, 1), plotsOf(scenario, first, 4)];

  const runs: Record<'decode' | 'pair' | 'many', Cost[]> = { decode: [], pair: [], many: [] };
  let status = '';
  for (let run = -WARM_UP; run < RUNS; run++) {
    const decode = await cost(() => Promise.all([decodeOnly(before, 1), decodeOnly(after, 1)]));
    const pair = await cost(async () => {
      status = await compared(await copied(before, `pair${run}`), await copied(after, `pair${run}`), three);
    });
    const many = await cost(async () =>
      compared(await copied(before, `many${run}`), await copied(after, `many${run}`), twelve),
    );
    if (run < 0) continue;
    for (const [name, found] of Object.entries({ decode, pair, many })) runs[name as keyof typeof runs].push(found);
  }
  const [decode, pair, many] = [middle(runs.decode), middle(runs.pair), middle(runs.many)];
  console.log(
    `Pairs of 12 megapixels (${status === 'ok' ? 'lined up' : 'not lined up'}), median of ${RUNS} runs after ${WARM_UP}`,
  );
  console.log('  clock    processors');
  line(decode, 'sharp decoding both, nothing else');
  line(pair, `lined up and compared, three plots: ${held(pair, decode, AIM.warmS)}`);
  line(many, `twelve plots: ${held(many, decode, AIM.twelveS)}`);

  const outlines = path.join(folder, 'pair.outlines.json');
  await writeFile(outlines, JSON.stringify({ plots: three }));
  const command = ['lib/commands/run.mjs', 'compare', before, after, '--outlines', outlines];
  const cold = runCost(process.execPath, command);
  if (cold) line(cold, `the command, start and all: ${held(cold, decode, AIM.coldS)}`);
  const peakMb = (await peakOf(command)) / 1e6;
  console.log(
    `${peakMb.toFixed(0).padStart(7)} MB  peak memory of the command (target ${AIM.peakMb} MB${peakMb > AIM.peakMb ? ', missed' : ''})`,
  );

  const pairs = path.join(folder, 'pairs');
  for (let k = 0; k < PAIRS; k++) {
    const to = path.join(pairs, String(k).padStart(2, '0'));
    await mkdir(to, { recursive: true });
    await Promise.all([copyFile(before, path.join(to, 'before.jpg')), copyFile(after, path.join(to, 'after.jpg'))]);
  }
  const all = runCost(process.execPath, ['lib/commands/run.mjs', 'compare', pairs, '--outlines', outlines]);
  if (all) {
    const each = { wallMs: all.wallMs / PAIRS, cpuMs: all.cpuMs / PAIRS };
    line(each, `each of a folder of ${PAIRS}: ${held(each, decode, AIM.batchS)}`);
  }
}

/** The most memory a command holds, looked at while it runs: it may hold a little more between two looks at its end. */
async function peakOf(command: readonly string[]): Promise<number> {
  const child = spawn(process.execPath, command, { stdio: 'ignore' });
  let most = 0;
  const look = setInterval(() => {
    most = Math.max(most, peakBytesOf(child.pid));
  }, 10);
  await once(child, 'exit');
  clearInterval(look);
  return most;
}

async function copied(file: string, name: string): Promise<string> {
  const to = `${file}.${name}.jpg`;
  await copyFile(file, to);
  return to;
}

async function compared(before: string, after: string, plots: Plots): Promise<string> {
  const answer = await onWorker({ compare: { before, after, outlines: { plots } } });
  if (!('compared' in answer)) throw new Error('failed' in answer ? answer.failed : 'the pair was not compared');
  return answer.compared.registration.status;
}

function held(part: Cost, decode: Cost, aimS: number): string {
  return `${(part.wallMs / decode.wallMs).toFixed(1)} × decoding by the clock, ${(part.cpuMs / decode.cpuMs).toFixed(1)} × of the processors (target ${aimS} s${part.wallMs > 1000 * aimS ? ', missed' : ''})`;
}
