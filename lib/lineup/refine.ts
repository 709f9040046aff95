import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/homography';
import type { Planes } from './views';

/** How well two sets of planes fit under a map, and how much each part of the photo says so. */
export interface Fit {
  readonly map: Homography;
  /** Correlation over all planes and all pixels seen in both, -1..1. */
  readonly correlation: number;
  /** Share of the earlier photo's seen pixels that fall inside the later one, 0..1. */
  readonly overlap: number;
}

const PARAMETERS = 8;

/** The later planes as seen from the earlier photo: values and 1 where they exist. */
export interface Warped {
  readonly plane: readonly [Float32Array, Float32Array, Float32Array];
  readonly seen: Uint8Array;
}

export function makeWarped(pixels: number): Warped {
  return {
    plane: [new Float32Array(pixels), new Float32Array(pixels), new Float32Array(pixels)],
    seen: new Uint8Array(pixels),
  };
}

/**
 * Fill `into` with `after` looked up through `map` (before -> after), bilinear; where the earlier copy is not seen too
 * when `everywhere`.
 */
export function warp(before: Planes, after: Planes, map: Homography, into: Warped, everywhere = false): void {
  const { width: w, height: h } = before;
  const { width: aw, height: ah } = after;
  const [p0, p1, p2] = after.plane;
  const [o0, o1, o2] = into.plane;
  for (let y = 0, o = 0; y < h; y++) {
    let nx = map[1] * y + map[2];
    let ny = map[4] * y + map[5];
    let nw = map[7] * y + map[8];
    for (let x = 0; x < w; x++, o++, nx += map[0], ny += map[3], nw += map[6]) {
      const px = nx / nw;
      const py = ny / nw;
      const x0 = Math.floor(px);
      const y0 = Math.floor(py);
      if (!(nw > 0 && x0 >= 0 && y0 >= 0 && x0 < aw - 1 && y0 < ah - 1 && (everywhere || before.seen[o] === 1))) {
        into.seen[o] = 0;
        continue;
      }
      const q = y0 * aw + x0;
      if ((after.seen[q]! & after.seen[q + 1]! & after.seen[q + aw]! & after.seen[q + aw + 1]!) === 0) {
        into.seen[o] = 0;
        continue;
      }
      const fx = px - x0;
      const fy = py - y0;
      const a = (1 - fx) * (1 - fy);
      const b = fx * (1 - fy);
      const c = (1 - fx) * fy;
      const d = fx * fy;
      o0[o] = a * p0[q]! + b * p0[q + 1]! + c * p0[q + aw]! + d * p0[q + aw + 1]!;
      o1[o] = a * p1[q]! + b * p1[q + 1]! + c * p1[q + aw]! + d * p1[q + aw + 1]!;
      o2[o] = a * p2[q]! + b * p2[q + 1]! + c * p2[q + aw]! + d * p2[q + aw + 1]!;
      into.seen[o] = 1;
    }
  }
}

/** Correlation over all planes, and the overlap, of what `warp` left in `warped`. */
export function correlate(before: Planes, warped: Warped): { correlation: number; overlap: number } {
  let [ab, aa, bb, both, all] = [0, 0, 0, 0, 0];
  const n = before.width * before.height;
  for (let o = 0; o < n; o++) {
    all += before.seen[o]!;
    if (warped.seen[o] === 0) continue;
    both++;
    for (let c = 0; c < 3; c++) {
      const s = before.plane[c]![o]!;
      const t = warped.plane[c]![o]!;
      ab += s * t;
      aa += s * s;
      bb += t * t;
    }
  }
  return { correlation: ab / Math.sqrt(aa * bb + 1e-9), overlap: both / Math.max(1, all) };
}

/** One round's normal equations, kept apart by block so that their scatter tells how sure the answer is. */
export interface Equations {
  readonly blocks: number;
  /** Upper triangle of the normal matrix summed over blocks, 8 x 8 row-major (full, symmetric). */
  readonly normal: Float64Array;
  /** Right-hand sides, blocks x 8. */
  readonly scores: Float64Array;
  /** Normal matrices by block, blocks x 64; empty unless asked for. */
  readonly normals: Float64Array;
}

export interface RefineOptions {
  readonly rounds: number;
  /** Block edge in pixels of these planes: the distance over which residuals are treated as one noise. */
  readonly block: number;
  /** Strength of the pull towards no further perspective change (0: none), in units of information. */
  readonly hold?: number;
}

