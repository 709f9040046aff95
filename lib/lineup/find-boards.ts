import 'server-only';
import { homographyFrom4, applyHomography, signedArea } from '@/lib/photo/homography';
import { medianInPlace } from '@/lib/photo/median';
import type { Pixels, Point } from '@/lib/photo/pixels';
import { blur, makeView, type View } from './views';

/** Four corners of a board, clockwise on screen. */
export type Corners = readonly [Point, Point, Point, Point];

export interface Boards {
  readonly chart?: {
    /** Outer edge of the board (frame included), clockwise from the corner beside patch 1: then beside 6, 24, 19. */
    readonly corners: Corners;
    /** Centres of patches 1 to 24 in the published order (row by row from dark skin to black). */
    readonly patchCentres: readonly Point[];
    /** Correlation of the 24 colours found with the published ones, 0..1; accepted from 0.8. */
    readonly confidence: number;
  };
  readonly greyCard?: {
    /** Outer edge, clockwise from the corner nearest the photo's top left. */
    readonly corners: Corners;
    /** How even, neutral and straight-edged it is, 0..1; accepted from 0.5. */
    readonly confidence: number;
  };
}

/**
 * sRGB colours of the 24-patch chart, bytes, in published order: McCamy, Marcus & Davidson 1976 (J. Appl. Photogr. Eng.
 * 2, 95-99), in the 8-bit sRGB rendering commonly printed with the chart. Only used to tell the chart and its
 * orientation; colour correction has its own, finer table.
 */
const CHART = [
  [115, 82, 68], [194, 150, 130], [98, 122, 157], [87, 108, 67], [133, 128, 177], [103, 189, 170],
  [214, 126, 44], [80, 91, 166], [193, 90, 99], [94, 60, 108], [157, 188, 64], [224, 163, 46],
  [56, 61, 150], [70, 148, 73], [175, 54, 60], [231, 199, 31], [187, 86, 149], [8, 133, 161],
  [243, 243, 242], [200, 200, 200], [160, 160, 160], [122, 122, 121], [85, 85, 85], [52, 52, 52],
] as const;

/** Width of the copy that is searched. */
export const BOARD_VIEW_WIDTH = 800;
/** Smallest and largest board, as shares of the photo. */
const AREA = [0.0008, 0.12] as const;

/**
 * Looks for a 24-patch colour chart and a grey card lying in the photo, in any orientation. A board is a patch that is
 * not the colour of turf, with four straight sides, inside the frame. Full-size pixels out.
 */
export function findBoards(pixels: Pixels): Boards {
  return findBoardsIn(makeView(pixels, BOARD_VIEW_WIDTH));
}

/** The same on a copy already made; corners and centres still in full-size pixels. */
export function findBoardsIn(view: View): Boards {
  const quads = findQuads(view, chromaOf(view));
  let chart: Boards['chart'];
  let greyCard: Boards['greyCard'];
  let chartQuad: Quad | undefined;
  for (const quad of quads) {
    const found = readChart(view, quad);
    if (found && found.confidence >= 0.8 && found.confidence > (chart?.confidence ?? 0)) {
      chart = found;
      chartQuad = quad;
    }
  }
  for (const quad of quads) {
    if (quad === chartQuad) continue;
    const confidence = readGrey(view, quad);
    if (confidence >= 0.5 && confidence > (greyCard?.confidence ?? 0)) greyCard = { corners: fromTopLeft(quad.corners), confidence };
  }
  const full = ([x, y]: Point): Point => [(x + 0.5) / view.scale - 0.5, (y + 0.5) / view.scale - 0.5];
  return {
    ...(chart && { chart: { ...chart, corners: chart.corners.map(full) as unknown as Corners, patchCentres: chart.patchCentres.map(full) } }),
    ...(greyCard && { greyCard: { ...greyCard, corners: greyCard.corners.map(full) as unknown as Corners } }),
  };
}

interface Quad {
  readonly corners: Corners;
  /** Area of the patch over the area of its quadrilateral, 0..1. */
  readonly fill: number;
}

