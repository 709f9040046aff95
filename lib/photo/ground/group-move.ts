import { applyHomography, type Homography } from './homography';
import type { Point, Polygon } from '../raster/pixels';

/** The upright rectangle round all the points: far left, far right, near right, near left on the photo. */
export function frameRound(points: readonly Point[]): Point[] {
  if (points.length === 0) throw new RangeError('points: expected at least one, got none');
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return [
    [left, top],
    [right, top],
    [right, bottom],
    [left, bottom],
  ];
}

export const shiftBy = (dx: number, dy: number): Homography => [1, 0, dx, 0, 1, dy, 0, 0, 1];

/**
 * Turns and sizes everything about a place that stays: `size` 1 keeps the size, `turnDeg` is clockwise on the photo.
 */
export function turnAndSize([x, y]: Point, size: number, turnDeg: number): Homography {
  const [cos, sin] = [size * Math.cos((turnDeg * Math.PI) / 180), size * Math.sin((turnDeg * Math.PI) / 180)];
  return [cos, -sin, x - cos * x + sin * y, sin, cos, y - sin * x - cos * y, 0, 0, 1];
}

/**
 * The turn and size about `fixed` that takes one point to another: how a group follows a handle that is dragged.
 * @returns null when either lies on the fixed point
 */
export function turnAndSizeOnto(fixed: Point, from: Point, to: Point): Homography | null {
  const [ax, ay, bx, by] = [from[0] - fixed[0], from[1] - fixed[1], to[0] - fixed[0], to[1] - fixed[1]];
  const length = Math.hypot(ax, ay);
  if (length === 0 || Math.hypot(bx, by) === 0) return null;
  return turnAndSize(fixed, Math.hypot(bx, by) / length, ((Math.atan2(by, bx) - Math.atan2(ay, ax)) * 180) / Math.PI);
}

export const movedBy = (map: Homography, polygon: Polygon): Point[] =>
  polygon.map((corner) => applyHomography(map, corner));
