import 'server-only';
import { derivatives, fundamental, moved, product, sizeOf, turned, type Normalised, type Pose } from './epipolar';
import { solveInPlace } from './solve-in-place';

/** Rotation and direction that fit five matches exactly (or nearly), near the smallest turn that explains them. */
export function solveFive(points: Normalised, sample: Int32Array, focal: readonly [number, number]): Pose | undefined {
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

const F = new Float64Array(9);
const J = new Float64Array(5);
const SLOPES = Array.from({ length: 5 }, () => new Float64Array(9));

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
