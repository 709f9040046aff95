import 'server-only';
import { applyHomography, betweenCopies, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove, Posed } from './camera-move';
import {
  below,
  groundMap,
  NEAR_HORIZON,
  pointsAbout,
  type GroundPlane,
  type KnownNormal,
  type Lasting,
  type Sizes,
} from './ground';
import { boxAround, fitOf, sampleGround } from './ground-fit';
import type { Planes } from './views';

export interface GroundGuess {
  readonly plane: GroundPlane;
  readonly map: Homography;
  /** Mean correlation of the blocks of ground, -1..1. */
  readonly fit: number;
  /** Shares of the lasting points that lie under the plane, and in it. */
  readonly under: number;
  readonly within: number;
  /** What guesses are ranked by. */
  readonly rank: number;
}

/** Rank of a guess: how well the ground looks the same there, less what lasting points lie under it. */
export function rankOf(
  fit: number,
  under: number,
  within: number,
  plane: GroundPlane,
  known: KnownNormal | undefined,
): number {
  const unlikely = known ? Math.min(9, ((plane.pitch - known.pitch) / known.sd) ** 2) : 0;
  return fit - 2 * under + 0.1 * Math.min(1, 5 * within) - 0.04 * unlikely;
}

const PITCHES = [-0.08, -0.02, 0.04, 0.1, 0.17, 0.25, 0.34, 0.45, 0.58, 0.74, 0.93, 1.13, 1.35] as const;

/** Moves of up to 1.4 camera heights, in steps that grow with the length. */
const LENGTHS = lengths();

function lengths(): Float64Array {
  const out = [0];
  for (let s = 0.01; s < 1.4; s += Math.max(0.01, 0.09 * s)) out.push(s, -s);
  return Float64Array.from(out).sort();
}

/**
 * Slides the length of the move over both signs for each pitch of the camera, and scores where that would put the
 * ground: best first, at most `most` that differ. `plots` (full-size pixels) must lie below the horizon in both photos.
 */
/**
 * Slides the length of the move over both signs for each pitch of the camera, and scores where that would put the
 * ground: best first, at most `most` that differ. `plots` (full-size pixels) must lie below the horizon in both photos.
 */
export function searchGround(
  before: Planes,
  after: Planes,
  move: CameraMove,
  points: Lasting,
  sizes: Sizes,
  plots: readonly Point[],
  known: KnownNormal | undefined,
  most: number,
): GroundGuess[] {
  const guesses: GroundGuess[] = [];
  const near = boxAround(plots);
  const pitches = known?.sure ? [known.pitch - known.sd / 2, known.pitch, known.pitch + known.sd / 2] : PITCHES;
  for (const pitch of pitches) {
    const level: GroundPlane = { pitch, roll: known?.sure ? known.roll : 0, length: 0 };
    if (plots.some((p) => below(level, move.focal[0], sizes.before, p) < NEAR_HORIZON)) continue;
    const fitAt = fitOf(before, after, sampleGround(before, level, move.focal[0], sizes.before, near));
    for (const length of LENGTHS) {
      if (move.sided && length < -0.04) continue;
      const plane = { ...level, length };
      const map = groundMap(move, plane, sizes);
      if (!inOrder(map, plots, sizes)) continue;
      const { under, within } = shares(points, move, plane, sizes);
      if (under > 0.3) continue;
      const fit = fitAt(betweenCopies(map, before.scale, after.scale));
      guesses.push({ plane, map, fit, under, within, rank: rankOf(fit, under, within, plane, known) });
    }
  }
  guesses.sort((a, b) => b.rank - a.rank);
  const apart = 0.03 * Math.hypot(sizes.after.width, sizes.after.height);
  const kept: GroundGuess[] = [];
  for (const guess of guesses) {
    if (kept.every((k) => plots.some((p) => away(k.map, guess.map, p) > apart))) kept.push(guess);
    if (kept.length >= most) break;
  }
  return kept;
}

export function shares(
  points: Lasting,
  move: Posed,
  plane: GroundPlane,
  sizes: Sizes,
): { under: number; within: number } {
  const { under, within } = pointsAbout(points, move, plane, sizes);
  return { under: under / Math.max(1, points.count), within: within / Math.max(1, points.count) };
}

export function away(a: Homography, b: Homography, p: Point): number {
  const [u, v] = [applyHomography(a, p), applyHomography(b, p)];
  return Math.hypot(u[0] - v[0], u[1] - v[1]);
}

/** The plots land before the later camera, mostly inside its photo, not shrunk or blown up beyond three times. */
export function inOrder(map: Homography, plots: readonly Point[], { after }: Sizes): boolean {
  let inside = 0;
  for (const [x, y] of plots) {
    if (!(map[6] * x + map[7] * y + map[8] > 0.2)) return false;
    const [u, v] = applyHomography(map, [x, y]);
    if (u > -0.1 * after.width && v > -0.1 * after.height && u < 1.1 * after.width && v < 1.1 * after.height) inside++;
  }
  return inside >= 0.6 * plots.length;
}