/** x, y of a copy's pixel centred and scaled so that the half-diagonal is about 1. */
/** Width and height of a copy, pixels. */
export interface Sized {
  readonly width: number;
  readonly height: number;
}

export function frame(planes: Sized): { cx: number; cy: number; unit: number } {
  return { cx: (planes.width - 1) / 2, cy: (planes.height - 1) / 2, unit: Math.hypot(planes.width, planes.height) / 2 };
}

/** The small change of eight numbers as a map in pixels of the earlier copy. */
export function change(step: ArrayLike<number>, planes: Sized): Homography {
  const { cx, cy, unit } = frame(planes);
  const toUnit: Homography = [1 / unit, 0, -cx / unit, 0, 1 / unit, -cy / unit, 0, 0, 1];
  const fromUnit: Homography = [unit, 0, cx, 0, unit, cy, 0, 0, 1];
  const delta: Homography = [1 + step[0]!, step[1]!, step[2]!, step[3]!, 1 + step[4]!, step[5]!, step[6]!, step[7]!, 1];
  return composeHomographies(fromUnit, composeHomographies(delta, toUnit));
}

/**
 * Moves `start` to where the planes agree best: Gauss-Newton on the differences, weighted by what each block's own
 * differences say of its noise (so a path edge that fits counts for more than blades that don't) and Cauchy-damped
 * (so a new patch or a shadow edge counts for little). Gradients are the mean of both photos' (Malis 2004).
 */
export function refine(before: Planes, after: Planes, start: Homography, options: RefineOptions): Fit {
  const warped = makeWarped(before.width * before.height);
  let map = start;
  for (let round = 0; round < options.rounds; round++) {
    warp(before, after, map, warped);
    const equations = assemble(before, warped, options.block, false);
    const step = solve(equations.normal, sumScores(equations), options.hold ?? 1e-3);
    if (!step) break;
    map = composeHomographies(map, change(step, before));
    if (movement(step) * frame(before).unit < 0.01) break;
  }
  warp(before, after, map, warped);
  return { map, ...correlate(before, warped) };
}

function movement(step: ArrayLike<number>): number {
  let largest = 0;
  for (let i = 0; i < PARAMETERS; i++) largest = Math.max(largest, Math.abs(step[i]!));
  return largest;
}

export function sumScores(equations: Equations): Float64Array {
  const sum = new Float64Array(PARAMETERS);
  for (let b = 0; b < equations.blocks; b++) {
    for (let i = 0; i < PARAMETERS; i++) sum[i]! += equations.scores[b * PARAMETERS + i]!;
  }
  return sum;
}

/** Builds the normal equations of one Gauss-Newton round at the map that `warped` was made with. */
export function assemble(before: Planes, warped: Warped, block: number, keepBlocks: boolean): Equations {
  const { width: w, height: h } = before;
  const across = Math.ceil(w / block);
  const blocks = across * Math.ceil(h / block);
  const precision = blockPrecision(before, warped, block, across, blocks);
  const { cx, cy, unit } = frame(before);
  const scores = new Float64Array(blocks * PARAMETERS);
  const normals = new Float64Array(keepBlocks ? blocks * 64 : 64);
  const j = new Float64Array(16);
  for (let by = 0; by * block < h; by++) {
    for (let bx = 0; bx < across; bx++) {
      const b = by * across + bx;
      const at = keepBlocks ? b * 64 : 0;
      const yEnd = Math.min(h - 1, (by + 1) * block);
      const xEnd = Math.min(w - 1, (bx + 1) * block);
      for (let y = Math.max(1, by * block); y < yEnd; y++) {
        for (let x = Math.max(1, bx * block); x < xEnd; x++) {
          const o = y * w + x;
          if (warped.seen[o]! + warped.seen[o - 1]! + warped.seen[o + 1]! + warped.seen[o - w]! + warped.seen[o + w]! < 5) continue;
          let [xx, xy, yy, rx, ry] = [0, 0, 0, 0, 0];
          for (let c = 0; c < 3; c++) {
            const s = before.plane[c]!;
            const t = warped.plane[c]!;
            const r = s[o]! - t[o]!;
            const p = precision[b * 3 + c]!;
            const weight = p / (1 + (r * r * p) / 6);
            const gx = (s[o + 1]! - s[o - 1]! + t[o + 1]! - t[o - 1]!) / 4;
            const gy = (s[o + w]! - s[o - w]! + t[o + w]! - t[o - w]!) / 4;
            xx += weight * gx * gx;
            xy += weight * gx * gy;
            yy += weight * gy * gy;
            rx += weight * gx * r;
            ry += weight * gy * r;
          }
          const u = (x - cx) / unit;
          const v = (y - cy) / unit;
          // Rows of the change of position: dx over the eight numbers, then dy.
          j[0] = u; j[1] = v; j[2] = 1; j[6] = -u * u; j[7] = -u * v;
          j[11] = u; j[12] = v; j[13] = 1; j[14] = -u * v; j[15] = -v * v;
          for (let p = 0; p < PARAMETERS; p++) {
            const ax = j[p]!;
            const ay = j[8 + p]!;
            const mx = xx * ax + xy * ay;
            const my = xy * ax + yy * ay;
            for (let q = p; q < PARAMETERS; q++) normals[at + p * 8 + q]! += mx * j[q]! + my * j[8 + q]!;
            scores[b * PARAMETERS + p]! += rx * ax + ry * ay;
          }
        }
      }
    }
  }
  for (let i = 0; i < scores.length; i++) scores[i]! *= unit;
  for (let i = 0; i < normals.length; i++) normals[i]! *= unit * unit;
  const normal = new Float64Array(64);
  for (let at = 0; at < normals.length; at += 64) {
    for (let p = 0; p < PARAMETERS; p++) {
      for (let q = p; q < PARAMETERS; q++) {
        normals[at + q * 8 + p] = normals[at + p * 8 + q]!;
        normal[p * 8 + q]! += normals[at + p * 8 + q]!;
        if (q !== p) normal[q * 8 + p]! += normals[at + p * 8 + q]!;
      }
    }
  }
  return { blocks, normal, scores, normals };
}

