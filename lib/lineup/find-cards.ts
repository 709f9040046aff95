import 'server-only';
import { LINEAR_OF_CODE } from '@/lib/colour/srgb';
import { CARD_CELLS, readCard } from '@/lib/photo/ground/card-code';
import { applyHomography, homographyFrom4, signedArea, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { onceFor } from './once';
import { edgesOf, takePatch } from './patches';
import { lay } from './planes-simd';
import { convexHull, distance, meeting, steadyLine, toQuad, type Corners } from './quads';

/** A plot card lying in the photo. */
export interface SeenCard {
  /** 1 to 64. */
  readonly number: number;
  /**
   * Corners of the black square, full-size pixels, as the card is printed: top left, top right, bottom right, bottom
   * left.
   */
  readonly corners: Corners;
  /** Cells of the code that were read wrong, 0 to 2. */
  readonly wrongCells: number;
  /** Light of its white over light of its black, both beside the border. */
  readonly contrast: number;
}

/** About the width of the largest copy that is searched: a card of 25 pixels a side is still read in it. */
const SEARCH_WIDTH = 2000;

/** Half the window of the local mean, pixels of each copy; each copy is half as wide as the one before. */
const WINDOWS = [7, 10, 12] as const;

/** Sides of a black square that are looked at, pixels of the copy. */
const SIDE = [14, 260] as const;

/**
 * Looks for plot cards in any turn and tilt. A card is a dark four-sided patch on white whose border is black all round
 * and whose 36 cells are one of the printed codes with at most two read wrong. A number seen twice is left out: one of
 * the two is something else. Sorted by number.
 */
export function findCards(photo: Pixels): readonly SeenCard[] {
  return cardsOnce(photo, '', () => lookForCards(photo));
}

const cardsOnce = onceFor<Pixels, SeenCard[]>();

function lookForCards(photo: Pixels): SeenCard[] {
  const found = new Map<number, SeenCard[]>();
  let copy = greyCopy(photo);
  const stack = new Int32Array(copy.width * copy.height);
  for (const half of WINDOWS) {
    for (const rough of darkQuads(copy, half, stack)) {
      const card = read(
        photo,
        rough.map(([x, y]): Point => [(x + 0.5) / copy.scale - 0.5, (y + 0.5) / copy.scale - 0.5]),
      );
      if (!card) continue;
      const others = found.get(card.number) ?? [];
      const twin = others.findIndex(
        (other) => distance(other.corners[0], card.corners[0]) < 0.3 * sideOf(card.corners),
      );
      if (twin < 0) others.push(card);
      else if (card.wrongCells < others[twin]!.wrongCells) others[twin] = card;
      found.set(card.number, others);
    }
    copy = halved(copy);
  }
  return [...found.values()]
    .filter((cards) => cards.length === 1)
    .map((cards) => cards[0]!)
    .sort((a, b) => a.number - b.number);
}

function sideOf(corners: readonly Point[]): number {
  let around = 0;
  for (let i = 0; i < 4; i++) around += distance(corners[i]!, corners[(i + 1) % 4]!);
  return around / 4;
}

/** Green of a photo, a byte a pixel. */
interface Copy {
  readonly width: number;
  readonly height: number;
  readonly scale: number;
  readonly grey: Uint8Array;
}

/** The green channel, averaged over squares of whole pixels so that the copy is about `SEARCH_WIDTH` wide. */
function greyCopy(photo: Pixels): Copy {
  const step = Math.max(1, Math.round(photo.width / SEARCH_WIDTH));
  const width = Math.floor(photo.width / step);
  const height = Math.floor(photo.height / step);
  const rowsAtOnce = step * Math.max(1, Math.floor(64 / step));
  const {
    kernel,
    at: [bytes, sums, to],
  } = lay(3 * photo.width * rowsAtOnce, 4 * width, (width * rowsAtOnce) / step);
  const part = new Uint8Array(kernel.memory.buffer, bytes, 3 * photo.width * rowsAtOnce);
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height * step; y += rowsAtOnce) {
    const rows = Math.min(rowsAtOnce, height * step - y);
    part.set(photo.data.subarray(3 * photo.width * y, 3 * photo.width * (y + rows)));
    kernel.greenSquares(bytes, photo.width, rows, step, width, sums, to);
    grey.set(new Uint8Array(kernel.memory.buffer, to, (width * rows) / step), (width * y) / step);
  }
  return { width, height, scale: 1 / step, grey };
}

function halved({ width, height, scale, grey }: Copy): Copy {
  const [w, h] = [width >> 1, height >> 1];
  const to = new Uint8Array(w * h);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const o = 2 * y * width + 2 * x;
      to[y * w + x] = (grey[o]! + grey[o + 1]! + grey[o + width]! + grey[o + width + 1]! + 2) >> 2;
    }
  }
  return { width: w, height: h, scale: scale / 2, grey: to };
}

