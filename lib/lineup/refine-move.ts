import 'server-only';
import { derivatives, fundamental, moved, product, sampson, sizeOf, type Normalised, type Pose } from './epipolar';
import { solveInPlace } from './solve-in-place';

export interface Prior {
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
export function refineMove(
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

const F = new Float64Array(9);
const J = new Float64Array(7);
const SLOPES = Array.from({ length: 7 }, () => new Float64Array(9));
