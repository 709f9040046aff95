import type { Point, Polygon } from './pixels';

/**
 * The pixels inside a polygon as run-length rows, three integers a run: row y, first column, one past the last column.
 * A pixel belongs when its centre lies inside (even-odd rule, left and top edges in, right and bottom edges out), so
 * polygons that share an edge never share a pixel. Runs come row by row, left to right, cut to the photo.
 */
export interface Region {
  readonly runs: Int32Array;
  readonly pixelCount: number;
}

/**
 * @param polygon corners in pixels, whole numbers at pixel centres
 * @param width, height of the photo in pixels
 * @throws RangeError when a corner isn't a finite point or there are fewer than three
 */
export function regionOf(polygon: Polygon, width: number, height: number): Region {
  expectPolygon(polygon);
  let top = Infinity;
  let bottom = -Infinity;
  for (const [, y] of polygon) {
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  const firstRow = Math.max(0, Math.ceil(top));
  const lastRow = Math.min(height - 1, Math.ceil(bottom) - 1);
  const edges = edgesOf(polygon);
  const most = Math.max(0, lastRow - firstRow + 1) * Math.floor(polygon.length / 2);
  const runs = new Int32Array(3 * most);
  let end = 0;
  let pixelCount = 0;
  const crossings = new Float64Array(polygon.length);
  for (let y = firstRow; y <= lastRow; y++) {
    const count = crossRow(edges, y, crossings);
    for (let i = 0; i + 1 < count; i += 2) {
      const from = Math.max(0, Math.ceil(crossings[i] as number));
      const to = Math.min(width, Math.ceil(crossings[i + 1] as number));
      if (to <= from) continue;
      runs[end++] = y;
      runs[end++] = from;
      runs[end++] = to;
      pixelCount += to - from;
    }
  }
  return { runs: runs.slice(0, end), pixelCount };
}

/**
 * Four numbers an edge: its upper end (x, y), then its lower end. The order of the ends doesn't depend on the
 * polygon's, so both polygons at an edge cross a row at the same number.
 */
function edgesOf(polygon: Polygon): Float64Array {
  return Float64Array.from(
    polygon.flatMap((a, i): number[] => {
      const b = polygon[(i + 1) % polygon.length] as Point;
      return a[1] < b[1] || (a[1] === b[1] && a[0] <= b[0]) ? [...a, ...b] : [...b, ...a];
    }),
  );
}

/** Where the edges meet a row, left to right, into `crossings`; returns how many. */
function crossRow(edges: Float64Array, y: number, crossings: Float64Array): number {
  let count = 0;
  for (let at = 0; at < edges.length; at += 4) {
    const upperY = edges[at + 1] as number;
    const lowerY = edges[at + 3] as number;
    if (y < upperY || y >= lowerY) continue;
    const x =
      (edges[at] as number) + ((y - upperY) / (lowerY - upperY)) * ((edges[at + 2] as number) - (edges[at] as number));
    let place = count++;
    for (; place > 0 && (crossings[place - 1] as number) > x; place--)
      crossings[place] = crossings[place - 1] as number;
    crossings[place] = x;
  }
  return count;
}

/** The whole photo as a polygon: its outer border, half a pixel beyond the corner pixels' centres. */
export function wholePhoto(width: number, height: number): Polygon {
  return [
    [-0.5, -0.5],
    [width - 0.5, -0.5],
    [width - 0.5, height - 0.5],
    [-0.5, height - 0.5],
  ];
}

/**
 * Area by the shoelace formula, zero or more, in the square of the corners' unit (pixels or metres). For a polygon that
 * crosses itself the lobes of opposite turn cancel: look with `isSimple` first.
 */
export function polygonArea(polygon: Polygon): number {
  let twice = 0;
  for (let i = 0; i < polygon.length; i++) {
    const [x0, y0] = polygon[i] as Point;
    const [x1, y1] = polygon[(i + 1) % polygon.length] as Point;
    twice += x0 * y1 - x1 * y0;
  }
  return Math.abs(twice) / 2;
}

/**
 * A plot whose outline lies in the photo by less than this share of its area is not measured: what is missing may
 * differ.
 */
export const LEAST_IN_PICTURE = 0.95;

/** Share of the outline's area that lies in the photo, 0..1. */
export function inPictureShare(polygon: Polygon, width: number, height: number): number {
  if (polygon.every(([x, y]) => x >= -0.5 && y >= -0.5 && x <= width - 0.5 && y <= height - 0.5)) return 1;
  const area = polygonArea(polygon);
  return area === 0 ? 0 : Math.min(1, regionOf(polygon, width, height).pixelCount / area);
}

/** The polygon scaled about its middle. */
export function grown(polygon: Polygon, factor: number): Polygon {
  const cx = polygon.reduce((s, p) => s + p[0], 0) / polygon.length;
  const cy = polygon.reduce((s, p) => s + p[1], 0) / polygon.length;
  return polygon.map(([x, y]) => [cx + (x - cx) * factor, cy + (y - cy) * factor]);
}

/** Whether a point lies inside, by the even-odd rule. */
export function contains(polygon: Polygon, [x, y]: Point): boolean {
  let inside = false;
  for (let i = 0, j = polygon.length - 1; i < polygon.length; j = i++) {
    const [ax, ay] = polygon[i]!;
    const [bx, by] = polygon[j]!;
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}

/**
 * Whether no two edges cross or touch, other than neighbours at their shared corner: an outline a person could mean.
 */
export function isSimple(polygon: Polygon): boolean {
  const n = polygon.length;
  if (n < 3 || polygonArea(polygon) === 0) return false;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const neighbours = j === i + 1 || (i === 0 && j === n - 1);
      if (neighbours) continue;
      if (
        segmentsMeet(
          polygon[i] as Point,
          polygon[(i + 1) % n] as Point,
          polygon[j] as Point,
          polygon[(j + 1) % n] as Point,
        )
      ) {
        return false;
      }
    }
  }
  return true;
}

