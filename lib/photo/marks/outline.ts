import { applyHomography, type Homography } from '../ground/homography';
import type { Point, Polygon } from '../raster/pixels';

/**
 * The outer border of a set of cells as a polygon of cell-corner points (cell centres at whole numbers), going round
 * once; holes are left out. Points in a row are merged. `cells` must hang together by sides or corners.
 */
export function outlineOf(cells: Int32Array, width: number, height: number): Polygon {
  const inside = new Set<number>(cells);
  const has = (x: number, y: number): boolean =>
    x >= 0 && y >= 0 && x < width && y < height && inside.has(y * width + x);
  const first = cells.reduce((a, b) => Math.min(a, b), Infinity);
  const start: [number, number] = [first % width, Math.floor(first / width)];
  // Walk along cell sides with the set on the right hand, from the top-left corner of the first cell in reading order.
  const steps = [
    [1, 0],
    [0, 1],
    [-1, 0],
    [0, -1],
  ] as const;
  const points: Point[] = [[start[0] - 0.5, start[1] - 0.5]];
  let [x, y] = start;
  let heading = 0;
  const limit = 8 * cells.length + 16;
  for (let n = 0; n < limit; n++) {
    if (n > 0 && x === start[0] && y === start[1]) break;
    const [dx, dy] = steps[heading]!;
    // The two cells ahead of the lattice corner (x, y): left and right of the heading.
    const ahead = cellsAhead(x, y, heading);
    const left = has(...ahead.left);
    const right = has(...ahead.right);
    if (left) {
      points.push([x - 0.5, y - 0.5]);
      heading = (heading + 3) % 4;
    } else if (!right) {
      points.push([x - 0.5, y - 0.5]);
      heading = (heading + 1) % 4;
    } else {
      x += dx;
      y += dy;
      continue;
    }
    const [nx, ny] = steps[heading]!;
    x += nx;
    y += ny;
  }
  return points;
}

function cellsAhead(x: number, y: number, heading: number): { left: [number, number]; right: [number, number] } {
  switch (heading) {
    case 0:
      return { left: [x, y - 1], right: [x, y] };
    case 1:
      return { left: [x, y], right: [x - 1, y] };
    case 2:
      return { left: [x - 1, y], right: [x - 1, y - 1] };
    default:
      return { left: [x - 1, y - 1], right: [x, y - 1] };
  }
}

/**
 * Fewer corners: leaves out points nearer than `tolerance` to the line through their neighbours (Douglas & Peucker
 * 1973).
 */
export function simplified(polygon: Polygon, tolerance: number): Polygon {
  if (polygon.length < 5) return polygon;
  let far = 0;
  for (let i = 1; i < polygon.length; i++)
    if (distance(polygon[0]!, polygon[i]!) > distance(polygon[0]!, polygon[far]!)) far = i;
  const there = polyline(polygon.slice(0, far + 1), tolerance);
  const back = polyline([...polygon.slice(far), polygon[0]!], tolerance);
  const out = [...there.slice(0, -1), ...back.slice(0, -1)];
  return out.length >= 3 ? out : polygon;
}

function polyline(points: readonly Point[], tolerance: number): Point[] {
  const first = points[0]!;
  const last = points.at(-1)!;
  let worst = 0;
  let at = -1;
  for (let i = 1; i < points.length - 1; i++) {
    const d = fromLine(points[i]!, first, last);
    if (d > worst) [worst, at] = [d, i];
  }
  if (at < 0 || worst <= tolerance) return [first, last];
  return [...polyline(points.slice(0, at + 1), tolerance).slice(0, -1), ...polyline(points.slice(at), tolerance)];
}

const distance = (p: Point, q: Point): number => Math.hypot(p[0] - q[0], p[1] - q[1]);

function fromLine(p: Point, a: Point, b: Point): number {
  const length = distance(a, b);
  if (length === 0) return distance(p, a);
  return Math.abs((b[0] - a[0]) * (a[1] - p[1]) - (a[0] - p[0]) * (b[1] - a[1])) / length;
}

/** The polygon as it lies in the photo. */
export function outlineInPhoto(polygon: Polygon, toPhoto: Homography): Polygon {
  return polygon.map((p) => applyHomography(toPhoto, p));
}

/** Centre of gravity of the cells, in cells. */
export function centreOf(cells: Int32Array, width: number): Point {
  let [x, y] = [0, 0];
  for (const i of cells) {
    x += i % width;
    y += Math.floor(i / width);
  }
  return [x / cells.length, y / cells.length];
}
