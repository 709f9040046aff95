import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/homography';
import type { Planes } from './views';
import { makeWarped, warp, type Warped } from './warp';
import { summedArea } from './summed-area';

/** Correlations of one window at every displacement, row by row from -reach to reach; the array is reused. */
export interface Surface {
  readonly surface: Float64Array;
  readonly peak: number;
}

/** Least share of a window that must be seen in both photos at a displacement for it to count. */
const SEEN = 0.6;
const MOSTLY = 0.85;

/** Both photos in the earlier one's frame with a border of `pad` pixels, and the tables that make sums quick. */
export interface Ground {
  readonly pad: number;
  readonly framed: Planes;
  readonly warped: Warped;
  /** The same planes, three values a pixel: what is compared lies together. */
  readonly own: Float32Array;
  readonly other: Float32Array;
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
  warp(framed, after, composeHomographies(map, [1, 0, -pad, 0, 1, -pad, 0, 0, 1]), warped, true);
  return {
    pad, framed, warped,
    own: interleaved(framed.plane),
    other: interleaved(warped.plane),
    sums: warped.plane.map((p) => summedArea(p, w, h)),
    squares: summedArea(weightedSquares(warped), w, h),
    seenBefore: summedArea(framed.seen, w, h),
    seenAfter: summedArea(warped.seen, w, h),
  };
}

/**
 * Makes a function that correlates the window centred at (x, y) of the earlier copy with every place within reach of
 * where the map puts it, beyond the earlier copy's own frame too. It answers undefined where less than 85 % of the
 * window is seen (the rest is taken as featureless), or where nothing within reach comes to `least`; with `cutOff`, where less than 60 % is (only what is seen in both is
 * then compared, which is slower).
 */
