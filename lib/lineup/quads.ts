import 'server-only';
import { signedArea } from '@/lib/photo/ground/homography';
import { medianInPlace } from '@/lib/photo/measure/median';
import type { Point } from '@/lib/photo/raster/pixels';
import { edgesOf, takePatch } from './patches';
import { smoothLogs, type View } from './views';

/** Four corners of a board, clockwise on screen. */
export type Corners = readonly [Point, Point, Point, Point];

/** Smallest and largest board, as shares of the photo. */
const AREA = [0.0008, 0.12] as const;

/** A patch that is not turf-coloured, reduced to four sides. */
export interface Quad {
  readonly corners: Corners;
  /** Area of the patch over the area of its quadrilateral, 0..1. */
  readonly fill: number;
}

/**
 * Logarithms of red and of blue against green, slightly smoothed, and their sum, with the level of most of the photo
 * (turf).
 */
interface Chroma {
  readonly rg: Float32Array;
  readonly bg: Float32Array;
  readonly both: Float32Array;
  readonly turf: number;
}

function chromaOf(view: View): Chroma {
  const n = view.width * view.height;
  const logs = smoothLogs(view, 0.8);
  const [rg, bg, both] = [new Float32Array(n), new Float32Array(n), new Float32Array(n)];
  for (let o = 0, i = 1; o < n; o++, i += 4) {
    rg[o] = logs[i]!;
    bg[o] = logs[i + 1]!;
    both[o] = rg[o]! + bg[o]!;
  }
  const sample = Float32Array.from({ length: Math.floor(n / 11) }, (_, i) => rg[i * 11]!).sort();
  return { rg, bg, both, turf: sample[sample.length >> 1] ?? 0 };
}

/**
 * Patches that are not turf-coloured, as quadrilaterals: once by the photo's own turf, once for turf partly in shade.
 */
export function findQuads(view: View): Quad[] {
  const chroma = chromaOf(view);
  const { width: w, height: h } = view;
  const n = w * h;
  const quads: Quad[] = [];
  const other = new Uint8Array(n);
  const [stack, left, right] = [new Int32Array(n), new Int32Array(h), new Int32Array(h)];
  for (const [red, blue] of [
    [chroma.turf + 0.4, -0.35],
    [Math.max(chroma.turf + 0.4, -0.45), -0.22],
  ] as const) {
    for (let o = 0; o < n; o++) other[o] = chroma.rg[o]! > red || chroma.bg[o]! > blue ? 1 : 0;
    for (let start = 0; start < n; start++) {
      if (other[start] !== 1) continue;
      const patch = takePatch(other, w, h, start, stack, left, right);
      if (patch.count < AREA[0] * n || patch.count > AREA[1] * n) continue;
      if (patch.x0 === 0 || patch.y0 === 0 || patch.x1 === w - 1 || patch.y1 === h - 1) continue;
      const hull = convexHull(edgesOf(left, right, patch.y0, patch.y1));
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
function sharpen(view: View, { both }: Chroma, rough: Corners): Corners {
  const { width: w, height: h } = view;
  const value = ([x, y]: Point): number => {
    const x0 = Math.max(0, Math.min(w - 2, Math.floor(x)));
    const y0 = Math.max(0, Math.min(h - 2, Math.floor(y)));
    const [fx, fy, o] = [x - x0, y - y0, y0 * w + x0];
    return (
      (1 - fy) * ((1 - fx) * both[o]! + fx * both[o + 1]!) + fy * ((1 - fx) * both[o + w]! + fx * both[o + w + 1]!)
    );
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
      const profile = Array.from({ length: 4 * SLACK + 1 }, (_, j) =>
        value([x + nx * (j / 2 - SLACK), y + ny * (j / 2 - SLACK)]),
      );
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
    return [
      [a[0] + nx * d0, a[1] + ny * d0],
      [b[0] + nx * d1, b[1] + ny * d1],
    ];
  });
  const corners = lines.map((line, i): Point => {
    const previous = lines[(i + 3) % 4]!;
    return meeting(previous, line) ?? rough[i]!;
  });
  return corners.every((c, i) => distance(c, rough[i]!) < 3 * SLACK) ? (corners as unknown as Corners) : rough;
}

/** Line through points (t, d) by the median of pairwise slopes (Theil 1950, Sen 1968); its d at t = 0 and t = 1. */
export function steadyLine(points: readonly [number, number][]): [number, number] {
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++) {
    for (let j = i + 4; j < points.length; j++)
      slopes.push((points[j]![1] - points[i]![1]) / (points[j]![0] - points[i]![0]));
  }
  const slope = medianInPlace(Float64Array.from(slopes));
  const level = medianInPlace(Float64Array.from(points, ([t, d]) => d - slope * t));
  return [level, level + slope];
}

export function meeting([a, b]: [Point, Point], [c, d]: [Point, Point]): Point | undefined {
  const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]];
  const det = ux * vy - uy * vx;
  if (Math.abs(det) < 1e-9) return undefined;
  const s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / det;
  return [a[0] + s * ux, a[1] + s * uy];
}

/** Convex hull, clockwise on screen (Andrew 1979, monotone chain). */
export function convexHull(points: Point[]): Point[] {
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
export function toQuad(hull: readonly Point[]): Corners | undefined {
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

export function distance(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}
