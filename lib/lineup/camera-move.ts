import 'server-only';
import type { Features } from './features';
import type { Matches } from './match-features';

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

interface Normalised {
  readonly n: number;
  /** Positions about the photo's centre, shares of its long side. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly u: Float64Array;
  readonly v: Float64Array;
  /** The farthest a match could lie from its epipolar line, shares: half the second photo's size. */
  readonly area: number;
}

/** Rotation (9), direction (3), logarithms of the focal lengths (2): what is fitted. */
interface Pose {
  rotation: Float64Array;
  direction: Float64Array;
  focal: [number, number];
}

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

/** Matches in shares of the long sides about the centres. */
function normalise(first: Features, second: Features, matches: Matches): Normalised {
  const n = matches.count;
  const [x, y, u, v] = [new Float64Array(n), new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const [la, lb] = [Math.max(first.width, first.height), Math.max(second.width, second.height)];
  for (let k = 0; k < n; k++) {
    x[k] = (first.x[matches.first[k]!]! - (first.width - 1) / 2) / la;
    y[k] = (first.y[matches.first[k]!]! - (first.height - 1) / 2) / la;
    u[k] = (second.x[matches.second[k]!]! - (second.width - 1) / 2) / lb;
    v[k] = (second.y[matches.second[k]!]! - (second.height - 1) / 2) / lb;
  }
  return { n, x, y, u, v, area: (second.width * second.height) / lb ** 2 };
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

/** Writes F = Kb^-T [t]x R Ka^-1 in shares of the long sides. */
function fundamental({ rotation: r, direction: t, focal }: Pose, out: Float64Array): void {
  crossed(t[0]!, t[1]!, t[2]!, r, focal, out);
}

function crossed(
  t0: number,
  t1: number,
  t2: number,
  r: ArrayLike<number>,
  [fa, fb]: readonly [number, number],
  out: Float64Array,
): void {
  for (let c = 0; c < 3; c++) {
    const a = r[c]!;
    const b = r[3 + c]!;
    const d = r[6 + c]!;
    const col = c === 2 ? 1 : 1 / fa;
    out[c] = ((t1 * d - t2 * b) * col) / fb;
    out[3 + c] = ((t2 * a - t0 * d) * col) / fb;
    out[6 + c] = (t0 * b - t1 * a) * col;
  }
}

const F = new Float64Array(9);

/** Sampson distances into `residuals` (signed); returns the sum of 1 - (r / within)^2 over those that agree. */
function scoreOf(points: Normalised, pose: Pose, within: number, residuals: Float64Array): number {
  fundamental(pose, F);
  const limit = within * within;
  let score = 0;
  for (let k = 0; k < points.n; k++) {
    const r = sampson(F, points.x[k]!, points.y[k]!, points.u[k]!, points.v[k]!);
    residuals[k] = r;
    if (r * r < limit) score += 1 - (r * r) / limit;
  }
  return score;
}

function sampson(f: Float64Array, x: number, y: number, u: number, v: number): number {
  const a = f[0]! * x + f[1]! * y + f[2]!;
  const b = f[3]! * x + f[4]! * y + f[5]!;
  const c = f[6]! * x + f[7]! * y + f[8]!;
  const d = f[0]! * u + f[3]! * v + f[6]!;
  const e = f[1]! * u + f[4]! * v + f[7]!;
  return (u * a + v * b + c) / Math.sqrt(a * a + b * b + d * d + e * e + 1e-30);
}

/** Rotation by the small vector w, after `r`. */
function turned(r: Float64Array, w0: number, w1: number, w2: number): Float64Array {
  const angle = Math.hypot(w0, w1, w2);
  const s = angle < 1e-9 ? 1 : Math.sin(angle) / angle;
  const c = angle < 1e-9 ? 0.5 : (1 - Math.cos(angle)) / (angle * angle);
  const m = [
    1 - c * (w1 * w1 + w2 * w2),
    -s * w2 + c * w0 * w1,
    s * w1 + c * w0 * w2,
    s * w2 + c * w0 * w1,
    1 - c * (w0 * w0 + w2 * w2),
    -s * w0 + c * w1 * w2,
    -s * w1 + c * w0 * w2,
    s * w0 + c * w1 * w2,
    1 - c * (w0 * w0 + w1 * w1),
  ];
  const out = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let k = 0; k < 3; k++)
      out[3 * i + k] = m[3 * i]! * r[k]! + m[3 * i + 1]! * r[3 + k]! + m[3 * i + 2]! * r[6 + k]!;
  return out;
}

/** Two directions across a unit vector. */
function across(t: Float64Array): [Float64Array, Float64Array] {
  const [x, y, z] = [t[0]!, t[1]!, t[2]!];
  const helper = Math.abs(x) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const p = Float64Array.of(
    y * helper[2]! - z * helper[1]!,
    z * helper[0]! - x * helper[2]!,
    x * helper[1]! - y * helper[0]!,
  );
  const length = Math.hypot(p[0]!, p[1]!, p[2]!);
  for (let i = 0; i < 3; i++) p[i]! /= length;
  return [p, Float64Array.of(y * p[2]! - z * p[1]!, z * p[0]! - x * p[2]!, x * p[1]! - y * p[0]!)];
}

function moved(pose: Pose, step: ArrayLike<number>): Pose {
  const [p, q] = across(pose.direction);
  const t = Float64Array.from(pose.direction, (v, i) => v + p[i]! * step[3]! + q[i]! * step[4]!);
  const length = Math.hypot(t[0]!, t[1]!, t[2]!);
  for (let i = 0; i < 3; i++) t[i]! /= length;
  return {
    rotation: turned(pose.rotation, step[0]!, step[1]!, step[2]!),
    direction: t,
    focal: [pose.focal[0] * Math.exp(step[5] ?? 0), pose.focal[1] * Math.exp(step[6] ?? 0)],
  };
}

/** Derivatives of F by the first `count` numbers of a step: F is linear in the rotation and in the direction. */
function derivatives(pose: Pose, count: number, out: readonly Float64Array[]): void {
  const { rotation: r, direction: t, focal } = pose;
  for (let p = 0; p < 3; p++) {
    // The rotation's derivative by a turn about axis p is [axis]x R.
    const [i, j] = [(p + 1) % 3, (p + 2) % 3];
    for (let c = 0; c < 3; c++) {
      TURN[3 * p + c] = 0;
      TURN[3 * i + c] = -r[3 * j + c]!;
      TURN[3 * j + c] = r[3 * i + c]!;
    }
    crossed(t[0]!, t[1]!, t[2]!, TURN, focal, out[p]!);
  }
  const [u, v] = across(t);
  crossed(u[0]!, u[1]!, u[2]!, r, focal, out[3]!);
  crossed(v[0]!, v[1]!, v[2]!, r, focal, out[4]!);
  if (count <= 5) return;
  fundamental(pose, F);
  for (let k = 0; k < 9; k++) {
    out[5]![k] = k % 3 === 2 ? 0 : -F[k]!;
    out[6]![k] = k >= 6 ? 0 : -F[k]!;
  }
}

const TURN = new Float64Array(9);

const SLOPES = Array.from({ length: 7 }, () => new Float64Array(9));

/** Rotation and direction that fit five matches exactly (or nearly), near the smallest turn that explains them. */
function solveFive(points: Normalised, sample: Int32Array, focal: readonly [number, number]): Pose | undefined {
  const [fa, fb] = focal;
  // The smallest turn: displacement = turn's flow, least squares over the five (three numbers).
  const m = new Float64Array(9);
  const right = new Float64Array(3);
  for (const k of sample) {
    const [x, y] = [points.x[k]! / fa, points.y[k]! / fa];
    const [dx, dy] = [points.u[k]! / fb - x, points.v[k]! / fb - y];
    const jx = [-x * y, 1 + x * x, -y];
    const jy = [-(1 + y * y), x * y, x];
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) m[3 * i + j]! += jx[i]! * jx[j]! + jy[i]! * jy[j]!;
      right[i]! += jx[i]! * dx + jy[i]! * dy;
    }
  }
  for (let i = 0; i < 3; i++) m[4 * i]! += 1e-4;
  if (!solveInPlace(m, right, 3) || Math.hypot(right[0]!, right[1]!, right[2]!) > 0.8) return undefined;
  const rotation = turned(Float64Array.of(1, 0, 0, 0, 1, 0, 0, 0, 1), right[0]!, right[1]!, right[2]!);
  let pose: Pose = { rotation, direction: bestDirection(points, sample, rotation, fa, fb), focal: [fa, fb] };
  const normal = new Float64Array(25);
  const step = new Float64Array(5);
  for (let round = 0; round < 6; round++) {
    derivatives(pose, 5, SLOPES);
    fundamental(pose, F);
    normal.fill(0);
    step.fill(0);
    let worst = 0;
    for (const k of sample) {
      const [x, y, u, v] = [points.x[k]!, points.y[k]!, points.u[k]!, points.v[k]!];
      const size = sizeOf(F, x, y, u, v);
      const r = product(F, x, y, u, v) / size;
      worst = Math.max(worst, Math.abs(r));
      for (let p = 0; p < 5; p++) J[p] = product(SLOPES[p]!, x, y, u, v) / size;
      for (let p = 0; p < 5; p++) {
        for (let q = 0; q < 5; q++) normal[5 * p + q]! += J[p]! * J[q]!;
        step[p]! -= J[p]! * r;
      }
    }
    if (worst < 2e-5) break;
    for (let p = 0; p < 5; p++) normal[6 * p]! += 1e-7;
    if (!solveInPlace(normal, step, 5)) return undefined;
    const length = Math.hypot(step[0]!, step[1]!, step[2]!);
    const most = Math.max(length / 0.15, Math.hypot(step[3]!, step[4]!) / 0.7, 1);
    for (let p = 0; p < 5; p++) step[p]! /= most;
    pose = moved(pose, step);
  }
  return Math.abs(pose.rotation[0]! + pose.rotation[4]! + pose.rotation[8]! - 3) < 1.2 ? pose : undefined;
}