/** Patches darker than the mean around them, reduced to four sides, corners clockwise on screen. */
function darkQuads(copy: Copy, half: number, stack: Int32Array): Corners[] {
  const { width: w, height: h } = copy;
  const dark = darkerThanAround(copy, half);
  const quads: Corners[] = [];
  const [left, right] = [new Int32Array(h), new Int32Array(h)];
  const least = SIDE[0] ** 2 * 0.2;
  for (let start = 0; start < dark.length; start++) {
    if (dark[start] !== 1) continue;
    const patch = takePatch(dark, w, h, start, stack, left, right);
    const [across, down] = [patch.x1 - patch.x0 + 1, patch.y1 - patch.y0 + 1];
    if (patch.count < least || patch.x0 === 0 || patch.y0 === 0 || patch.x1 === w - 1 || patch.y1 === h - 1) continue;
    if (Math.max(across, down) > 1.5 * SIDE[1] || Math.max(across, down) > 4.5 * Math.min(across, down)) continue;
    if (patch.count < 0.15 * across * down) continue;
    const hull = convexHull(edgesOf(left, right, patch.y0, patch.y1));
    const quad = toQuad(hull);
    if (!quad) continue;
    const area = Math.abs(signedArea(quad));
    if (Math.abs(signedArea(hull)) < 0.8 * area || patch.count < 0.3 * area || area < SIDE[0] ** 2 * 0.35) continue;
    if (liesOnWhite(copy, quad)) quads.push(quad);
  }
  return quads;
}

/**
 * Whether it is clearly brighter just outside than just inside the border, at most places round it: dark leaves lie on
 * no paper.
 */
function liesOnWhite({ width: w, height: h, grey }: Copy, quad: Corners): boolean {
  const map = homographyFrom4(SQUARE, quad);
  if (!map) return false;
  const at = (u: number, v: number): number => {
    const [x, y] = applyHomography(map, [u, v]);
    return grey[Math.max(0, Math.min(h - 1, Math.round(y))) * w + Math.max(0, Math.min(w - 1, Math.round(x)))]!;
  };
  let clear = 0;
  for (const t of [2, 4, 6]) {
    if (at(t, -0.4) > 1.25 * at(t, 0.5) + 6) clear++;
    if (at(t, CARD_CELLS + 0.4) > 1.25 * at(t, CARD_CELLS - 0.5) + 6) clear++;
    if (at(-0.4, t) > 1.25 * at(0.5, t) + 6) clear++;
    if (at(CARD_CELLS + 0.4, t) > 1.25 * at(CARD_CELLS - 0.5, t) + 6) clear++;
  }
  return clear >= 9;
}

/** 1 where a pixel is clearly darker than the mean of the window around it. */
function darkerThanAround({ width: w, height: h, grey }: Copy, half: number): Uint8Array {
  const {
    kernel,
    at: [bytes, columns, to],
  } = lay(w * h, 4 * w, w * h);
  new Uint8Array(kernel.memory.buffer, bytes, w * h).set(grey);
  kernel.darkBytes(bytes, w, h, half, columns, to);
  return new Uint8Array(kernel.memory.buffer, to, w * h).slice();
}

/** Corners of the grid of cells, for the black square as it was found. */
const SQUARE: readonly Point[] = [
  [0, 0],
  [CARD_CELLS, 0],
  [CARD_CELLS, CARD_CELLS],
  [0, CARD_CELLS],
];

/** White over black below which a patch is no card: ink on paper gives 5 to 15, in haze or deep shade some 3. */
const LEAST_CONTRAST = 2;

/** Reads the code inside four rough corners (full-size pixels); undefined when it is no card. */
function read(photo: Pixels, rough: readonly Point[]): SeenCard | undefined {
  let corners = rough;
  for (let round = 0; round < 2; round++) {
    const sharper = sharpen(photo, corners);
    if (!sharper) return undefined;
    corners = sharper;
  }
  const map = homographyFrom4(SQUARE, corners);
  if (!map) return undefined;
  const levels = levelsAround(photo, map);
  if (!levels || levels.contrast < LEAST_CONTRAST) return undefined;
  const cells: boolean[] = [];
  let wrongBorder = 0;
  for (let row = 0; row < CARD_CELLS; row++) {
    for (let column = 0; column < CARD_CELLS; column++) {
      const white = cellLight(photo, map, column, row) > levels.between(column + 0.5, row + 0.5);
      if (row === 0 || column === 0 || row === CARD_CELLS - 1 || column === CARD_CELLS - 1)
        wrongBorder += white ? 1 : 0;
      else cells.push(white);
    }
  }
  if (wrongBorder > 1) return undefined;
  const card = readCard(cells);
  if (!card) return undefined;
  // Cells turned clockwise by k quarters stand upright: then the printed top left is the corner k places further back.
  const upright = [0, 1, 2, 3].map((i) => corners[(i - card.quarterTurns + 4) % 4]!) as unknown as Corners;
  return { number: card.number, corners: upright, wrongCells: card.wrongCells, contrast: levels.contrast };
}

function cellLight(photo: Pixels, map: Homography, column: number, row: number): number {
  let sum = 0;
  for (const v of [0.3, 0.5, 0.7])
    for (const u of [0.3, 0.5, 0.7]) sum += lightAt(photo, applyHomography(map, [column + u, row + v]));
  return sum / 9;
}

