import 'server-only';
import { moved, normalise, scoreOf, type Normalised, type Pose } from './epipolar';
import { chanceOf, surpriseOf } from './false-alarms';
import type { Features } from './features';
import type { Matches } from './match-features';
import { solveFive } from './move-from-five';
import { refineMove } from './refine-move';

/** A 3 x 3 matrix, row-major. */
export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number];

/**
 * How the camera moved from one photo to another, up to the length of the move: a point X in the first camera's frame
 * (x right, y down, z ahead, any unit) is at R X + s t in the second's, s unknown.
 */
export interface CameraMove {
  /** Rotation. */
  readonly rotation: Matrix3;
  /** Direction of the move, length 1. */
  readonly direction: readonly [number, number, number];
  /** Focal lengths of the two photos, shares of each one's long side. */
  readonly focal: readonly [number, number];
  /** Matches that agree, by index into the matches; best first as they came. */
  readonly agreeing: Int32Array;
  /** Median parallax of the agreeing matches that the rotation alone doesn't explain, shares of the long side. */
  readonly parallax: number;
  /** Whether enough points are clearly nearer than far away, all on one side, to tell the move from its opposite. */
  readonly sided: boolean;
  /**
   * How unlikely so many agreeing matches are by chance: minus the logarithm (base 10) of the expected number of moves
   * that do as well on matches strewn at random. Above SURE it is the same place.
   */
  readonly surprise: number;
  /**
   * Inverse covariance, 7 x 7, of a small step as `stepMove` takes it: turn (3, radians), direction (2), logarithms of
   * the focal lengths (2).
   */
  readonly information: Float64Array;
}

/** The part of a move that places things. */
export type Posed = Pick<CameraMove, 'rotation' | 'direction' | 'focal'>;

/** The move changed by a small step: turn (3), direction (2), logarithms of the focal lengths (2). */
export function stepMove(move: Posed, step: ArrayLike<number>): Posed {
  const { rotation, direction, focal } = moved(
    {
      rotation: Float64Array.from(move.rotation),
      direction: Float64Array.from(move.direction),
      focal: [...move.focal],
    },
    step,
  );
  return {
    rotation: [...rotation] as unknown as Matrix3,
    direction: [direction[0]!, direction[1]!, direction[2]!],
    focal,
  };
}

export interface MoveOptions {
  /** Focal lengths over the long side where known (EXIF), per photo. */
  readonly focal?: readonly [number | undefined, number | undefined];
  readonly seed?: number;
  /** How far a focal length that is given may be off, standard deviation as a share of it. */
  readonly focalSpread?: number;
}

/**
 * From this `surprise` on, two photos show the same place. Of 23 real pairs, those of one place with a background came
 * to 6 and more (most to hundreds; two turned far or much changed to -1 and -8), those of different places and of tall
 * grass to -9 and less.
 */
export const SURE = 4;

/** Focal lengths over the long side that are tried when the file names none: phones lie at 0.65 to 0.85. */
export const USUAL_FOCAL = 0.75;

const FOCAL_SPREAD = 0.12;

/** Files round it, take the diagonal or the width for the measure, and leave out what was zoomed or cropped. */
const FOCAL_SPREAD_KNOWN = 0.05;

/**
 * A match agrees within this distance of its epipolar line (Sampson's), shares of the long side: 1.8 pixels of 1200.
 */
const WITHIN = 1.8 / 1200;

const ROUNDS = 6000;

/**
 * The camera's move that most matches agree with, undefined when there are fewer than eight. Samples of five matches
 * are drawn, surest first (Chum & Matas 2005), each solved for rotation and direction by Gauss-Newton from the smallest
 * turn that explains it, since photos of a viewpoint are taken in nearly the same direction; every new best is refined
 * on all that agree (Chum, Matas & Kittler 2003), focal lengths included.
 */
