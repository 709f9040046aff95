import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/homography';
import { backSolve, cholesky } from './cholesky';
import type { Planes } from './views';
import { correlate, makeWarped, warp, type Warped } from './warp';

/** How well two sets of planes fit under a map, and how much each part of the photo says so. */
export interface Fit {
  readonly map: Homography;
  /** Correlation over all planes and all pixels seen in both, -1..1. */
  readonly correlation: number;
  /** Share of the earlier photo's seen pixels that fall inside the later one, 0..1. */
  readonly overlap: number;
}

const PARAMETERS = 8;

/** One round's normal equations: the symmetric 8 x 8 matrix, row-major, and the right-hand side. */
export interface Equations {
  readonly normal: Float64Array;
  readonly right: Float64Array;
}

export interface RefineOptions {
  readonly rounds: number;
  /** Block edge in pixels of these planes: the distance over which residuals are treated as one noise. */
  readonly block: number;
  /** Strength of the pull towards no further perspective change (0: none), in units of information. */
  readonly hold?: number;
}

/** Width and height of a copy, pixels. */
export interface Sized {
  readonly width: number;
  readonly height: number;
}

/** Centre of a copy and its half-diagonal, by which positions are scaled to about 1. */
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
    const { normal, right } = assemble(before, warped, options.block);
    const triangle = cholesky(normal, options.hold ?? 1e-3);
    if (!triangle) break;
    const step = backSolve(triangle, right);
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

/** Builds the normal equations of one Gauss-Newton round at the map that `warped` was made with. */
export function assemble(before: Planes, warped: Warped, block: number): Equations {
  const { width: w, height: h } = before;
  const across = Math.ceil(w / block);
  const blocks = across * Math.ceil(h / block);
  const precision = blockPrecision(before, warped, block, across, blocks);
  const { cx, cy, unit } = frame(before);
  const normal = new Float64Array(64);
  const right = new Float64Array(PARAMETERS);
  const j = new Float64Array(16);
  for (let by = 0; by * block < h; by++) {
    for (let bx = 0; bx < across; bx++) {
      const b = by * across + bx;
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
            for (let q = p; q < PARAMETERS; q++) normal[p * 8 + q]! += mx * j[q]! + my * j[8 + q]!;
            right[p]! += rx * ax + ry * ay;
          }
        }
      }
    }
  }
  for (let p = 0; p < PARAMETERS; p++) {
    right[p]! *= unit;
    for (let q = p; q < PARAMETERS; q++) normal[q * 8 + p] = normal[p * 8 + q]! *= unit * unit;
  }
  return { normal, right };
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