/** Logarithms of red and of blue against green, slightly smoothed, with the level of most of the photo (turf). */
interface Chroma {
  readonly rg: Float32Array;
  readonly bg: Float32Array;
  readonly turf: number;
}

function chromaOf(view: View): Chroma {
  const { width: w, height: h, rgb: [r, g, b] } = view;
  const n = w * h;
  const rg = new Float32Array(n);
  const bg = new Float32Array(n);
  for (let o = 0; o < n; o++) {
    const lg = Math.log(g[o]! + 0.004);
    rg[o] = Math.log(r[o]! + 0.004) - lg;
    bg[o] = Math.log(b[o]! + 0.004) - lg;
  }
  const smoothRg = blur(rg, w, h, 0.8);
  const sample = Float32Array.from({ length: Math.floor(n / 11) }, (_, i) => smoothRg[i * 11]!).sort();
  return { rg: smoothRg, bg: blur(bg, w, h, 0.8), turf: sample[sample.length >> 1] ?? 0 };
}

/** Patches that are not turf-coloured, as quadrilaterals: once by the photo's own turf, once for turf partly in shade. */
function findQuads(view: View, chroma: Chroma): Quad[] {
  const { width: w, height: h } = view;
  const n = w * h;
  const quads: Quad[] = [];
  const other = new Uint8Array(n);
  for (const [red, blue] of [[chroma.turf + 0.4, -0.35], [Math.max(chroma.turf + 0.4, -0.45), -0.22]] as const) {
    for (let o = 0; o < n; o++) other[o] = chroma.rg[o]! > red || chroma.bg[o]! > blue ? 1 : 0;
    const label = new Int32Array(n);
    let next = 0;
    for (let start = 0; start < n; start++) {
      if (other[start] === 0 || label[start] !== 0) continue;
      next++;
      const patch = flood(other, label, w, h, start, next);
      if (patch.touches || patch.count < AREA[0] * n || patch.count > AREA[1] * n) continue;
      const hull = convexHull(patch.outline);
      const rough = toQuad(hull);
      if (!rough) continue;
      const area = Math.abs(signedArea(rough));
      const hullArea = Math.abs(signedArea(hull));
      if (patch.count / hullArea < 0.6 || hullArea / area < 0.85 || area > AREA[1] * n) continue;
      const corners = sharpen(view, chroma, rough);
      quads.push({ corners, fill: Math.min(1, patch.count / Math.abs(signedArea(corners))) });
    }
  }
  return quads;
}

/** How far from a rough side its true place is looked for, pixels of the working copy. */
const SLACK = 5;

/**
 * Moves each side to where the colour is half-way between turf and board: the crossings along 25 lines across the
 * side, a line through most of them (so that a blade lying over the edge does not count), the lines' intersections.
 */
function sharpen(view: View, { rg, bg }: Chroma, rough: Corners): Corners {
  const { width: w, height: h } = view;
  const both = rg.map((v, o) => v + bg[o]!);
  const value = ([x, y]: Point): number => {
    const x0 = Math.max(0, Math.min(w - 2, Math.floor(x)));
    const y0 = Math.max(0, Math.min(h - 2, Math.floor(y)));
    const [fx, fy, o] = [x - x0, y - y0, y0 * w + x0];
    return (1 - fy) * ((1 - fx) * both[o]! + fx * both[o + 1]!) + fy * ((1 - fx) * both[o + w]! + fx * both[o + w + 1]!);
  };
  const lines = rough.map((a, i): [Point, Point] => {
    const b = rough[(i + 1) % 4]!;
    const length = distance(a, b);
    // Corners go clockwise on screen, so this normal points outwards.
    const [nx, ny] = [(b[1] - a[1]) / length, -(b[0] - a[0]) / length];
    const found: [number, number][] = [];
    for (let k = 0; k < 25; k++) {
      const t = 0.08 + (0.84 * k) / 24;
      const [x, y] = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
      const profile = Array.from({ length: 4 * SLACK + 1 }, (_, j) => value([x + nx * (j / 2 - SLACK), y + ny * (j / 2 - SLACK)]));
      const inner = (profile[0]! + profile[1]! + profile[2]!) / 3;
      const outer = (profile.at(-1)! + profile.at(-2)! + profile.at(-3)!) / 3;
      if (inner - outer < 0.5) continue;
      const half = (inner + outer) / 2;
      for (let j = 1; j < profile.length; j++) {
        if (profile[j - 1]! >= half && profile[j]! < half) {
          found.push([t, (j - 1 + (profile[j - 1]! - half) / (profile[j - 1]! - profile[j]!)) / 2 - SLACK]);
          break;
        }
      }
    }
    if (found.length < 8) return [a, b];
    const [d0, d1] = steadyLine(found);
    return [[a[0] + nx * d0, a[1] + ny * d0], [b[0] + nx * d1, b[1] + ny * d1]];
  });
  const corners = lines.map((line, i): Point => {
    const previous = lines[(i + 3) % 4]!;
    return meeting(previous, line) ?? rough[i]!;
  });
  return corners.every((c, i) => distance(c, rough[i]!) < 3 * SLACK) ? (corners as unknown as Corners) : rough;
}