export function findCameraMove(
  first: Features,
  second: Features,
  matches: Matches,
  options: MoveOptions = {},
): CameraMove | undefined {
  const points = normalise(first, second, matches);
  if (points.n < 8) return undefined;
  const known = options.focal ?? [undefined, undefined];
  const prior = {
    focal: [known[0] ?? USUAL_FOCAL, known[1] ?? USUAL_FOCAL] as const,
    spread: known.map((f) => (f === undefined ? FOCAL_SPREAD : (options.focalSpread ?? FOCAL_SPREAD_KNOWN))) as [
      number,
      number,
    ],
  };
  const random = randomFrom(options.seed ?? 1);
  const sample = new Int32Array(5);
  const residuals = new Float64Array(points.n);
  let best: { pose: Pose; score: number } | undefined;
  for (let round = 0; round < ROUNDS; round++) {
    draw(sample, points.n, round, random);
    const pose = solveFive(points, sample, prior.focal);
    if (!pose) continue;
    let score = scoreOf(points, pose, WITHIN, residuals);
    if (best && score <= best.score * 0.9) continue;
    // A sample of five is noisy: what is nearly as good as the best is tried on all that agree.
    let refined = refineMove(points, pose, 2 * WITHIN, prior, 3).pose;
    refined = refineMove(points, refined, WITHIN, prior, 3).pose;
    const after = scoreOf(points, refined, WITHIN, residuals);
    const better = after > score ? refined : pose;
    score = Math.max(score, after);
    if (!best || score > best.score) best = { pose: better, score };
    if (best.score > 60 && round > 600 && roundsWanted(best.score / points.n) < round) break;
  }
  if (!best) return undefined;
  const { pose, information } = refineMove(points, best.pose, WITHIN, prior, 8);
  return summarise(points, pose, information);
}

function roundsWanted(share: number): number {
  return Math.log(1e-6) / Math.log(1 - Math.max(1e-6, 0.5 * share ** 5));
}

/** mulberry32: a small generator with a seed, so that the same photos give the same answer. */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Five different matches, from the surest few at first, from all in the end. */
function draw(sample: Int32Array, n: number, round: number, random: () => number): void {
  const pool = Math.min(n, Math.max(12, Math.ceil(n * Math.min(1, 0.08 + (1.2 * round) / ROUNDS))));
  for (let i = 0; i < 5; i++) {
    let k: number;
    do k = Math.floor(random() * pool);
    while (sample.subarray(0, i).includes(k));
    sample[i] = k;
  }
}

/** Which matches agree, on which side of the cameras they lie, and how surprising their number is. */
function summarise(points: Normalised, pose: Pose, information: Float64Array): CameraMove {
  const residuals = new Float64Array(points.n);
  scoreOf(points, pose, WITHIN, residuals);
  const [fa, fb] = pose.focal;
  const { rotation: r, direction: t } = pose;
  const agree: number[] = [];
  const parallaxes: number[] = [];
  let [ahead, behind] = [0, 0];
  const sides: number[] = [];
  for (let k = 0; k < points.n; k++) {
    if (Math.abs(residuals[k]!) > WITHIN) continue;
    const [x, y, u, v] = [points.x[k]! / fa, points.y[k]! / fa, points.u[k]! / fb, points.v[k]! / fb];
    const c = r[6]! * x + r[7]! * y + r[8]!;
    const a = (r[0]! * x + r[1]! * y + r[2]!) / c;
    const b = (r[3]! * x + r[4]! * y + r[5]!) / c;
    // Image motion towards the epipole's side: (t0 - u t2, t1 - v t2) times inverse depth.
    const [ex, ey] = [t[0]! - u * t[2]!, t[1]! - v * t[2]!];
    const along = (u - a) * ex + (v - b) * ey;
    const size = Math.hypot(u - a, v - b) * fb;
    const side = size < 1.5 * WITHIN ? 0 : Math.sign(along);
    if (side > 0) ahead++;
    if (side < 0) behind++;
    agree.push(k);
    sides.push(side);
    parallaxes.push(size);
  }
  const flip = behind > ahead ? -1 : 1;
  const kept = agree.filter((_, i) => sides[i]! * flip >= 0);
  parallaxes.sort((p, q) => p - q);
  return {
    rotation: [...r] as unknown as Matrix3,
    direction: [flip * t[0]!, flip * t[1]!, flip * t[2]!],
    focal: pose.focal,
    agreeing: Int32Array.from(kept),
    parallax: parallaxes[parallaxes.length >> 1] ?? 0,
    sided: Math.max(ahead, behind) >= 15 && Math.max(ahead, behind) >= 4 * Math.min(ahead, behind),
    surprise: surpriseOf(points.n, kept.length, chanceOf(points, pose, WITHIN)),
    information,
  };
}