/** Twice the signed area of a, b, c: above zero when c lies to the right of a→b in a picture (y downwards). */
function turn(a: Point, b: Point, c: Point): number {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

function between(a: Point, b: Point, p: Point): boolean {
  return (
    Math.min(a[0], b[0]) <= p[0] &&
    p[0] <= Math.max(a[0], b[0]) &&
    Math.min(a[1], b[1]) <= p[1] &&
    p[1] <= Math.max(a[1], b[1])
  );
}

function segmentsMeet(a: Point, b: Point, c: Point, d: Point): boolean {
  const abc = Math.sign(turn(a, b, c));
  const abd = Math.sign(turn(a, b, d));
  const cda = Math.sign(turn(c, d, a));
  const cdb = Math.sign(turn(c, d, b));
  if (abc !== abd && cda !== cdb) return true;
  return (
    (abc === 0 && between(a, b, c)) ||
    (abd === 0 && between(a, b, d)) ||
    (cda === 0 && between(c, d, a)) ||
    (cdb === 0 && between(c, d, b))
  );
}

/** @throws RangeError for fewer than three corners or a corner that isn't a pair of finite numbers */
function expectPolygon(polygon: Polygon): void {
  if (polygon.length < 3) throw new RangeError(`polygon: expected at least 3 corners, got ${polygon.length}`);
  for (const [x, y] of polygon) {
    if (!Number.isFinite(x) || !Number.isFinite(y)) {
      throw new RangeError(`polygon: expected corners that are finite numbers, got (${x}, ${y})`);
    }
  }
}

/** A picture of yes (any number but 0) and no (0), row-major, laid over the whole photo whatever its size. */
export interface Mask {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

/**
 * The region less the pixels where the mask says yes. A photo pixel takes the mask's pixel it lies in.
 * @throws RangeError when the mask's data doesn't fit its size
 */
export function leaveOutMasked({ runs }: Region, mask: Mask, width: number, height: number): Region {
  if (mask.data.length !== mask.width * mask.height) {
    throw new RangeError(`mask: expected ${mask.width} x ${mask.height} bytes, got ${mask.data.length}`);
  }
  const column = Int32Array.from({ length: width }, (_, x) =>
    Math.min(mask.width - 1, Math.floor(((x + 0.5) * mask.width) / width)),
  );
  const kept: number[] = [];
  let pixelCount = 0;
  for (let i = 0; i < runs.length; i += 3) {
    const y = runs[i] as number;
    const to = runs[i + 2] as number;
    const row = Math.min(mask.height - 1, Math.floor(((y + 0.5) * mask.height) / height)) * mask.width;
    let start = -1;
    for (let x = runs[i + 1] as number; x <= to; x++) {
      const out = x === to || mask.data[row + (column[x] as number)] !== 0;
      if (!out && start < 0) start = x;
      if (out && start >= 0) {
        kept.push(y, start, x);
        pixelCount += x - start;
        start = -1;
      }
    }
  }
  return { runs: Int32Array.from(kept), pixelCount };
}
