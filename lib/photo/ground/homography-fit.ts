import { composeHomographies, type Homography } from './homography';
import { leastSquares } from './linear-solve';
import type { Point } from '../raster/pixels';

/**
 * The map that fits four or more pairs of points best (least squares on the eight linear equations of a homography
 * after moving and scaling both sides to unit size). Exact for four.
 * @returns null when the points don't fix a map
 * @see Hartley & Zisserman 2004, Multiple View Geometry, 2nd ed., sections 4.1 and 4.4.4
 */
export function fitHomography(from: readonly Point[], to: readonly Point[]): Homography | null {
  if (from.length !== to.length || from.length < 4)
    throw new RangeError(`fitHomography: expected at least four pairs, got ${from.length} and ${to.length}`);
  const a = unit(from);
  const b = unit(to);
  const equations: number[][] = [];
  for (let i = 0; i < from.length; i++) {
    const [x, y] = a.at(from[i]!);
    const [u, v] = b.at(to[i]!);
    equations.push([x, y, 1, 0, 0, 0, -u * x, -u * y, u], [0, 0, 0, x, y, 1, -v * x, -v * y, v]);
  }
  const h = leastSquares(equations);
  if (!h.every(Number.isFinite)) return null;
  const core = [...h, 1] as unknown as Homography;
  return composeHomographies(b.back, composeHomographies(core, a.there));
}

function unit(points: readonly Point[]): { at: (p: Point) => Point; there: Homography; back: Homography } {
  const n = points.length;
  const cx = points.reduce((s, p) => s + p[0], 0) / n;
  const cy = points.reduce((s, p) => s + p[1], 0) / n;
  const spread = points.reduce((s, p) => s + Math.hypot(p[0] - cx, p[1] - cy), 0) / n || 1;
  const k = Math.SQRT2 / spread;
  return {
    at: ([x, y]) => [k * (x - cx), k * (y - cy)],
    there: [k, 0, -k * cx, 0, k, -k * cy, 0, 0, 1],
    back: [1 / k, 0, cx, 0, 1 / k, cy, 0, 0, 1],
  };
}
