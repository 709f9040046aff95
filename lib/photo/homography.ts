import type { Point } from './pixels';

/**
 * A map of one plane onto another, as nine numbers row by row:
 * x' = (h0 x + h1 y + h2) / (h6 x + h7 y + h8), y' = (h3 x + h4 y + h5) / (h6 x + h7 y + h8).
 * (Hartley & Zisserman, Multiple View Geometry, 2nd ed., section 2.3.)
 */
export type Homography = readonly [number, number, number, number, number, number, number, number, number];

export const IDENTITY: Homography = [1, 0, 0, 0, 1, 0, 0, 0, 1];

/** Where a point lands, in pixels of the target. NaN when it lies on the line sent to infinity. */
export function project(h: Homography, [x, y]: Point): Point {
  const w = h[6] * x + h[7] * y + h[8];
  if (w === 0) return [NaN, NaN];
  return [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
}

/** The map that does `first`, then `second`. */
export function compose(second: Homography, first: Homography): Homography {
  const [a, b] = [second, first];
  return normalise([
    a[0] * b[0] + a[1] * b[3] + a[2] * b[6], a[0] * b[1] + a[1] * b[4] + a[2] * b[7], a[0] * b[2] + a[1] * b[5] + a[2] * b[8],
    a[3] * b[0] + a[4] * b[3] + a[5] * b[6], a[3] * b[1] + a[4] * b[4] + a[5] * b[7], a[3] * b[2] + a[4] * b[5] + a[5] * b[8],
    a[6] * b[0] + a[7] * b[3] + a[8] * b[6], a[6] * b[1] + a[7] * b[4] + a[8] * b[7], a[6] * b[2] + a[7] * b[5] + a[8] * b[8],
  ]);
}

/** The way back. @throws RangeError when the map flattens the plane */
export function invert(h: Homography): Homography {
  const [a, b, c, d, e, f, g, k, l] = h;
  const det = a * (e * l - f * k) - b * (d * l - f * g) + c * (d * k - e * g);
  if (!Number.isFinite(det) || Math.abs(det) < 1e-300) throw new RangeError('invert: expected a map of rank 3, got a flat one');
  return normalise([
    e * l - f * k, c * k - b * l, b * f - c * e,
    f * g - d * l, a * l - c * g, c * d - a * f,
    d * k - e * g, b * g - a * k, a * e - b * d,
  ]);
}

/** The same map with its last number 1 (left as it is when that number is 0). */
export function normalise(h: Homography): Homography {
  const s = h[8];
  if (s === 0 || s === 1) return h;
  return [h[0] / s, h[1] / s, h[2] / s, h[3] / s, h[4] / s, h[5] / s, h[6] / s, h[7] / s, 1];
}

/**
 * The map between two photos, given the map between resized copies. A copy's pixel centre c stands for
 * (c + 0.5) / scale - 0.5 of the full photo, as area averaging makes it.
 */
export function betweenFullSize(h: Homography, scaleFrom: number, scaleTo: number): Homography {
  return compose(invert(shrinking(scaleTo)), compose(h, shrinking(scaleFrom)));
}

/** The map between resized copies (scale = copy width / full width), given the map between the full photos. */
export function betweenCopies(h: Homography, scaleFrom: number, scaleTo: number): Homography {
  return compose(shrinking(scaleTo), compose(h, invert(shrinking(scaleFrom))));
}

function shrinking(scale: number): Homography {
  return [scale, 0, (scale - 1) / 2, 0, scale, (scale - 1) / 2, 0, 0, 1];
}

/**
 * The map that takes four points to four others.
 * @throws RangeError when three of either four lie on one line
 */
export function fromFourPoints(from: readonly Point[], to: readonly Point[]): Homography {
  if (from.length !== 4 || to.length !== 4) {
    throw new RangeError(`fromFourPoints: expected four points each, got ${from.length} and ${to.length}`);
  }
  return compose(fromUnitSquare(to), invert(fromUnitSquare(from)));
}

/** Unit square (0,0) (1,0) (1,1) (0,1) to four points (Heckbert 1989, "Fundamentals of texture mapping", section 2.2.3). */
function fromUnitSquare(q: readonly Point[]): Homography {
  const [[x0, y0], [x1, y1], [x2, y2], [x3, y3]] = q as [Point, Point, Point, Point];
  const [dx1, dx2, sx] = [x1 - x2, x3 - x2, x0 - x1 + x2 - x3];
  const [dy1, dy2, sy] = [y1 - y2, y3 - y2, y0 - y1 + y2 - y3];
  const det = dx1 * dy2 - dx2 * dy1;
  const size = Math.max(Math.abs(dx1), Math.abs(dx2), Math.abs(dy1), Math.abs(dy2));
  if (!(Math.abs(det) > 1e-12 * size * size)) throw new RangeError('fromFourPoints: expected no three points on one line');
  const g = (sx * dy2 - dx2 * sy) / det;
  const k = (dx1 * sy - sx * dy1) / det;
  return [x1 - x0 + g * x1, x3 - x0 + k * x3, x0, y1 - y0 + g * y1, y3 - y0 + k * y3, y0, g, k, 1];
}

/** Signed area of a polygon in pixels squared: above 0 when its corners go clockwise on screen (y downwards). */
export function signedArea(polygon: readonly Point[]): number {
  let twice = 0;
  for (let i = 0; i < polygon.length; i++) {
    const [x0, y0] = polygon[i]!;
    const [x1, y1] = polygon[(i + 1) % polygon.length]!;
    twice += x0 * y1 - x1 * y0;
  }
  return twice / 2;
}
