import 'server-only';
import { compose, type Homography } from '@/lib/photo/homography';
import { makeWarped, warp, type Warped } from './refine';
import { blur, type Planes } from './views';

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
export function strikingPoints(planes: Planes): [number, number][] {
  const { width: w, height: h, plane: [p0, p1, p2] } = planes;
  const energy = new Float32Array(w * h);
  for (let o = 0; o < energy.length; o++) energy[o] = p0[o]! ** 2 + p1[o]! ** 2 + p2[o]! ** 2;
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
  return [...cells.values()].flatMap((list) => list.sort((a, b) => b[2] - a[2]).slice(0, STRIKING.each).map(([x, y]): [number, number] => [x, y]));
}

function isPeak(values: Float32Array, w: number, h: number, x: number, y: number, radius: number): boolean {
  const v = values[y * w + x]!;
  for (let yy = Math.max(0, y - radius); yy <= Math.min(h - 1, y + radius); yy++) {
    for (let xx = Math.max(0, x - radius); xx <= Math.min(w - 1, x + radius); xx++) if (values[yy * w + xx]! > v) return false;
  }
  return true;
}

/** Correlations of one window at every displacement, row by row from -reach to reach; the array is reused. */
export interface Surface {
  readonly surface: Float64Array;
  readonly peak: number;
}

/** A window whose best correlation is lower says nothing. */
const LEAST = 0.35;

/** Least share of a window that must be seen in both photos at a displacement for it to count. */
const SEEN = 0.6;
const MOSTLY = 0.85;

/** Both photos in the earlier one's frame with a border of `pad` pixels, and the tables that make sums quick. */
export interface Ground {
  readonly pad: number;
  readonly framed: Planes;
  readonly warped: Warped;
  readonly sums: readonly Float64Array[];
  readonly squares: Float64Array;
  readonly seenBefore: Float64Array;
  readonly seenAfter: Float64Array;
}

export function layGround(before: Planes, after: Planes, map: Homography, pad: number): Ground {
  const framed = padded(before, pad);
  const { width: w, height: h } = framed;
  // Fresh planes are 0, which is what a place not seen counts as.
  const warped = makeWarped(w * h);
  warp(framed, after, compose(map, [1, 0, -pad, 0, 1, -pad, 0, 0, 1]), warped, true);
  return {
    pad, framed, warped,
    sums: warped.plane.map((p) => integral(p, w, h)),
    squares: integral(weightedSquares(warped), w, h),
    seenBefore: integral(framed.seen, w, h),
    seenAfter: integral(warped.seen, w, h),
  };
}

/**
 * Makes a function that correlates the window centred at (x, y) of the earlier copy with every place within reach of
 * where the map puts it, beyond the earlier copy's own frame too. It answers undefined where less than 85 % of the
 * window is seen (the rest is taken as featureless), or where nothing within reach comes to `least`; with `cutOff`, where less than 60 % is (only what is seen in both is
 * then compared, which is slower).
 */
export function makeSearch(
  { pad, framed, warped, sums, squares, seenBefore, seenAfter }: Ground, half: number, reach: number, cutOff: boolean, least: number,
): (x: number, y: number) => Surface | undefined {
  const w = framed.width;
  const side = 2 * half + 1;
  const area = side * side;
  const span = 2 * reach + 1;
  const share = Math.ceil(side / STEP) ** 2 / area;
  const surface = new Float64Array(span * span);
  const template = [new Float32Array(area), new Float32Array(area), new Float32Array(area)];
  return (x, y) => {
    const [left0, top0] = [x + pad - half, y + pad - half];
    const own0 = boxSum(seenBefore, w, left0, top0, side);
    if (own0 < (cutOff ? SEEN : MOSTLY) * area) return undefined;
    if (!cutOff && boxSum(seenAfter, w, left0, top0, side) < MOSTLY * area) return undefined;
    const around = side + 2 * reach;
    const whole = !cutOff || (own0 > area - 0.5 && boxSum(seenAfter, w, left0 - reach, top0 - reach, around) > around * around - 0.5);
    let own = 0;
    for (let c = 0; c < 3; c++) own += PLANE_WEIGHTS[c]! * cut(framed.plane[c]!, w, left0, top0, side, template[c]!);
    if (own < 1e-6) return undefined;
    const at = (sx: number, sy: number): number => {
      const left = left0 + sx - reach;
      const top = top0 + sy - reach;
      if (!whole) return boxSum(seenAfter, w, left, top, side) >= SEEN * area ? partly(framed, warped, w, left0, top0, left, top, side) : 0;
      let cross = 0;
      let other = boxSum(squares, w, left, top, side);
      for (let c = 0; c < 3; c++) {
        cross += PLANE_WEIGHTS[c]! * product(template[c]!, warped.plane[c]!, w, left, top, side);
        const sum = boxSum(sums[c]!, w, left, top, side);
        other -= (PLANE_WEIGHTS[c]! * sum * sum) / area;
      }
      return other > 1e-6 * area ? cross / Math.sqrt(own * other * share) : 0;
    };
    // The planes are smooth: every other displacement first, then the rest near those that came close to the best.
    let peak = -1;
    for (let sy = 0; sy < span; sy += 2) {
      for (let sx = 0; sx < span; sx += 2) {
        const correlation = at(sx, sy);
        surface[sy * span + sx] = correlation;
        if (correlation > peak) peak = correlation;
      }
    }
    if (peak < least) return undefined;
    const close = least > 0 ? CLOSE * peak : -1;
    const coarsePeak = peak;
    for (let sy = 0; sy < span; sy++) {
      for (let sx = sy % 2 === 0 ? 1 : 0; sx < span; sx += sy % 2 === 0 ? 2 : 1) {
        const i = sy * span + sx;
        if (coarsePeak > 0 && nearbyBest(surface, span, sx, sy) < close) {
          surface[i] = 0;
          continue;
        }
        const correlation = at(sx, sy);
        surface[i] = correlation;
        if (correlation > peak) peak = correlation;
      }
    }
    return { surface, peak };
  };
}

