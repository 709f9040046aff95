import 'server-only';
import { fundamental, sampson, type Normalised, type Pose } from './epipolar';

/**
 * The share of matches paired at random (each first point with other second points) that agree with a move: more than
 * the share of the photo near an epipolar line where both photos' points lie along a skyline or a fence and the move is
 * sideways.
 */
export function chanceOf(points: Normalised, pose: Pose, within: number): number {
  const f = new Float64Array(9);
  fundamental(pose, f);
  const { n, x, y, u, v, area } = points;
  let [near, all] = [0, 0];
  for (let shift = 1; shift <= 12; shift++) {
    const by = Math.max(1, Math.floor((shift * n) / 13));
    for (let k = 0; k < n; k++) {
      const j = (k + by) % n;
      all++;
      if (Math.abs(sampson(f, x[k]!, y[k]!, u[j]!, v[j]!)) < within) near++;
    }
  }
  return Math.min(1, Math.max((2.4 * within) / Math.sqrt(area), (1.25 * near) / all));
}

/**
 * Number of false alarms of `agreeing` out of n matches, each near its line by chance with probability p (Moisan &
 * Stival 2004): log10 of (n - 5) C(n, k) C(k, 5) p^(k - 5), its sign turned.
 */
export function surpriseOf(n: number, agreeing: number, p: number): number {
  if (agreeing <= 5) return 0;
  const alarms = Math.log10(n) + logChoose(n, agreeing) + logChoose(agreeing, 5) + (agreeing - 5) * Math.log10(p);
  return -alarms;
}

function logChoose(n: number, k: number): number {
  let sum = 0;
  for (let i = 1; i <= k; i++) sum += Math.log10((n - k + i) / i);
  return sum;
}