/** Line through points (t, d) by the median of pairwise slopes (Theil 1950, Sen 1968); its d at t = 0 and t = 1. */
function steadyLine(points: readonly [number, number][]): [number, number] {
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++) {
    for (let j = i + 4; j < points.length; j++) slopes.push((points[j]![1] - points[i]![1]) / (points[j]![0] - points[i]![0]));
  }
  const slope = medianInPlace(Float64Array.from(slopes));
  const level = medianInPlace(Float64Array.from(points, ([t, d]) => d - slope * t));
  return [level, level + slope];
}

function meeting([a, b]: [Point, Point], [c, d]: [Point, Point]): Point | undefined {
  const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]];
  const det = ux * vy - uy * vx;
  if (Math.abs(det) < 1e-9) return undefined;
  const s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / det;
  return [a[0] + s * ux, a[1] + s * uy];
}

/** Marks one connected patch; its leftmost and rightmost pixels by row, its size, and whether it reaches the frame. */
function flood(other: Uint8Array, label: Int32Array, w: number, h: number, start: number, id: number) {
  const stack = [start];
  label[start] = id;
  let count = 0;
  let touches = false;
  const left = new Map<number, number>();
  const right = new Map<number, number>();
  while (stack.length > 0) {
    const o = stack.pop()!;
    const x = o % w;
    const y = (o - x) / w;
    count++;
    if (x === 0 || y === 0 || x === w - 1 || y === h - 1) touches = true;
    if (x < (left.get(y) ?? w)) left.set(y, x);
    if (x > (right.get(y) ?? -1)) right.set(y, x);
    for (const q of [x > 0 ? o - 1 : o, x < w - 1 ? o + 1 : o, y > 0 ? o - w : o, y < h - 1 ? o + w : o]) {
      if (other[q] === 1 && label[q] === 0) {
        label[q] = id;
        stack.push(q);
      }
    }
  }
  const outline: Point[] = [];
  // Pixel edges, not centres, so that the hull has the patch's true extent.
  for (const [y, x] of left) outline.push([x - 0.5, y - 0.5], [x - 0.5, y + 0.5]);
  for (const [y, x] of right) outline.push([x + 0.5, y - 0.5], [x + 0.5, y + 0.5]);
  return { count, touches, outline };
}

/** Convex hull, clockwise on screen (Andrew 1979, monotone chain). */
function convexHull(points: Point[]): Point[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  return [...halfHull(sorted), ...halfHull(sorted.reverse())];
}

function halfHull(sorted: readonly Point[]): Point[] {
  const chain: Point[] = [];
  for (const p of sorted) {
    while (chain.length >= 2 && signedArea([chain.at(-2)!, chain.at(-1)!, p]) <= 0) chain.pop();
    chain.push(p);
  }
  chain.pop();
  return chain;
}

