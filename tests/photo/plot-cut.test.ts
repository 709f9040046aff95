import { describe, expect, test } from 'vitest';
import type { Point } from '@/lib/photo/raster/pixels';
import { cutCorners, cutFrame, onCut } from '@/lib/photo/plot-cut';

/** Seen in the photo: far edge above, near edge below. */
const CORNERS: Point[] = [
  [10, 0],
  [20, 0],
  [20, 40],
  [10, 40],
];

describe('a plot cut out', () => {
  test('a strip lies on its side in its own proportion, a squarish plot stands as photographed', () => {
    expect(cutFrame({ widthM: 1.5, lengthM: 7 })).toEqual({ width: 400, height: 86, turned: true }); // 400 × 1.5 / 7 = 85.7
    expect(cutFrame({ widthM: 2, lengthM: 2 })).toEqual({ width: 245, height: 245, turned: false }); // 245² = 60,025
    expect(cutFrame({ widthM: 6, lengthM: 1 })).toEqual({ width: 400, height: 67, turned: false });
  });
  test('no frame has more than 60,000 pixels by more than rounding, whatever the plot', () => {
    for (const widthM of [0.1, 0.5, 1, 3, 10, 100])
      for (const lengthM of [0.1, 1, 4, 50]) {
        const { width, height } = cutFrame({ widthM, lengthM });
        expect(width * height).toBeLessThan(60_500);
        expect(Math.min(width, height)).toBeGreaterThan(30);
      }
  });
  test('turned, the near end is at the left and the left side on top: turned, not mirrored', () => {
    const turned = cutCorners(CORNERS, true);
    expect(turned).toEqual([
      [10, 40],
      [10, 0],
      [20, 0],
      [20, 40],
    ]);
    // A turn keeps the sense in which the corners run; a mirror would reverse it.
    const area = (corners: readonly Point[]) =>
      corners.reduce((sum, [x, y], i) => sum + x * corners[(i + 1) % 4]![1] - y * corners[(i + 1) % 4]![0], 0);
    expect(Math.sign(area(turned))).toBe(Math.sign(area(cutCorners(CORNERS, false))));
  });
  test('a patch keeps its place: near and left in the photo is left and on top of the turned cut-out', () => {
    const patch: Point[] = [
      [11, 36],
      [12, 36],
      [12, 39],
      [11, 39],
    ];
    const turned = onCut(patch, CORNERS, true)!;
    for (const [x, y] of turned) {
      expect(x).toBeLessThan(0.11); // 1 - 36/40 = 0.1 of the length from the near end
      expect(y).toBeLessThan(0.21); // 2 of 10 across
    }
    const upright = onCut(patch, CORNERS, false)!;
    expect(upright[0]![0]).toBeCloseTo(0.1, 9);
    expect(upright[0]![1]).toBeCloseTo(0.9, 9);
    expect(
      onCut(
        patch,
        [
          [0, 0],
          [1, 1],
          [2, 2],
          [3, 3],
        ],
        true,
      ),
    ).toBeNull();
  });
});
