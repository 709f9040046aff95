import 'server-only';
import type { Homography } from '@/lib/photo/homography';
import { makeWarped, warp } from './refine';
import type { Planes } from './views';

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
  /** Distance between window centres, pixels. */
  readonly spacing: number;
  /** Independent values a window holds (its pixels are smoothed, so far fewer than it has). */
  readonly independent: number;
}

/**
 * Looks for every window of a grid near where the map puts it. Each answer is the mean and covariance of the
 * displacement under the likelihood (1 - correlation^2)^(-independent / 2): sharp for a stake, a long ellipse for a
 * straight edge, as wide as the search for plain turf. Windows that say nothing are left out.
 */
export function sight(before: Planes, after: Planes, map: Homography, options: WindowOptions): Sighting[] {
  const { half, reach, spacing, independent } = options;
  const search = makeSearch(before, after, map, half, reach);
  const margin = half + reach;
  const found: Sighting[] = [];
  const limit = (reach * reach) / 5;
  for (let y = margin; y < before.height - margin; y += spacing) {
    for (let x = margin; x < before.width - margin; x += spacing) {
      const best = search(x, y);
      if (best === undefined) continue;
      const s = moments(best.surface, 2 * reach + 1, reach, best.peak, independent);
      if (s.xx + s.yy > 2 * limit && Math.min(s.xx, s.yy) > limit * 0.5) continue;
      found.push({ x, y, ...s, peak: best.peak });
    }
  }
  return found;
}

/** Correlations of one window at every displacement, row by row from -reach to reach; the array is reused. */
export interface Surface {
  readonly surface: Float64Array;
  readonly peak: number;
}

/**
 * Makes a function that correlates the window centred at (x, y) of the earlier copy with every place within reach of
 * where the map puts it. It answers undefined where less than 85 % of the window is seen in both photos.
 */
export function makeSearch(
  before: Planes, after: Planes, map: Homography, half: number, reach: number,
): (x: number, y: number) => Surface | undefined {
  const { width: w, height: h } = before;
  const warped = makeWarped(w * h);
  warp(before, after, map, warped);
  for (let o = 0; o < w * h; o++) {
    if (warped.seen[o] === 1) continue;
    warped.plane[0][o] = 0;
    warped.plane[1][o] = 0;
    warped.plane[2][o] = 0;
  }
  const sums = warped.plane.map((p) => integral(p, w, h, false));
  const squares = warped.plane.map((p) => integral(p, w, h, true));
  const seen = integral(Float32Array.from(warped.seen), w, h, false);
  const side = 2 * half + 1;
  const area = side * side;
  const span = 2 * reach + 1;
  const share = Math.ceil(side / STEP) ** 2 / area;
  const surface = new Float64Array(span * span);
  const template = [new Float32Array(area), new Float32Array(area), new Float32Array(area)];
  return (x, y) => {
    if (boxSum(seen, w, x - half, y - half, side) < 0.85 * area) return undefined;
    let own = 0;
    for (let c = 0; c < 3; c++) own += PLANE_WEIGHTS[c]! * cut(before.plane[c]!, w, x - half, y - half, side, template[c]!);
    if (own < 1e-6) return undefined;
    let peak = -1;
    for (let sy = 0; sy < span; sy++) {
      for (let sx = 0; sx < span; sx++) {
        const left = x - half + sx - reach;
        const top = y - half + sy - reach;
        let cross = 0;
        let other = 0;
        for (let c = 0; c < 3; c++) {
          cross += PLANE_WEIGHTS[c]! * product(template[c]!, warped.plane[c]!, w, left, top, side);
          const sum = boxSum(sums[c]!, w, left, top, side);
          other += PLANE_WEIGHTS[c]! * (boxSum(squares[c]!, w, left, top, side) - (sum * sum) / area);
        }
        const correlation = other > 1e-6 * area ? cross / Math.sqrt(own * other * share) : 0;
        surface[sy * span + sx] = correlation;
        if (correlation > peak) peak = correlation;
      }
    }
    return { surface, peak };
  };
}

/** Mean and covariance of the displacement under the likelihood of its correlations. */
function moments(surface: Float64Array, span: number, reach: number, best: number, independent: number) {
  const top = logLikelihood(best, independent);
  let [sum, mx, my, xx, xy, yy] = [0, 0, 0, 0, 0, 0];
  for (let sy = 0; sy < span; sy++) {
    for (let sx = 0; sx < span; sx++) {
      const p = Math.exp(logLikelihood(surface[sy * span + sx]!, independent) - top);
      if (p < 1e-6) continue;
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

function logLikelihood(correlation: number, independent: number): number {
  const r = correlation > 0 ? Math.min(0.995, correlation) : 0;
  return (-independent / 2) * Math.log(1 - r * r);
}

/** Lightness, red against green, blue against green. */
const PLANE_WEIGHTS = [1.5, 1, 1] as const;

/** Every STEP-th pixel and row stands for the rest: the planes are smoothed more widely than that. */
const STEP = 2;

/** Copies a square, thinned and freed of its mean, into `to`; returns its sum of squares. */
function cut(from: Float32Array, w: number, left: number, top: number, side: number, to: Float32Array): number {
  let sum = 0;
  let i = 0;
  for (let y = 0; y < side; y += STEP) {
    const row = (top + y) * w + left;
    for (let x = 0; x < side; x += STEP) {
      const v = from[row + x]!;
      to[i++] = v;
      sum += v;
    }
  }
  const mean = sum / i;
  let squares = 0;
  for (let k = 0; k < i; k++) {
    const v = to[k]! - mean;
    to[k] = v;
    squares += v * v;
  }
  return squares;
}

function product(template: Float32Array, image: Float32Array, w: number, left: number, top: number, side: number): number {
  let sum = 0;
  let i = 0;
  for (let y = 0; y < side; y += STEP) {
    const row = (top + y) * w + left;
    for (let x = 0; x < side; x += STEP) sum += template[i++]! * image[row + x]!;
  }
  return sum;
}

/** Summed-area table, (w + 1) x (h + 1). */
function integral(from: Float32Array, w: number, h: number, squared: boolean): Float64Array {
  const table = new Float64Array((w + 1) * (h + 1));
  for (let y = 0; y < h; y++) {
    let row = 0;
    for (let x = 0; x < w; x++) {
      const v = from[y * w + x]!;
      row += squared ? v * v : v;
      table[(y + 1) * (w + 1) + x + 1] = table[y * (w + 1) + x + 1]! + row;
    }
  }
  return table;
}

function boxSum(table: Float64Array, w: number, left: number, top: number, side: number): number {
  const stride = w + 1;
  const a = top * stride + left;
  const b = (top + side) * stride + left;
  return table[b + side]! - table[b]! - table[a + side]! + table[a]!;
}