/** The hull reduced to four sides: again and again the side is dropped whose neighbours, prolonged, add least area. */
function toQuad(hull: readonly Point[]): Corners | undefined {
  const corners = [...hull];
  while (corners.length > 4) {
    let best: { at: number; corner: Point; added: number } | undefined;
    for (let i = 0; i < corners.length; i++) {
      const n = corners.length;
      const [a, b, c, d] = [corners[i]!, corners[(i + 1) % n]!, corners[(i + 2) % n]!, corners[(i + 3) % n]!];
      const corner = crossing(a, b, d, c);
      if (!corner) continue;
      const added = Math.abs(signedArea([b, corner, c]));
      if (!best || added < best.added) best = { at: i, corner, added };
    }
    if (!best) return undefined;
    const n = corners.length;
    corners[(best.at + 1) % n] = best.corner;
    corners.splice((best.at + 2) % n, 1);
  }
  return corners.length === 4 ? (corners as unknown as Corners) : undefined;
}

/** Where the line a-b prolonged beyond b meets the line d-c prolonged beyond c; undefined when they part. */
function crossing(a: Point, b: Point, d: Point, c: Point): Point | undefined {
  const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], c[0] - d[0], c[1] - d[1]];
  const det = vx * uy - ux * vy;
  if (Math.abs(det) < 1e-9) return undefined;
  const s = (vx * (d[1] - a[1]) - vy * (d[0] - a[0])) / det;
  const t = (ux * (d[1] - a[1]) - uy * (d[0] - a[0])) / det;
  return s >= 1 && t >= 1 ? [a[0] + s * ux, a[1] + s * uy] : undefined;
}

/** Widths of the frame between the board's edge and the patch grid that are tried, as shares of the board's length. */
const FRAMES = [0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06] as const;
/** Length of the usual board over its breadth, to turn a frame's share of one into a share of the other. */
const ASPECT = 1.4;

/** Reads the 24 colours in each orientation and with each frame width; likest colours first, then evenest patches. */
function readChart(view: View, quad: Quad): Boards['chart'] | undefined {
  if (quad.fill < 0.45) return undefined;
  let best: Boards['chart'];
  let bestRank = 0;
  for (let turn = 0; turn < 4; turn++) {
    const corners = [0, 1, 2, 3].map((i) => quad.corners[(i + turn) % 4]!) as unknown as Corners;
    const toBoard = homographyFrom4([[0, 0], [1, 0], [1, 1], [0, 1]], corners);
    if (toBoard === null) return undefined;
    for (const fx of FRAMES) {
      const fy = fx * ASPECT;
      const place = (i: number, u: number, v: number): Point => applyHomography(toBoard, [
        fx + (1 - 2 * fx) * (((i % 6) + u) / 6), fy + (1 - 2 * fy) * ((Math.floor(i / 6) + v) / 4),
      ]);
      const patchCentres = CHART.map((_, i) => place(i, 0.5, 0.5));
      const confidence = likeness(view, patchCentres);
      if (confidence < 0.6) continue;
      let uneven = 0;
      for (let i = 0; i < 24; i++) {
        const middle = logColour(averageAt(view, patchCentres[i]!, 0));
        for (const [u, v] of [[0.2, 0.2], [0.8, 0.2], [0.8, 0.8], [0.2, 0.8]] as const) {
          const corner = logColour(averageAt(view, place(i, u, v), 0));
          uneven += Math.min(1, Math.abs(corner[0] - middle[0]) + Math.abs(corner[1] - middle[1]) + Math.abs(corner[2] - middle[2])) / 96;
        }
      }
      const rank = confidence - uneven;
      if (!best || rank > bestRank) [best, bestRank] = [{ corners, patchCentres, confidence }, rank];
    }
  }
  return best;
}

/**
 * Correlation of the colours at 24 places with the published ones, on the two chromaticity planes freed of their means
 * (the light's colour). The chart may lie half in shade, which is another light: the means are also taken apart on
 * either side of each line between its columns or rows, and the best split counts. 0 when the grey row does not darken.
 */
function likeness(view: View, centres: readonly Point[]): number {
  const found = centres.map((p) => logColour(averageAt(view, p, 2)));
  for (let i = 19; i < 24; i++) if (found[i]![0] > found[i - 1]![0] + 0.15) return 0;
  if (found[23]![0] > found[18]![0] - 0.8) return 0;
  let best = 0;
  for (let split = 0; split <= 8; split++) {
    const side = (i: number): number => (split < 6 ? (i % 6 < split ? 0 : 1) : Math.floor(i / 6) < split - 5 ? 0 : 1);
    best = Math.max(best, groupedCorrelation(found, side));
  }
  return best;
}

