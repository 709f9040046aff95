import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import { backSolve, cholesky } from './cholesky';
import type { Planes } from './views';
import { layPair, type LaidPair } from './warp';

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
  const pair = layPair(before, after, roomFor(before, options.block));
  let map = start;
  for (let round = 0; round < options.rounds; round++) {
    pair.warp(map);
    const { normal, right } = assemble(pair, before, options.block);
    const triangle = cholesky(normal, options.hold ?? 1e-3);
    if (!triangle) break;
    const step = backSolve(triangle, right);
    map = composeHomographies(map, change(step, before));
    if (movement(step) * frame(before).unit < 0.01) break;
  }
  pair.warp(map);
  return { map, ...pair.correlate() };
}

function movement(step: ArrayLike<number>): number {
  let largest = 0;
  for (let i = 0; i < PARAMETERS; i++) largest = Math.max(largest, Math.abs(step[i]!));
  return largest;
}

/** Bytes that `assemble` works in. */
export function roomFor({ width, height }: Sized, block: number): number {
  return 48 * Math.ceil(width / block) * Math.ceil(height / block) + 64;
}

/** A term of a row of the change of position: sign, powers of u and v. */
type Term = readonly [sign: number, a: number, b: number] | null;
/** dx over the eight numbers, then dy. */
const ROWS: readonly (readonly Term[])[] = [
  [[1, 1, 0], [1, 0, 1], [1, 0, 0], null, null, null, [-1, 2, 0], [-1, 1, 1]],
  [null, null, null, [1, 1, 0], [1, 0, 1], [1, 0, 0], [-1, 1, 1], [-1, 0, 2]],
];

/** Where `moments` puts a sum: of w gx gx, w gx gy, w gy gy, then of w gx r, w gy r. */
const SQUARES_AT = [0, 25, 50] as const;
const RIGHT_AT = [75, 84] as const;

/**
 * Builds the normal equations of one Gauss-Newton round at the map that the pair was warped by; needs `roomFor` bytes
 * of work.
 */
export function assemble({ kernel, before, warped, answers, work }: LaidPair, size: Sized, block: number): Equations {
  const { width: w, height: h } = size;
  const across = Math.ceil(w / block);
  const blocks = across * Math.ceil(h / block);
  const precision = work + ((32 * blocks + 15) & ~15);
  kernel.blockPrecision(before, warped, w, h, block, across, blocks, work, precision);
  const { cx, cy, unit } = frame(size);
  kernel.moments(before, warped, w, h, block, across, precision, cx, cy, unit, answers);
  const sums = new Float64Array(kernel.memory.buffer, answers, 93);
  const normal = new Float64Array(64);
  const right = new Float64Array(PARAMETERS);
  for (let i = 0; i < 2; i++) {
    for (let p = 0; p < PARAMETERS; p++) {
      const one = ROWS[i]![p];
      if (!one) continue;
      right[p]! += unit * one[0] * sums[RIGHT_AT[i]! + 3 * one[1] + one[2]]!;
      for (let j = 0; j < 2; j++) {
        for (let q = 0; q < PARAMETERS; q++) {
          const two = ROWS[j]![q];
          if (two)
            normal[p * PARAMETERS + q]! +=
              unit * unit * one[0] * two[0] * sums[SQUARES_AT[i + j]! + 5 * (one[1] + two[1]) + one[2] + two[2]]!;
        }
      }
    }
  }
  return { normal, right };
}