/** Linear green light, bilinear between pixels; the frame's edge continues outwards. */
function lightAt({ width: w, height: h, data }: Pixels, [x, y]: Point): number {
  const cx = Math.max(0, Math.min(w - 1.001, x));
  const cy = Math.max(0, Math.min(h - 1.001, y));
  const [x0, y0] = [Math.floor(cx), Math.floor(cy)];
  const [fx, fy, o] = [cx - x0, cy - y0, (y0 * w + x0) * 3 + 1];
  const right = x0 < w - 1 ? 3 : 0;
  const down = y0 < h - 1 ? 3 * w : 0;
  return (
    (1 - fy) * ((1 - fx) * LINEAR_OF_CODE[data[o]!]! + fx * LINEAR_OF_CODE[data[o + right]!]!) +
    fy * ((1 - fx) * LINEAR_OF_CODE[data[o + down]!]! + fx * LINEAR_OF_CODE[data[o + down + right]!]!)
  );
}

/**
 * The light half-way between black and white at each place of the code (their geometric mean), since a card may lie
 * half in shade: black from the border, white from just outside it, each side's own, blended across the square.
 */
function levelsAround(
  photo: Pixels,
  map: Homography,
): { contrast: number; between: (u: number, v: number) => number } | undefined {
  const n = CARD_CELLS;
  const side = (at: (t: number, depth: number) => Point): { white: number; black: number } => {
    const whites: number[] = [];
    const blacks: number[] = [];
    for (let k = 0; k < 9; k++) {
      const t = 0.5 + ((n - 1) * k) / 8;
      whites.push(lightAt(photo, applyHomography(map, at(t, -0.35))));
      blacks.push(lightAt(photo, applyHomography(map, at(t, 0.5))));
    }
    const middle = (values: number[]): number => values.sort((a, b) => a - b)[4]!;
    return { white: middle(whites), black: middle(blacks) };
  };
  const sides = [
    side((t, d) => [t, d]),
    side((t, d) => [n - d, t]),
    side((t, d) => [t, n - d]),
    side((t, d) => [d, t]),
  ];
  const logs = sides.map(({ white, black }) => 0.5 * (Math.log(white + 1e-4) + Math.log(Math.max(black, 0) + 1e-4)));
  const contrast = Math.min(...sides.map(({ white, black }) => (white + 1e-3) / (black + 1e-3)));
  if (!Number.isFinite(contrast)) return undefined;
  return {
    contrast,
    between: (u, v) =>
      Math.exp(0.5 * ((1 - v / n) * logs[0]! + (v / n) * logs[2]! + (u / n) * logs[1]! + (1 - u / n) * logs[3]!)),
  };
}

/**
 * Moves each side to where linear light is half-way between black inside and white outside: crossings along 21 lines
 * across it, a line through most of them, the lines' intersections. Undefined when a side shows no such step.
 */
function sharpen(photo: Pixels, rough: readonly Point[]): Point[] | undefined {
  const middle: Point = [rough.reduce((s, p) => s + p[0], 0) / 4, rough.reduce((s, p) => s + p[1], 0) / 4];
  const lines: [Point, Point][] = [];
  for (let i = 0; i < 4; i++) {
    const [a, b] = [rough[i]!, rough[(i + 1) % 4]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (length < 6) return undefined;
    // Corners go clockwise on screen, so this normal points outwards; the reach is what the border's breadth allows.
    const [nx, ny] = [(b[1] - a[1]) / length, -(b[0] - a[0]) / length];
    const depth = Math.abs((middle[0] - a[0]) * nx + (middle[1] - a[1]) * ny) * 2;
    const reach = Math.max(1.5, (0.8 * depth) / CARD_CELLS);
    const found: [number, number][] = [];
    for (let k = 0; k < 21; k++) {
      const t = 0.06 + (0.88 * k) / 20;
      const [x, y] = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
      const profile = Array.from({ length: 17 }, (_, j) =>
        lightAt(photo, [x + (nx * reach * (j - 8)) / 8, y + (ny * reach * (j - 8)) / 8]),
      );
      const inner = Math.min(profile[0]!, profile[1]!, profile[2]!, profile[3]!);
      const outer = Math.max(profile[13]!, profile[14]!, profile[15]!, profile[16]!);
      if (outer < 1.4 * inner) continue;
      const half = (inner + outer) / 2;
      for (let j = 1; j < profile.length; j++) {
        if (profile[j - 1]! < half && profile[j]! >= half) {
          found.push([t, ((j - 1 + (half - profile[j - 1]!) / (profile[j]! - profile[j - 1]!) - 8) * reach) / 8]);
          break;
        }
      }
    }
    if (found.length < 9) return undefined;
    const [d0, d1] = steadyLine(found);
    lines.push([
      [a[0] + nx * d0, a[1] + ny * d0],
      [b[0] + nx * d1, b[1] + ny * d1],
    ]);
  }
  const corners = lines.map((line, i) => meeting(lines[(i + 3) % 4]!, line));
  return corners.every((c): c is Point => c !== undefined && Number.isFinite(c[0]) && Number.isFinite(c[1]))
    ? corners
    : undefined;
}