/** 1 / variance of the differences in each block and plane, from their mean size (1.2533 |r| is sigma for a Gaussian). */
function blockPrecision(before: Planes, warped: Warped, block: number, across: number, blocks: number): Float64Array {
  const sum = new Float64Array(blocks * 3);
  const count = new Float64Array(blocks);
  const { width: w, height: h } = before;
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const o = y * w + x;
      if (warped.seen[o] === 0) continue;
      const b = Math.floor(y / block) * across + Math.floor(x / block);
      count[b]!++;
      for (let c = 0; c < 3; c++) sum[b * 3 + c]! += Math.abs(before.plane[c]![o]! - warped.plane[c]![o]!);
    }
  }
  for (let i = 0; i < sum.length; i++) {
    const sigma = Math.max(0.25, (1.2533 * sum[i]!) / Math.max(1, count[Math.floor(i / 3)]!));
    sum[i] = 1 / (sigma * sigma);
  }
  return sum;
}

/** Solves (normal + hold on the two perspective numbers) x = right by Cholesky; undefined when not positive definite. */
export function solve(normal: Float64Array, right: ArrayLike<number>, hold: number): Float64Array | undefined {
  const l = cholesky(normal, hold);
  if (!l) return undefined;
  return backSolve(l, right);
}

export function cholesky(normal: Float64Array, hold: number): Float64Array | undefined {
  const l = new Float64Array(64);
  let largest = 0;
  for (let i = 0; i < PARAMETERS; i++) largest = Math.max(largest, normal[i * 9]!);
  for (let i = 0; i < PARAMETERS; i++) {
    for (let k = 0; k <= i; k++) {
      let sum = normal[i * 8 + k]!;
      if (i === k) sum += (i >= 6 ? hold : hold * 1e-3) * largest;
      for (let m = 0; m < k; m++) sum -= l[i * 8 + m]! * l[k * 8 + m]!;
      if (i === k) {
        if (!(sum > 0)) return undefined;
        l[i * 9] = Math.sqrt(sum);
      } else {
        l[i * 8 + k] = sum / l[k * 9]!;
      }
    }
  }
  return l;
}

export function backSolve(l: Float64Array, right: ArrayLike<number>): Float64Array {
  const x = new Float64Array(PARAMETERS);
  for (let i = 0; i < PARAMETERS; i++) {
    let sum = right[i]!;
    for (let m = 0; m < i; m++) sum -= l[i * 8 + m]! * x[m]!;
    x[i] = sum / l[i * 9]!;
  }
  for (let i = PARAMETERS - 1; i >= 0; i--) {
    let sum = x[i]!;
    for (let m = i + 1; m < PARAMETERS; m++) sum -= l[m * 8 + i]! * x[m]!;
    x[i] = sum / l[i * 9]!;
  }
  return x;
}
