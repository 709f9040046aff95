import { describe, expect, it } from 'vitest';
import { findBoards } from '@/lib/lineup/find-boards';
import { homographyFrom4, IDENTITY, invertHomography, applyHomography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { drawLawn } from './draw-lawn';

/**
 * Published 8-bit sRGB colours of the 24 patches (McCamy, Marcus & Davidson 1976; the rendering printed with the
 * chart).
 */
const PATCHES = [
  [115, 82, 68],
  [194, 150, 130],
  [98, 122, 157],
  [87, 108, 67],
  [133, 128, 177],
  [103, 189, 170],
  [214, 126, 44],
  [80, 91, 166],
  [193, 90, 99],
  [94, 60, 108],
  [157, 188, 64],
  [224, 163, 46],
  [56, 61, 150],
  [70, 148, 73],
  [175, 54, 60],
  [231, 199, 31],
  [187, 86, 149],
  [8, 133, 161],
  [243, 243, 242],
  [200, 200, 200],
  [160, 160, 160],
  [122, 122, 121],
  [85, 85, 85],
  [52, 52, 52],
] as const;

/** Paints a board onto a photo: `colour(u, v)` over the unit square laid on four corners. */
function lay(photo: Pixels, corners: readonly Point[], colour: (u: number, v: number) => readonly number[]): void {
  const back = invertHomography(
    homographyFrom4(
      [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      corners,
    )!,
  )!;
  for (let y = 0; y < photo.height; y++) {
    for (let x = 0; x < photo.width; x++) {
      const [u, v] = applyHomography(back, [x, y]);
      if (u < 0 || v < 0 || u > 1 || v > 1) continue;
      const c = colour(u, v);
      for (let k = 0; k < 3; k++) photo.data[(y * photo.width + x) * 3 + k] = c[k]!;
    }
  }
}

function chartColour(u: number, v: number): readonly number[] {
  const [x, y] = [((u - 0.038) / 0.924) * 6, ((v - 0.053) / 0.894) * 4];
  const [i, k] = [Math.floor(x), Math.floor(y)];
  const gap = x - i < 0.08 || x - i > 0.92 || y - k < 0.08 || y - k > 0.92;
  return i < 0 || k < 0 || i > 5 || k > 3 || gap ? [38, 38, 38] : PATCHES[k * 6 + i]!;
}

const SQUARE: Point[] = [
  [220, 330],
  [360, 338],
  [352, 436],
  [205, 425],
];

describe('findBoards', () => {
  it.each([0, 1, 2, 3])('finds the chart and the order of its patches when turned by %i quarters', (turn) => {
    const photo = drawLawn(672, 504, { ground: 3, blades: 1 }, IDENTITY);
    const corners = [0, 1, 2, 3].map((i) => SQUARE[(i + turn) % 4]!);
    lay(photo, corners, chartColour);
    const { chart } = findBoards(photo);
    expect(chart).toBeDefined();
    const toBoard = homographyFrom4(
      [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      corners,
    )!;
    chart!.patchCentres.forEach((c, i) => {
      const truth = applyHomography(toBoard, [
        0.038 + (0.924 * ((i % 6) + 0.5)) / 6,
        0.053 + (0.894 * (Math.floor(i / 6) + 0.5)) / 4,
      ]);
      expect(Math.hypot(c[0] - truth[0], c[1] - truth[1])).toBeLessThan(4);
    });
    chart!.corners.forEach((c, i) => expect(Math.hypot(c[0] - corners[i]![0], c[1] - corners[i]![1])).toBeLessThan(3));
  });

  it('finds a grey card in light of another colour, and does not take it for a chart', () => {
    const photo = drawLawn(672, 504, { ground: 3, blades: 1 }, IDENTITY);
    lay(photo, SQUARE, () => [140, 122, 104]);
    const { chart, greyCard } = findBoards(photo);
    expect(chart).toBeUndefined();
    expect(greyCard).toBeDefined();
    for (const c of SQUARE)
      expect(Math.min(...greyCard!.corners.map((q) => Math.hypot(c[0] - q[0], c[1] - q[1])))).toBeLessThan(3);
  });

  it('finds nothing on a lawn with a path and stakes', () => {
    expect(findBoards(drawLawn(672, 504, { ground: 3, blades: 1, landmarks: true }, IDENTITY))).toEqual({});
  });

  it('does not take a chart whose patches are out of order', () => {
    const photo = drawLawn(672, 504, { ground: 3, blades: 1 }, IDENTITY);
    lay(photo, SQUARE, (u, v) => chartColour(1 - u, v));
    expect(findBoards(photo).chart).toBeUndefined();
  });
});
