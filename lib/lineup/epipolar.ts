import 'server-only';
import type { Features } from './features';
import type { Matches } from './match-features';

export interface Normalised {
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
export interface Pose {
  rotation: Float64Array;
  direction: Float64Array;
  focal: [number, number];
}

/** Matches in shares of the long sides about the centres. */
export function normalise(first: Features, second: Features, matches: Matches): Normalised {
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

/** Writes F = Kb^-T [t]x R Ka^-1 in shares of the long sides. */
export function fundamental({ rotation: r, direction: t, focal }: Pose, out: Float64Array): void {
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
export function scoreOf(points: Normalised, pose: Pose, within: number, residuals: Float64Array): number {
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

export function sampson(f: Float64Array, x: number, y: number, u: number, v: number): number {
  const a = f[0]! * x + f[1]! * y + f[2]!;
  const b = f[3]! * x + f[4]! * y + f[5]!;
  const c = f[6]! * x + f[7]! * y + f[8]!;
  const d = f[0]! * u + f[3]! * v + f[6]!;
  const e = f[1]! * u + f[4]! * v + f[7]!;
  return (u * a + v * b + c) / Math.sqrt(a * a + b * b + d * d + e * e + 1e-30);
}

export function product(f: Float64Array, x: number, y: number, u: number, v: number): number {
  return u * (f[0]! * x + f[1]! * y + f[2]!) + v * (f[3]! * x + f[4]! * y + f[5]!) + f[6]! * x + f[7]! * y + f[8]!;
}

export function sizeOf(f: Float64Array, x: number, y: number, u: number, v: number): number {
  const a = f[0]! * x + f[1]! * y + f[2]!;
  const b = f[3]! * x + f[4]! * y + f[5]!;
  const d = f[0]! * u + f[3]! * v + f[6]!;
  const e = f[1]! * u + f[4]! * v + f[7]!;
  return Math.sqrt(a * a + b * b + d * d + e * e + 1e-30);
}

/** Rotation by the small vector w, after `r`. */
export function turned(r: Float64Array, w0: number, w1: number, w2: number): Float64Array {
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

export function moved(pose: Pose, step: ArrayLike<number>): Pose {
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
export function derivatives(pose: Pose, count: number, out: readonly Float64Array[]): void {
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
