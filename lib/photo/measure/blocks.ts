import { applyHomography, homographyFrom4, invertHomography, type Homography } from '../ground/homography';
import type { Point, Polygon } from '../raster/pixels';
import type { Region } from '../raster/region';

/**
 * A plot cut into blocks, for the interval: neighbouring pixels of turf look alike over some 0.3 m, so only pieces
 * of about that size count as separate looks.
 * Blocks are numbered row by row from the first corner, `across` in a row. Cut along straight lines of the picture.
 */
export interface BlockGrid {
  readonly across: number;
  readonly along: number;
  /** Width of a block in metres, where the ground is known. */
  readonly blockAcrossM: number | null;
  readonly blockAlongM: number | null;
  /** From a block position (0..across, 0..along) to pixels. */
  readonly toPixels: Homography;
  readonly toBlocks: Homography;
}

/**
 * @param polygon the plot's outline in pixels. With four corners the grid lies in perspective on the plot (corner 1 to
 *   corner 2 is "across"); with any other number, or four that aren't a quadrilateral, it is upright in the photo.
 * @param groundMetres the same corners in metres on the ground, when known: sets the blocks' real size
 * @param blocksAcrossWidth how many blocks make the plot's shorter side
 * @param minBlockM no block is made smaller than this on the ground, when the ground is known
 */
export function blockGrid(
  polygon: Polygon,
  groundMetres: Polygon | undefined,
  blocksAcrossWidth: number,
  minBlockM: number,
): BlockGrid {
  const perspective = laidOver(polygon);
  const ground =
    groundMetres !== undefined && groundMetres.length === 4 && perspective === polygon ? groundMetres : null;
  let across: number;
  let along: number;
  if (ground === null) {
    // Without the ground's measure a photo shows depth shortened, never stretched: the side along the line of sight is
    // at least as long as it looks. Blocks may come out longer than wanted, which widens the interval, never narrows
    // it.
    const [w, l] = sides(perspective);
    across = blocksAcrossWidth;
    along = Math.max(blocksAcrossWidth, Math.round((blocksAcrossWidth * l) / w));
  } else {
    const [w, l] = sides(ground);
    const size = Math.max(Math.min(w, l) / blocksAcrossWidth, minBlockM);
    across = Math.max(1, Math.floor(w / size + 1e-9));
    along = Math.max(1, Math.floor(l / size + 1e-9));
  }
  across = Math.min(across, 64);
  along = Math.min(along, 64);
  const [w, l] = ground === null ? [null, null] : sides(ground);
  return {
    ...gridOn(polygon, across, along),
    blockAcrossM: w === null ? null : w / across,
    blockAlongM: l === null ? null : l / along,
  };
}

/** The corners a plot's blocks are laid over: its own four, else the upright box round it. */
function laidOver(polygon: Polygon): Polygon {
  const quad = polygon.length === 4 ? polygon : boundingBox(polygon);
  const square: Polygon = [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ];
  return homographyFrom4(square, quad) === null ? boundingBox(polygon) : quad;
}

/** Where a grid's lines run in the picture. */
type GridLines = Omit<BlockGrid, 'blockAcrossM' | 'blockAlongM'>;

/**
 * The lines of a plot's blocks, where it is known how many there are each way.
 * @throws RangeError for an outline without an area
 */
export function gridOn(polygon: Polygon, across: number, along: number): GridLines {
  const toPixels = homographyFrom4(
    [
      [0, 0],
      [across, 0],
      [across, along],
      [0, along],
    ],
    laidOver(polygon),
  );
  const toBlocks = toPixels === null ? null : invertHomography(toPixels);
  if (toPixels === null || toBlocks === null)
    throw new RangeError('polygon: expected an outline that encloses an area, got one without');
  return { across, along, toPixels, toBlocks };
}

/** Mean length of the two sides across (1-2, 4-3) and of the two along (2-3, 1-4). */
function sides(quad: Polygon): [across: number, along: number] {
  const [a, b, c, d] = quad as readonly [Point, Point, Point, Point];
  return [(distance(a, b) + distance(d, c)) / 2, (distance(b, c) + distance(a, d)) / 2];
}

function distance(p: Point, q: Point): number {
  return Math.hypot(p[0] - q[0], p[1] - q[1]);
}

function boundingBox(polygon: Polygon): Polygon {
  const xs = polygon.map((p) => p[0]);
  const ys = polygon.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
}

/**
 * The region's runs cut at the grid's lines: four whole numbers a piece (row, first column, one past the last, block).
 * Every pixel of the region lands in exactly one block.
 */
export function cutIntoBlocks(region: Region, grid: GridLines): Int32Array {
  const { across, along, toPixels, toBlocks } = grid;
  // Each inner line as x = base + slope * y; a level line never cuts a row in two.
  const base: number[] = [];
  const slope: number[] = [];
  const addLine = (p: Point, q: Point): void => {
    if (p[1] === q[1]) return;
    const dxdy = (q[0] - p[0]) / (q[1] - p[1]);
    slope.push(dxdy);
    base.push(p[0] - dxdy * p[1]);
  };
  for (let u = 1; u < across; u++) addLine(applyHomography(toPixels, [u, 0]), applyHomography(toPixels, [u, along]));
  for (let v = 1; v < along; v++) addLine(applyHomography(toPixels, [0, v]), applyHomography(toPixels, [across, v]));

  const pieces = new Int32Array((region.runs.length / 3) * (base.length + 1) * 4);
  let end = 0;
  const cuts = new Int32Array(base.length + 1);
  for (let i = 0; i < region.runs.length; i += 3) {
    const y = region.runs[i] as number;
    const to = region.runs[i + 2] as number;
    let start = region.runs[i + 1] as number;
    let count = 0;
    for (let line = 0; line < base.length; line++) {
      const x = Math.ceil((base[line] as number) + (slope[line] as number) * y);
      if (x > start && x < to) count = insertSorted(cuts, count, x);
    }
    cuts[count++] = to;
    for (let cut = 0; cut < count; cut++) {
      const stop = cuts[cut] as number;
      if (stop === start) continue;
      const block = blockAt(toBlocks, (start + stop - 1) / 2, y, across, along);
      if (end > 0 && pieces[end - 4] === y && pieces[end - 2] === start && pieces[end - 1] === block)
        pieces[end - 2] = stop;
      else {
        pieces[end] = y;
        pieces[end + 1] = start;
        pieces[end + 2] = stop;
        pieces[end + 3] = block;
        end += 4;
      }
      start = stop;
    }
  }
  return pieces.slice(0, end);
}

function insertSorted(list: Int32Array, count: number, value: number): number {
  let at = count;
  while (at > 0 && (list[at - 1] as number) > value) {
    list[at] = list[at - 1] as number;
    at--;
  }
  list[at] = value;
  return count + 1;
}

/** The block that a pixel lies in; `applyHomography` written out, as this runs for every piece of every row. */
function blockAt(h: Homography, x: number, y: number, across: number, along: number): number {
  const w = h[6] * x + h[7] * y + h[8];
  const u = (h[0] * x + h[1] * y + h[2]) / w;
  const v = (h[3] * x + h[4] * y + h[5]) / w;
  return clampWhole(v, along) * across + clampWhole(u, across);
}

/** Pixels a rounding error beyond the border belong to the border's block. */
function clampWhole(value: number, count: number): number {
  return Math.min(count - 1, Math.max(0, Math.floor(value)));
}