const J = new Float64Array(7);

function product(f: Float64Array, x: number, y: number, u: number, v: number): number {
  return u * (f[0]! * x + f[1]! * y + f[2]!) + v * (f[3]! * x + f[4]! * y + f[5]!) + f[6]! * x + f[7]! * y + f[8]!;
}

function sizeOf(f: Float64Array, x: number, y: number, u: number, v: number): number {
  const a = f[0]! * x + f[1]! * y + f[2]!;
  const b = f[3]! * x + f[4]! * y + f[5]!;
  const d = f[0]! * u + f[3]! * v + f[6]!;
  const e = f[1]! * u + f[4]! * v + f[7]!;
  return Math.sqrt(a * a + b * b + d * d + e * e + 1e-30);
}

/**
 * The direction whose epipolar lines a rotation leaves the sample nearest to: smallest eigenvector, by inverse
 * iteration.
 */
function bestDirection(points: Normalised, sample: Int32Array, r: Float64Array, fa: number, fb: number): Float64Array {
  const m = new Float64Array(9);
  for (const k of sample) {
    const [x, y] = [points.x[k]! / fa, points.y[k]! / fa];
    const [u, v] = [points.u[k]! / fb, points.v[k]! / fb];
    const a = r[0]! * x + r[1]! * y + r[2]!;
    const b = r[3]! * x + r[4]! * y + r[5]!;
    const c = r[6]! * x + r[7]! * y + r[8]!;
    // t . (q x p) = 0 with p the turned first ray, q the second.
    const n = [b - v * c, u * c - a, v * a - u * b];
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) m[3 * i + j]! += n[i]! * n[j]!;
  }
  const some = 1e-6 * (m[0]! + m[4]! + m[8]!) + 1e-15;
  const [a, b, c, d, e, f] = [m[0]! + some, m[1]!, m[2]!, m[4]! + some, m[5]!, m[8]! + some];
  // The inverse but for a factor: the cofactors of the symmetric matrix.
  const [aa, ab, ac, bb, bc, cc] = [
    d * f - e * e,
    c * e - b * f,
    b * e - c * d,
    a * f - c * c,
    b * c - a * e,
    a * d - b * b,
  ];
  let [x, y, z] = [0.8, 0.33, 0.5];
  for (let i = 0; i < 8; i++) {
    const [u, v, w] = [aa * x + ab * y + ac * z, ab * x + bb * y + bc * z, ac * x + bc * y + cc * z];
    const length = Math.hypot(u, v, w);
    if (!(length > 0)) break;
    [x, y, z] = [u / length, v / length, w / length];
  }
  return Float64Array.of(x, y, z);
}

