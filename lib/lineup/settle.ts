import 'server-only';
import { composeHomographies, applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { backSolve, cholesky } from './cholesky';
import { change, frame, type Sized } from './refine';
import type { Sighting } from './windows';

/** A map settled on what many windows saw, with how sure that leaves it. */
export interface Settled {
  readonly map: Homography;
  /** Weight each sighting kept, 0 (contradicts the others) to 1 (agrees). */
  readonly kept: Float64Array;
  /** Share of the sightings' information that agrees with the map, 0..1. */
  readonly agreement: number;
  /** Change of map (eight numbers, relative to this answer) when one cell's sightings are left out, for each cell. */
  readonly without: readonly Float64Array[];
  /** Covariance of the eight numbers, 8 x 8, from the scatter between cells of the photo. */
  readonly covariance: Float64Array;
}

export interface SettleOptions {
  /** Displacement no window can do better than (structure that itself changed), pixels. */
  readonly floor: number;
  /** Cells this wide are taken as one independent witness, pixels. */
  readonly cell: number;
  /**
   * What is known beforehand of the change against the start. Either standard deviations: shift and affine part, and
   * perspective part (half-diagonals); or, where the camera's move is known, a Gaussian: its mean and inverse
   * covariance (8 x 8).
   */
  readonly loose: readonly [affine: number, perspective: number] | Held;
}

/** A Gaussian over a change of map: eight numbers, in half-diagonals. */
export interface Held {
  readonly mean: Float64Array;
  readonly information: Float64Array;
}

function holdOf(loose: SettleOptions['loose']): Held {
  if ('mean' in loose) return loose;
  const information = new Float64Array(N * N);
  for (let i = 0; i < N; i++) information[i * 9] = 1 / loose[i >= 6 ? 1 : 0] ** 2;
  return { mean: new Float64Array(N), information };
}

const N = 8;

/**
 * Fits the change of map that explains most displacements: reweighted least squares, each sighting with its own
 * covariance and Cauchy-damped beyond about two standard deviations.
 */
export function settle(
  size: Sized,
  map: Homography,
  sightings: readonly Sighting[],
  options: SettleOptions,
): Settled | undefined {
  const { cx, cy, unit } = frame(size);
  const rows = sightings.map((s) => {
    const u = (s.x - cx) / unit;
    const v = (s.y - cy) / unit;
    const [xx, yy] = [s.xx + options.floor ** 2, s.yy + options.floor ** 2];
    const det = xx * yy - s.xy * s.xy;
    return {
      jx: [u, v, 1, 0, 0, 0, -u * u, -u * v].map((j) => j * unit),
      jy: [0, 0, 0, u, v, 1, -u * v, -v * v].map((j) => j * unit),
      ixx: yy / det,
      ixy: -s.xy / det,
      iyy: xx / det,
      dx: s.dx,
      dy: s.dy,
      cell: Math.floor(s.y / options.cell) * 4096 + Math.floor(s.x / options.cell),
    };
  });
  const kept = new Float64Array(rows.length).fill(1);
  const held = holdOf(options.loose);
  const heldRight = Float64Array.from({ length: N }, (_, p) =>
    held.mean.reduce((sum, v, q) => sum + held.information[p * N + q]! * v, 0),
  );
  let step: Float64Array = new Float64Array(N);
  let factor: Float64Array | undefined;
  let spread = 3;
  for (let round = 0; round < 12; round++) {
    const normal = held.information.slice();
    const right = heldRight.slice();
    rows.forEach((r, k) => {
      const w = kept[k]!;
      for (let p = 0; p < N; p++) {
        const mx = w * (r.ixx * r.jx[p]! + r.ixy * r.jy[p]!);
        const my = w * (r.ixy * r.jx[p]! + r.iyy * r.jy[p]!);
        for (let q = 0; q < N; q++) normal[p * N + q]! += mx * r.jx[q]! + my * r.jy[q]!;
        right[p]! += mx * r.dx + my * r.dy;
      }
    });
    factor = cholesky(normal, 0);
    if (!factor) return undefined;
    step = backSolve(factor, right);
    spread = Math.max(1, spread * 0.8);
    rows.forEach((r, k) => {
      const [ex, ey] = residual(r, step);
      const far = r.ixx * ex * ex + 2 * r.ixy * ex * ey + r.iyy * ey * ey;
      kept[k] = 1 / (1 + far / (4 * spread * spread)) ** 2;
    });
  }
  if (!factor) return undefined;
  // Sandwich: the scatter of the cells' pulls about the answer (White 1980, by clusters).
  const pulls = new Map<number, Float64Array>();
  const shares = new Map<number, Float64Array>();
  let [agreeing, all] = [0, 0];
  rows.forEach((r, k) => {
    const [ex, ey] = residual(r, step);
    const fx = kept[k]! * (r.ixx * ex + r.ixy * ey);
    const fy = kept[k]! * (r.ixy * ex + r.iyy * ey);
    const pull = pulls.get(r.cell) ?? new Float64Array(N);
    const share = shares.get(r.cell) ?? new Float64Array(N * N);
    shares.set(r.cell, share);
    for (let p = 0; p < N; p++) {
      const mx = kept[k]! * (r.ixx * r.jx[p]! + r.ixy * r.jy[p]!);
      const my = kept[k]! * (r.ixy * r.jx[p]! + r.iyy * r.jy[p]!);
      for (let q = 0; q < N; q++) share[p * N + q]! += mx * r.jx[q]! + my * r.jy[q]!;
    }
    for (let p = 0; p < N; p++) pull[p]! += r.jx[p]! * fx + r.jy[p]! * fy;
    pulls.set(r.cell, pull);
    const information = Math.sqrt(r.ixx + r.iyy);
    all += information;
    if (kept[k]! > 0.25) agreeing += information;
  });
  const total = held.information.slice();
  for (const share of shares.values()) for (let i = 0; i < N * N; i++) total[i]! += share[i]!;
  const without = [...pulls].flatMap(([cell, pull]) => {
    const share = shares.get(cell)!;
    const rest = cholesky(
      total.map((v, i) => v - share[i]!),
      0,
    );
    return rest
      ? [
          backSolve(
            rest,
            pull.map((v) => -v),
          ),
        ]
      : [];
  });
  const covariance = new Float64Array(N * N);
  const few = pulls.size / Math.max(1, pulls.size - N);
  for (const pull of pulls.values()) {
    const moved = backSolve(factor, pull);
    for (let p = 0; p < N; p++) for (let q = 0; q < N; q++) covariance[p * N + q]! += few * moved[p]! * moved[q]!;
  }
  // Never surer than the windows themselves would allow.
  const unitVector = new Float64Array(N);
  for (let p = 0; p < N; p++) {
    unitVector.fill(0);
    unitVector[p] = 1;
    const column = backSolve(factor, unitVector);
    for (let q = 0; q < N; q++) covariance[p * N + q]! += column[q]!;
  }
  return {
    map: composeHomographies(map, change(step, size)),
    kept,
    agreement: agreeing / Math.max(1e-9, all),
    without,
    covariance,
  };
}

function residual(r: { jx: number[]; jy: number[]; dx: number; dy: number }, step: Float64Array): [number, number] {
  let [ex, ey] = [r.dx, r.dy];
  for (let p = 0; p < N; p++) {
    ex -= r.jx[p]! * step[p]!;
    ey -= r.jy[p]! * step[p]!;
  }
  return [ex, ey];
}

/** Standard deviation (pixels of the copy, both directions together) that the covariance leaves at a point. */
export function uncertaintyAt(size: Sized, covariance: Float64Array, point: Point): number {
  const { cx, cy, unit } = frame(size);
  const u = (point[0] - cx) / unit;
  const v = (point[1] - cy) / unit;
  let total = 0;
  for (const j of [
    [u, v, 1, 0, 0, 0, -u * u, -u * v],
    [0, 0, 0, u, v, 1, -u * v, -v * v],
  ]) {
    for (let p = 0; p < N; p++)
      for (let q = 0; q < N; q++) total += j[p]! * unit * covariance[p * N + q]! * j[q]! * unit;
  }
  return Math.sqrt(Math.max(0, total));
}

/** Largest distance between where two maps put some points. */
export function gap(a: Homography, b: Homography, points: readonly Point[]): number {
  return Math.max(
    ...points.map((p) => {
      const [ax, ay] = applyHomography(a, p);
      const [bx, by] = applyHomography(b, p);
      return Math.hypot(ax - bx, ay - by);
    }),
  );
}
