import { solveRows } from './linear-solve';
import type { Point } from '../raster/pixels';

/**
 * A plane-to-plane perspective map as nine numbers, row-major, the last scaled to 1:
 * (x, y) goes to ((h0 x + h1 y + h2) / w, (h3 x + h4 y + h5) / w) with w = h6 x + h7 y + h8.
 */
export type Homography = readonly [number, number, number, number, number, number, number, number, number];

/**
 * The perspective map that takes four points exactly onto four others (metres to pixels, or back).
 * Unique when no three of either four lie on a line.
 * @returns null when three points of a side lie on a line (nearly), or when the map would turn part of the
 *   quadrilateral inside out (a corner order that crosses itself on one side only, or a dent)
 * @throws RangeError when a side hasn't four finite points
 * @see Hartley & Zisserman 2004, Multiple View Geometry, 2nd ed., section 4.1 (eight equations of eq. 4.3 with h9 = 1,
 *   after the normalisation of section 4.4.4)
 */
export function homographyFrom4(from: readonly Point[], to: readonly Point[]): Homography | null {
  expectFour('from', from);
  expectFour('to', to);
  if (hasThreeInLine(from) || hasThreeInLine(to)) return null;
  const normFrom = normaliser(from);
  const normTo = normaliser(to);
  const rows: Float64Array[] = [];
  for (let i = 0; i < 4; i++) {
    const [x, y] = applyHomography(normFrom.map, from[i] as Point);
    const [u, v] = applyHomography(normTo.map, to[i] as Point);
    rows.push(Float64Array.of(x, y, 1, 0, 0, 0, -u * x, -u * y, u));
    rows.push(Float64Array.of(0, 0, 0, x, y, 1, -v * x, -v * y, v));
  }
  const h = solveRows(rows);
  if (!h.every(Number.isFinite)) return null;
  const normalised = [...h, 1] as unknown as Homography;
  const composed = composeHomographies(normTo.inverse, composeHomographies(normalised, normFrom.map));
  const sign = Math.sign(homogeneousScale(composed, from[0] as Point));
  if (sign === 0 || from.some((p) => Math.sign(homogeneousScale(composed, p)) !== sign)) return null;
  return composed;
}

/** Where the map takes a point. Points on its horizon go to infinity: a pair of infinite or NaN numbers. */
export function applyHomography(h: Homography, [x, y]: Point): Point {
  const w = h[6] * x + h[7] * y + h[8];
  return [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
}

/** The map's third coordinate at a point: it changes sign across the horizon and is zero on it. */
function homogeneousScale(h: Homography, [x, y]: Point): number {
  return h[6] * x + h[7] * y + h[8];
}

/** First `inner`, then `outer`. */
export function composeHomographies(outer: Homography, inner: Homography): Homography {
  const out: number[] = [];
  for (let row = 0; row < 3; row++) {
    for (let col = 0; col < 3; col++) {
      out.push(
        (outer[row * 3] as number) * (inner[col] as number) +
          (outer[row * 3 + 1] as number) * (inner[3 + col] as number) +
          (outer[row * 3 + 2] as number) * (inner[6 + col] as number),
      );
    }
  }
  return scaled(out);
}

/** The way back. @returns null when the map has no inverse */
export function invertHomography(h: Homography): Homography | null {
  const [a, b, c, d, e, f, g, i, j] = h;
  const determinant = a * (e * j - f * i) - b * (d * j - f * g) + c * (d * i - e * g);
  if (!Number.isFinite(determinant) || determinant === 0) return null;
  // prettier-ignore
  return scaled([
    e * j - f * i, c * i - b * j, b * f - c * e,
    f * g - d * j, a * j - c * g, c * d - a * f,
    d * i - e * g, b * g - a * i, a * e - b * d,
  ]);
}

/** Divides by the last number where that is possible; by the largest where the origin lies on the horizon. */
function scaled(m: readonly number[]): Homography {
  const last = m[8] as number;
  const largest = Math.max(...m.map(Math.abs));
  const by = Math.abs(last) > 1e-14 * largest ? last : largest;
  return m.map((v) => v / by) as unknown as Homography;
}

function expectFour(name: string, points: readonly Point[]): void {
  if (points.length !== 4) throw new RangeError(`${name}: expected 4 points, got ${points.length}`);
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y))
      throw new RangeError(`${name}: expected finite points, got (${x}, ${y})`);
  }
}

/** Three of four so nearly on one line that twice their triangle is under a millionth of the spread squared. */
function hasThreeInLine(points: readonly Point[]): boolean {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const spread = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
  for (let skip = 0; skip < 4; skip++) {
    const [a, b, c] = points.filter((_, i) => i !== skip) as [Point, Point, Point];
    const twice = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if (Math.abs(twice) <= 1e-6 * spread * spread) return true;
  }
  return false;
}

/** Centroid to the origin, mean distance to the square root of two. */
function normaliser(points: readonly Point[]): { map: Homography; inverse: Homography } {
  const cx = points.reduce((sum, p) => sum + p[0], 0) / points.length;
  const cy = points.reduce((sum, p) => sum + p[1], 0) / points.length;
  const mean = points.reduce((sum, p) => sum + Math.hypot(p[0] - cx, p[1] - cy), 0) / points.length;
  const s = Math.SQRT2 / mean;
  return { map: [s, 0, -s * cx, 0, s, -s * cy, 0, 0, 1], inverse: [1 / s, 0, cx, 0, 1 / s, cy, 0, 0, 1] };
}

export const IDENTITY: Homography = [1, 0, 0, 0, 1, 0, 0, 0, 1];

/**
 * The map between two photos, given the map between resized copies. A copy's pixel centre c stands for
 * (c + 0.5) / scale - 0.5 of the full photo, as area averaging makes it.
 */
export function betweenFullSize(h: Homography, scaleFrom: number, scaleTo: number): Homography {
  return composeHomographies(shrinking(1 / scaleTo), composeHomographies(h, shrinking(scaleFrom)));
}

/** The map between resized copies (scale = copy width / full width), given the map between the full photos. */
export function betweenCopies(h: Homography, scaleFrom: number, scaleTo: number): Homography {
  return composeHomographies(shrinking(scaleTo), composeHomographies(h, shrinking(1 / scaleFrom)));
}

function shrinking(scale: number): Homography {
  return [scale, 0, (scale - 1) / 2, 0, scale, (scale - 1) / 2, 0, 0, 1];
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