interface Prior {
  readonly focal: readonly [number, number];
  readonly spread: readonly [number, number];
}

/**
 * Matches share the lens's small errors, so that many count as no more than this many against what focal lengths
 * usually are.
 */
const WITNESSES = 50;

/**
 * Gauss-Newton on all matches near the move, each damped beyond `within` (Geman-McClure), focal lengths held by the
 * prior.
 */
function refineMove(
  points: Normalised,
  start: Pose,
  within: number,
  prior: Prior,
  rounds: number,
): { pose: Pose; information: Float64Array } {
  let pose = start;
  const normal = new Float64Array(49);
  let information = normal;
  const step = new Float64Array(7);
  const noise = within / 2;
  for (let round = 0; round < rounds; round++) {
    derivatives(pose, 7, SLOPES);
    fundamental(pose, F);
    normal.fill(0);
    step.fill(0);
    let near = 0;
    for (let k = 0; k < points.n; k++)
      if (Math.abs(sampson(F, points.x[k]!, points.y[k]!, points.u[k]!, points.v[k]!)) < within) near++;
    const each = Math.min(1, WITNESSES / Math.max(1, near));
    for (let k = 0; k < points.n; k++) {
      const [x, y, u, v] = [points.x[k]!, points.y[k]!, points.u[k]!, points.v[k]!];
      const size = sizeOf(F, x, y, u, v);
      const r = product(F, x, y, u, v) / size;
      if (Math.abs(r) > 2 * within) continue;
      const w = each / (1 + (r * r) / (within * within)) ** 2 / (noise * noise);
      for (let p = 0; p < 7; p++) J[p] = product(SLOPES[p]!, x, y, u, v) / size;
      for (let p = 0; p < 7; p++) {
        for (let q = p; q < 7; q++) normal[7 * p + q]! += w * J[p]! * J[q]!;
        step[p]! -= w * J[p]! * r;
      }
    }
    for (let p = 0; p < 7; p++) for (let q = 0; q < p; q++) normal[7 * p + q] = normal[7 * q + p]!;
    for (let i = 0; i < 2; i++) {
      normal[8 * (5 + i)]! += 1 / prior.spread[i]! ** 2;
      step[5 + i]! -= Math.log(pose.focal[i]! / prior.focal[i]!) / prior.spread[i]! ** 2;
    }
    // Both photos are mostly the same phone's: the two lengths differ less than either does from the usual.
    const both = 1 / 0.05 ** 2;
    const apart = Math.log(pose.focal[0] / pose.focal[1]) - Math.log(prior.focal[0] / prior.focal[1]);
    normal[40]! += both;
    normal[48]! += both;
    normal[41]! -= both;
    normal[47]! -= both;
    step[5]! -= both * apart;
    step[6]! += both * apart;
    for (let p = 0; p < 5; p++) normal[8 * p]! += 1;
    information = normal.slice();
    if (!solveInPlace(normal, step, 7)) break;
    const most = Math.max(
      Math.hypot(step[0]!, step[1]!, step[2]!) / 0.1,
      Math.hypot(step[3]!, step[4]!) / 0.5,
      Math.abs(step[5]!) / 0.1,
      Math.abs(step[6]!) / 0.1,
      1,
    );
    for (let p = 0; p < 7; p++) step[p]! /= most;
    pose = moved(pose, step);
    if (Math.hypot(...step) < 1e-7) break;
  }
  return { pose, information };
}

