import { LINEAR_OF_CODE } from '../../colour/srgb';
import { applyHomography, homographyFrom4 } from './homography';
import type { Pixels, Point, Polygon } from '../raster/pixels';

/** Mean linear light of the middle of a board (a card or one patch), and what speaks against trusting it. */
export interface BoardReading {
  /** Linear sRGB, 0..1. */
  readonly linear: readonly [number, number, number];
  /** Share of its pixels with a channel at the camera's limit. */
  readonly clippedShare: number;
  /** Greatest ratio between the means of its four quarters (G): near 1 in even light. */
  readonly unevenness: number;
}

/** Unit square in the order far-left, far-right, near-right, near-left. */
const UNIT: Polygon = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
];
const SAMPLES = 40;

/**
 * Reads a rectangle given by its corners in the photo; the outer part (`inner` = 0.6 keeps the middle 60%) is left out,
 * where a border or a blade may lie. @returns null when it is outside the photo or no rectangle
 */
export function readBoard(photo: Pixels, corners: Polygon, inner = 0.6): BoardReading | null {
  const map = homographyFrom4(UNIT, corners);
  if (map === null) return null;
  const sum = [0, 0, 0];
  const quarters = new Float64Array(4);
  let clipped = 0;
  for (let j = 0; j < SAMPLES; j++) {
    const v = 0.5 + ((j + 0.5) / SAMPLES - 0.5) * inner;
    for (let i = 0; i < SAMPLES; i++) {
      const [x, y] = applyHomography(map, [0.5 + ((i + 0.5) / SAMPLES - 0.5) * inner, v]);
      const [px, py] = [Math.round(x), Math.round(y)];
      if (!(px >= 0 && py >= 0 && px < photo.width && py < photo.height)) return null;
      const from = (py * photo.width + px) * 3;
      let highest = 0;
      for (let c = 0; c < 3; c++) {
        const code = photo.data[from + c]!;
        highest = Math.max(highest, code);
        sum[c]! += LINEAR_OF_CODE[code]!;
      }
      if (highest === 255) clipped++;
      quarters[(j < SAMPLES / 2 ? 0 : 2) + (i < SAMPLES / 2 ? 0 : 1)]! += LINEAR_OF_CODE[photo.data[from + 1]!]!;
    }
  }
  const n = SAMPLES * SAMPLES;
  return {
    linear: [sum[0]! / n, sum[1]! / n, sum[2]! / n],
    clippedShare: clipped / n,
    unevenness: Math.max(...quarters) / Math.max(1e-6, Math.min(...quarters)),
  };
}

/** Reads the 24 patches of a chart (six across, four along) from its corners, in the corners' own order. */
export function readChart(photo: Pixels, corners: Polygon): BoardReading[] | null {
  const map = homographyFrom4(
    [
      [0, 0],
      [6, 0],
      [6, 4],
      [0, 4],
    ],
    corners,
  );
  if (map === null) return null;
  const readings: BoardReading[] = [];
  const reach = 0.22;
  for (let k = 0; k < 24; k++) {
    const [cx, cy] = [(k % 6) + 0.5, Math.floor(k / 6) + 0.5];
    const patch = [
      [-reach, -reach],
      [reach, -reach],
      [reach, reach],
      [-reach, reach],
    ].map(([dx, dy]) => applyHomography(map, [cx + dx!, cy + dy!]));
    const reading = readBoard(photo, patch, 1);
    if (reading === null) return null;
    readings.push(reading);
  }
  return readings;
}

/** The corners starting `quarterTurns` corners further on: the same board laid the other way round. */
export function turned(corners: Polygon, quarterTurns: number): Polygon {
  return corners.map((_, i) => corners[(i + quarterTurns) % corners.length]!);
}

/** Turf beside a board: points in a ring around it, for asking what light it lies in. */
export function pointsAround(corners: Polygon, from = 1.25, to = 1.7): Point[] {
  const centre: Point = [
    corners.reduce((s, p) => s + p[0], 0) / corners.length,
    corners.reduce((s, p) => s + p[1], 0) / corners.length,
  ];
  const points: Point[] = [];
  for (let i = 0; i < corners.length; i++) {
    const a = corners[i]!;
    const b = corners[(i + 1) % corners.length]!;
    for (let k = 0; k < 16; k++) {
      const [ex, ey] = [a[0] + ((b[0] - a[0]) * k) / 16, a[1] + ((b[1] - a[1]) * k) / 16];
      for (let r = 0; r < 4; r++) {
        const grow = from + ((to - from) * r) / 3;
        points.push([centre[0] + (ex - centre[0]) * grow, centre[1] + (ey - centre[1]) * grow]);
      }
    }
  }
  return points;
}
