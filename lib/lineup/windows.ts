import 'server-only';
import type { Homography } from '@/lib/photo/ground/homography';
import { blur, type Planes } from './views';
import { layGround, makeSearch, type Ground } from './window-search';

/**
 * Where one small window of the earlier photo is found in the later one, relative to where the map puts it:
 * displacement and its 2 x 2 covariance, in pixels of the earlier copy.
 */
export interface Sighting {
  readonly x: number;
  readonly y: number;
  readonly dx: number;
  readonly dy: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
  /** Correlation at the best place, -1..1. */
  readonly peak: number;
}

export interface WindowOptions {
  /** Half the window's edge, pixels: a window is 2 half + 1 wide. */
  readonly half: number;
  /** Largest displacement looked for, pixels each way. */
  readonly reach: number;
  /** Distance between window centres, pixels; 'striking' puts them on stakes, joints and the like instead of a grid. */
  readonly spacing: number | 'striking';
  /** Independent values a window holds (its pixels are smoothed, so far fewer than it has). */
  readonly independent: number;
}

/**
 * Looks for every window of a grid near where the map puts it. Each answer is the mean and covariance of the
 * displacement under the likelihood (1 - correlation^2)^(-independent / 2): sharp for a stake, a long ellipse for a
 * straight edge, as wide as the search for plain turf. Windows that say nothing are left out.
 */
export function sight(before: Planes, after: Planes, map: Homography, windows: readonly WindowOptions[]): Sighting[] {
  const ground = layGround(before, after, map, Math.max(...windows.map((o) => o.half + o.reach)));
  return windows.flatMap((options) => sightOne(before, ground, options));
}

/** A window whose best correlation is lower says nothing. */
const LEAST = 0.35;

function sightOne(before: Planes, ground: Ground, options: WindowOptions): Sighting[] {
  const { half, reach, spacing, independent } = options;
  const search = makeSearch(ground, half, reach, spacing === 'striking', LEAST);
  const found: Sighting[] = [];
  const limit = (reach * reach) / 5;
  const centres = spacing === 'striking' ? strikingPoints(before) : grid(before, half, spacing);
  for (const [x, y] of centres) {
    const best = search(x, y);
    if (best === undefined) continue;
    const s = moments(best.surface, 2 * reach + 1, reach, best.peak, independent);
    if (s.xx + s.yy > 2 * limit && Math.min(s.xx, s.yy) > limit * 0.5) continue;
    found.push({ x, y, ...s, peak: best.peak });
  }
  return found;
}

function grid(planes: Planes, margin: number, spacing: number): [number, number][] {
  const points: [number, number][] = [];
  for (let y = margin; y < planes.height - margin; y += spacing) {
    for (let x = margin; x < planes.width - margin; x += spacing) points.push([x, y]);
  }
  return points;
}

/** Cells across and down in which the most striking points are taken, and how many of each cell. */
const STRIKING = { across: 8, down: 6, each: 2 } as const;

/** Where the photo stands out most from its turf, spread over the photo: stakes, joints, weeds, flags. */
function strikingPoints(planes: Planes): [number, number][] {
  const known = striking.get(planes) ?? findStriking(planes);
  striking.set(planes, known);
  return known;
}

/** The same copy is looked at more than once. */
const striking = new WeakMap<Planes, [number, number][]>();

function findStriking(planes: Planes): [number, number][] {
  const { width: w, height: h, data } = planes;
  const energy = new Float32Array(w * h);
  for (let o = 0, i = 0; o < energy.length; o++, i += 4)
    energy[o] = data[i]! ** 2 + data[i + 1]! ** 2 + data[i + 2]! ** 2;
  const smooth = blur(energy, w, h, 2);
  const cells = new Map<number, [number, number, number][]>();
  for (let y = 2; y < h - 2; y++) {
    for (let x = 2; x < w - 2; x++) {
      const v = smooth[y * w + x]!;
      if (v < 6 || !isPeak(smooth, w, h, x, y, 4)) continue;
      const cell = Math.floor((x * STRIKING.across) / w) + STRIKING.across * Math.floor((y * STRIKING.down) / h);
      const list = cells.get(cell) ?? [];
      list.push([x, y, v]);
      cells.set(cell, list);
    }
  }
  return [...cells.values()].flatMap((list) =>
    list
      .sort((a, b) => b[2] - a[2])
      .slice(0, STRIKING.each)
      .map(([x, y]): [number, number] => [x, y]),
  );
}

function isPeak(values: Float32Array, w: number, h: number, x: number, y: number, radius: number): boolean {
  const v = values[y * w + x]!;
  for (let yy = Math.max(0, y - radius); yy <= Math.min(h - 1, y + radius); yy++) {
    for (let xx = Math.max(0, x - radius); xx <= Math.min(w - 1, x + radius); xx++)
      if (values[yy * w + xx]! > v) return false;
  }
  return true;
}

/** Less likely than the best by this factor counts for nothing. */
const NOTHING = 1e-6;

/** Mean and covariance of the displacement under the likelihood of its correlations. */
function moments(surface: Float64Array, span: number, reach: number, best: number, independent: number) {
  const top = logLikelihood(best, independent);
  // The correlation below which a place counts for nothing, from the likelihood's own formula.
  const least = 1 - Math.exp((-2 / independent) * (top + Math.log(NOTHING)));
  const ruledOut = least > 0 ? Math.sqrt(least) / DAMP : -Infinity;
  let [sum, mx, my, xx, xy, yy] = [0, 0, 0, 0, 0, 0];
  for (let sy = 0; sy < span; sy++) {
    for (let sx = 0; sx < span; sx++) {
      const correlation = surface[sy * span + sx]!;
      if (correlation < ruledOut) continue;
      const p = Math.exp(logLikelihood(correlation, independent) - top);
      const dx = sx - reach;
      const dy = sy - reach;
      sum += p;
      mx += p * dx;
      my += p * dy;
      xx += p * dx * dx;
      xy += p * dx * dy;
      yy += p * dy * dy;
    }
  }
  mx /= sum;
  my /= sum;
  return { dx: mx, dy: my, xx: xx / sum - mx * mx, xy: xy / sum - mx * my, yy: yy / sum - my * my };
}

/**
 * Even a perfect window keeps some doubt, so that a straight edge is not pinned along its length by its own raggedness.
 */
const DAMP = 0.97;

function logLikelihood(correlation: number, independent: number): number {
  const r = correlation > 0 ? Math.min(0.995, correlation * DAMP) : 0;
  return (-independent / 2) * Math.log(1 - r * r);
}