export function makeSearch(
  { pad, framed, warped, own: ownPixels, other: otherPixels, sums, squares, seenBefore, seenAfter }: Ground, half: number, reach: number, cutOff: boolean, least: number,
): (x: number, y: number) => Surface | undefined {
  const w = framed.width;
  const side = 2 * half + 1;
  const area = side * side;
  const span = 2 * reach + 1;
  const share = Math.ceil(side / STEP) ** 2 / area;
  const surface = new Float64Array(span * span);
  const template = new Float32Array(3 * Math.ceil(side / STEP) ** 2);
  const [sums0, sums1, sums2] = sums as [Float64Array, Float64Array, Float64Array];
  const [weight0, weight1, weight2] = [PLANE_WEIGHTS[0] / area, PLANE_WEIGHTS[1] / area, PLANE_WEIGHTS[2] / area];
  return (x, y) => {
    const [left0, top0] = [x + pad - half, y + pad - half];
    const own0 = boxSum(seenBefore, w, left0, top0, side);
    if (own0 < (cutOff ? SEEN : MOSTLY) * area) return undefined;
    if (!cutOff && boxSum(seenAfter, w, left0, top0, side) < MOSTLY * area) return undefined;
    const around = side + 2 * reach;
    const whole = !cutOff || (own0 > area - 0.5 && boxSum(seenAfter, w, left0 - reach, top0 - reach, around) > around * around - 0.5);
    const own = cut(ownPixels, w, left0, top0, side, template);
    if (own < 1e-6) return undefined;
    const at = (sx: number, sy: number): number => {
      const left = left0 + sx - reach;
      const top = top0 + sy - reach;
      if (!whole) {
        if (boxSum(seenAfter, w, left, top, side) < SEEN * area) return 0;
        return partly(ownPixels, otherPixels, framed.seen, warped.seen, w, left0, top0, left, top, side);
      }
      const s0 = boxSum(sums0, w, left, top, side);
      const s1 = boxSum(sums1, w, left, top, side);
      const s2 = boxSum(sums2, w, left, top, side);
      const other = boxSum(squares, w, left, top, side) - weight0 * s0 * s0 - weight1 * s1 * s1 - weight2 * s2 * s2;
      return other > 1e-6 * area ? product(template, otherPixels, w, left, top, side) / Math.sqrt(own * other * share) : 0;
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
function partly(
  before: Float32Array, after: Float32Array, seenBefore: Uint8Array, seenAfter: Uint8Array, w: number, left0: number, top0: number, left: number, top: number, side: number,
): number {
  let [n, a0, a1, a2, b0, b1, b2] = [0, 0, 0, 0, 0, 0, 0];
  let [aa0, aa1, aa2, bb0, bb1, bb2, ab0, ab1, ab2] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let y = 0; y < side; y += STEP) {
    let i = (top0 + y) * w + left0;
    let k = (top + y) * w + left;
    for (let x = 0; x < side; x += STEP, i += STEP, k += STEP) {
      if ((seenBefore[i]! & seenAfter[k]!) === 0) continue;
      n++;
      const u0 = before[3 * i]!;
      const u1 = before[3 * i + 1]!;
      const u2 = before[3 * i + 2]!;
      const v0 = after[3 * k]!;
      const v1 = after[3 * k + 1]!;
      const v2 = after[3 * k + 2]!;
      a0 += u0;
      a1 += u1;
      a2 += u2;
      b0 += v0;
      b1 += v1;
      b2 += v2;
      aa0 += u0 * u0;
      aa1 += u1 * u1;
      aa2 += u2 * u2;
      bb0 += v0 * v0;
      bb1 += v1 * v1;
      bb2 += v2 * v2;
      ab0 += u0 * v0;
      ab1 += u1 * v1;
      ab2 += u2 * v2;
    }
  }
  if (n < SEEN * Math.ceil(side / STEP) ** 2) return 0;
  const [p0, p1, p2] = PLANE_WEIGHTS;
  const own = p0 * (aa0 - (a0 * a0) / n) + p1 * (aa1 - (a1 * a1) / n) + p2 * (aa2 - (a2 * a2) / n);
  const other = p0 * (bb0 - (b0 * b0) / n) + p1 * (bb1 - (b1 * b1) / n) + p2 * (bb2 - (b2 * b2) / n);
  const cross = p0 * (ab0 - (a0 * b0) / n) + p1 * (ab1 - (a1 * b1) / n) + p2 * (ab2 - (a2 * b2) / n);
  if (own < 1e-6 || other < 1e-6) return 0;
  return (cross / Math.sqrt(own * other)) * Math.sqrt(n / Math.ceil(side / STEP) ** 2);
}

function interleaved([p0, p1, p2]: Planes['plane']): Float32Array {
  const out = new Float32Array(3 * p0.length);
  for (let i = 0, k = 0; i < p0.length; i++, k += 3) {
    out[k] = p0[i]!;
    out[k + 1] = p1[i]!;
    out[k + 2] = p2[i]!;
  }
  return out;
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

/** Lightness, red against green, blue against green. */
const PLANE_WEIGHTS = [1.5, 1, 1] as const;

/** Every STEP-th pixel and row stands for the rest: the planes are smoothed more widely than that. */
const STEP = 2;

/** Copies a square, thinned, freed of its means and weighted by plane, into `to`; returns its weighted sum of squares. */
function cut(from: Float32Array, w: number, left: number, top: number, side: number, to: Float32Array): number {
  const mean = [0, 0, 0];
  let i = 0;
  for (let y = 0; y < side; y += STEP) {
    let at = 3 * ((top + y) * w + left);
    for (let x = 0; x < side; x += STEP, at += 3 * STEP, i += 3) {
      for (let c = 0; c < 3; c++) mean[c]! += to[i + c] = from[at + c]!;
    }
  }
  for (let c = 0; c < 3; c++) mean[c]! /= i / 3;
  let squares = 0;
  for (let k = 0; k < i; k += 3) {
    for (let c = 0; c < 3; c++) {
      const v = to[k + c]! - mean[c]!;
      to[k + c] = PLANE_WEIGHTS[c]! * v;
      squares += PLANE_WEIGHTS[c]! * v * v;
    }
  }
  return squares;
}

/** Three sums side by side: a processor adds them at once, where one sum would wait for each of its terms. */
function product(template: Float32Array, image: Float32Array, w: number, left: number, top: number, side: number): number {
  let [sum0, sum1, sum2] = [0, 0, 0];
  let i = 0;
  for (let y = 0; y < side; y += STEP) {
    let at = 3 * ((top + y) * w + left);
    for (let x = 0; x < side; x += STEP, i += 3, at += 3 * STEP) {
      sum0 += template[i]! * image[at]!;
      sum1 += template[i + 1]! * image[at + 1]!;
      sum2 += template[i + 2]! * image[at + 2]!;
    }
  }
  return sum0 + sum1 + sum2;
}

function weightedSquares({ plane: [p0, p1, p2] }: Warped): Float32Array {
  const [w0, w1, w2] = PLANE_WEIGHTS;
  const out = new Float32Array(p0.length);
  for (let o = 0; o < out.length; o++) out[o] = w0 * p0[o]! * p0[o]! + w1 * p1[o]! * p1[o]! + w2 * p2[o]! * p2[o]!;
  return out;
}

function boxSum(table: Float64Array, w: number, left: number, top: number, side: number): number {
  const stride = w + 1;
  const a = top * stride + left;
  const b = (top + side) * stride + left;
  return table[b + side]! - table[b]! - table[a + side]! + table[a]!;
}