function groupedCorrelation(found: readonly [number, number, number][], side: (i: number) => number): number {
  let [ab, aa, bb] = [0, 0, 0];
  for (const k of [1, 2] as const) {
    for (const group of [0, 1]) {
      const members = found.map((_, i) => i).filter((i) => side(i) === group);
      const mf = members.reduce((s, i) => s + found[i]![k], 0) / Math.max(1, members.length);
      const mk = members.reduce((s, i) => s + KNOWN[i]![k], 0) / Math.max(1, members.length);
      for (const i of members) {
        const [x, y] = [found[i]![k] - mf, KNOWN[i]![k] - mk];
        ab += x * y;
        aa += x * x;
        bb += y * y;
      }
    }
  }
  return Math.max(0, ab / Math.sqrt(aa * bb + 1e-12));
}

function linear(byte: number): number {
  const v = byte / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}

function logColour([r, g, b]: readonly [number, number, number]): [number, number, number] {
  const [lr, lg, lb] = [Math.log(r + 0.01), Math.log(g + 0.01), Math.log(b + 0.01)];
  return [lg, lr - lg, lb - lg];
}

const KNOWN = CHART.map(([r, g, b]) => logColour([linear(r), linear(g), linear(b)]));

function averageAt({ width: w, height: h, rgb }: View, [x, y]: Point, radius: number): [number, number, number] {
  const sum: [number, number, number] = [0, 0, 0];
  let n = 0;
  for (let yy = Math.round(y) - radius; yy <= Math.round(y) + radius; yy++) {
    for (let xx = Math.round(x) - radius; xx <= Math.round(x) + radius; xx++) {
      if (xx < 0 || yy < 0 || xx >= w || yy >= h) continue;
      n++;
      for (let c = 0; c < 3; c++) sum[c]! += rgb[c]![yy * w + xx]!;
    }
  }
  return [sum[0] / n, sum[1] / n, sum[2] / n];
}

/** How much a quadrilateral looks like a grey card: even lightness and colour inside, near neutral, full, card-shaped. */
function readGrey(view: View, quad: Quad): number {
  const toBoard = homographyFrom4([[0, 0], [1, 0], [1, 1], [0, 1]], quad.corners);
  if (toBoard === null) return 0;
  const samples: [number, number, number][] = [];
  for (let j = 0; j < 9; j++) {
    for (let i = 0; i < 9; i++) samples.push(logColour(averageAt(view, applyHomography(toBoard, [0.15 + (0.7 * i) / 8, 0.15 + (0.7 * j) / 8]), 0)));
  }
  const [l, rg, bg] = [0, 1, 2].map((k) => {
    const values = samples.map((s) => s[k]!).sort((a, b) => a - b);
    return { middle: values[40]!, width: values[69]! - values[11]! };
  }) as [Spread, Spread, Spread];
  const sides = [0, 1, 2, 3].map((i) => distance(quad.corners[i]!, quad.corners[(i + 1) % 4]!));
  const aspect = (sides[0]! + sides[2]!) / (sides[1]! + sides[3]!);
  return quad.fill * soft(l.width, 0.35) * soft(rg.width, 0.25) * soft(bg.width, 0.25)
    * soft(rg.middle, 0.6) * soft(bg.middle, 0.8) * soft(Math.log(aspect), 1.1);
}

/** 1 for a small value, 0.5 at `half`, towards 0 beyond. */
function soft(value: number, half: number): number {
  return 1 / (1 + (value / half) ** 4);
}

interface Spread {
  readonly middle: number;
  readonly width: number;
}

function distance(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

function fromTopLeft(corners: Corners): Corners {
  let first = 0;
  for (let i = 1; i < 4; i++) if (corners[i]![0] + corners[i]![1] < corners[first]![0] + corners[first]![1]) first = i;
  return [0, 1, 2, 3].map((i) => corners[(i + first) % 4]!) as unknown as Corners;
}