/** Gauss elimination with pivoting; the answer takes the right side's place. False when the matrix has no inverse. */
export function solveInPlace(m: Float64Array, right: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let k = i + 1; k < n; k++) if (Math.abs(m[k * n + i]!) > Math.abs(m[pivot * n + i]!)) pivot = k;
    const p = m[pivot * n + i]!;
    if (!(Math.abs(p) > 1e-300)) return false;
    if (pivot !== i) {
      for (let k = i; k < n; k++) [m[i * n + k], m[pivot * n + k]] = [m[pivot * n + k]!, m[i * n + k]!];
      [right[i], right[pivot]] = [right[pivot]!, right[i]!];
    }
    for (let k = i + 1; k < n; k++) {
      const f = m[k * n + i]! / p;
      if (f === 0) continue;
      for (let j = i; j < n; j++) m[k * n + j]! -= f * m[i * n + j]!;
      right[k]! -= f * right[i]!;
    }
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = right[i]!;
    for (let k = i + 1; k < n; k++) sum -= m[i * n + k]! * right[k]!;
    right[i] = sum / m[i * n + i]!;
  }
  return true;
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
    surprise: surpriseOf(points.n, kept.length, chanceOf(points, pose)),
    information,
  };
}

/**
 * The share of matches paired at random (each first point with other second points) that agree with a move: more than
 * the share of the photo near an epipolar line where both photos' points lie along a skyline or a fence and the move is
 * sideways.
 */
function chanceOf(points: Normalised, pose: Pose): number {
  fundamental(pose, F);
  const { n, x, y, u, v, area } = points;
  let [near, all] = [0, 0];
  for (let shift = 1; shift <= 12; shift++) {
    const by = Math.max(1, Math.floor((shift * n) / 13));
    for (let k = 0; k < n; k++) {
      const j = (k + by) % n;
      all++;
      if (Math.abs(sampson(F, x[k]!, y[k]!, u[j]!, v[j]!)) < WITHIN) near++;
    }
  }
  return Math.min(1, Math.max((2.4 * WITHIN) / Math.sqrt(area), (1.25 * near) / all));
}

/**
 * Number of false alarms of `agreeing` out of n matches, each near its line by chance with probability p (Moisan &
 * Stival 2004): log10 of (n - 5) C(n, k) C(k, 5) p^(k - 5), its sign turned.
 */
function surpriseOf(n: number, agreeing: number, p: number): number {
  if (agreeing <= 5) return 0;
  const alarms = Math.log10(n) + logChoose(n, agreeing) + logChoose(agreeing, 5) + (agreeing - 5) * Math.log10(p);
  return -alarms;
}

function logChoose(n: number, k: number): number {
  let sum = 0;
  for (let i = 1; i <= k; i++) sum += Math.log10((n - k + i) / i);
  return sum;
}