/** Displacements between two that were tried are tried too when either came this close to the best, as a share of it. */
const CLOSE = 0.6;

/** The best of the tried (even) displacements beside one that was not. */
function nearbyBest(surface: Float64Array, span: number, sx: number, sy: number): number {
  const [x0, x1] = sx % 2 === 0 ? [sx, sx] : [sx - 1, Math.min(span - 1, sx + 1)];
  const [y0, y1] = sy % 2 === 0 ? [sy, sy] : [sy - 1, Math.min(span - 1, sy + 1)];
  return Math.max(surface[y0 * span + x0]!, surface[y0 * span + x1]!, surface[y1 * span + x0]!, surface[y1 * span + x1]!);
}

/** Correlation over those pixels only that are seen in both; 0 when they are fewer than SEEN of the window. */
function partly(before: Planes, warped: Warped, w: number, left0: number, top0: number, left: number, top: number, side: number): number {
  let [cross, own, other, n] = [0, 0, 0, 0];
  for (let c = 0; c < 3; c++) {
    const [p, q] = [before.plane[c]!, warped.plane[c]!];
    let [a, b, aa, bb, ab] = [0, 0, 0, 0, 0];
    n = 0;
    for (let y = 0; y < side; y += STEP) {
      for (let x = 0; x < side; x += STEP) {
        const [i, k] = [(top0 + y) * w + left0 + x, (top + y) * w + left + x];
        if (before.seen[i] === 0 || warped.seen[k] === 0) continue;
        const [u, v] = [p[i]!, q[k]!];
        n++;
        a += u;
        b += v;
        aa += u * u;
        bb += v * v;
        ab += u * v;
      }
    }
    cross += PLANE_WEIGHTS[c]! * (ab - (a * b) / Math.max(1, n));
    own += PLANE_WEIGHTS[c]! * (aa - (a * a) / Math.max(1, n));
    other += PLANE_WEIGHTS[c]! * (bb - (b * b) / Math.max(1, n));
  }
  if (n < SEEN * Math.ceil(side / STEP) ** 2 || own < 1e-6 || other < 1e-6) return 0;
  return (cross / Math.sqrt(own * other)) * Math.sqrt(n / Math.ceil(side / STEP) ** 2);
}

/** The planes with a border that nothing is seen in. */
function padded(planes: Planes, pad: number): Planes {
  const [w, h] = [planes.width + 2 * pad, planes.height + 2 * pad];
  const frame = <T extends Float32Array | Uint8Array>(from: T, to: T): T => {
    for (let y = 0; y < planes.height; y++) to.set(from.subarray(y * planes.width, (y + 1) * planes.width), (y + pad) * w + pad);
    return to;
  };
  const plane = planes.plane.map((p) => frame(p, new Float32Array(w * h))) as unknown as Planes['plane'];
  return { width: w, height: h, scale: planes.scale, plane, seen: frame(planes.seen, new Uint8Array(w * h)) };
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

/** Even a perfect window keeps some doubt, so that a straight edge is not pinned along its length by its own raggedness. */
const DAMP = 0.97;

function logLikelihood(correlation: number, independent: number): number {
  const r = correlation > 0 ? Math.min(0.995, correlation * DAMP) : 0;
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

function weightedSquares({ plane: [p0, p1, p2] }: Warped): Float32Array {
  return p0.map((v, o) => PLANE_WEIGHTS[0] * v * v + PLANE_WEIGHTS[1] * p1[o]! * p1[o]! + PLANE_WEIGHTS[2] * p2[o]! * p2[o]!);
}

/** Summed-area table, (w + 1) x (h + 1). */
function integral(from: Float32Array | Uint8Array, w: number, h: number): Float64Array {
  const table = new Float64Array((w + 1) * (h + 1));
  for (let y = 0; y < h; y++) {
    let row = 0;
    for (let x = 0; x < w; x++) {
      row += from[y * w + x]!;
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
