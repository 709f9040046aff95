import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  applyHomography,
  betweenCopies,
  betweenFullSize,
  composeHomographies,
  homographyFrom4,
  IDENTITY,
  invertHomography,
} from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { expectClose } from '../support/close';

const OPENCV_MAP = [
  201.51821862348177, -88.08367071524965, 310.0, 9.322986954565902, 70.1364522417154, 120.0, -0.0048358074673864136,
  -0.1638926375768481, 1.0,
];

const square: Point[] = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
];
const near = (x: number, y: number) =>
  fc
    .tuple(fc.double({ min: -80, max: 80, noNaN: true }), fc.double({ min: -80, max: 80, noNaN: true }))
    .map(([dx, dy]): Point => [x + dx, y + dy]);
/** Convex by construction: corners stay within 80 pixels of a 400 by 300 rectangle's. */
const quad = fc.tuple(near(0, 0), near(400, 0), near(400, 300), near(0, 300)).map((q): Point[] => q);

describe('a map from four points', () => {
  test('has the numbers OpenCV gives', () => {
    // cv2 4.6.0: cv2.getPerspectiveTransform(float32([[0,0],[2,0],[2,3],[0,3]]),
    // float32([[310,120],[720,140],[900,700],[90,650]]))
    const map = homographyFrom4(
      [
        [0, 0],
        [2, 0],
        [2, 3],
        [0, 3],
      ],
      [
        [310, 120],
        [720, 140],
        [900, 700],
        [90, 650],
      ],
    );
    map?.forEach((value, i) =>
      expectClose(`entry ${i}`, value, OPENCV_MAP[i] as number, 1e-9 * Math.max(1, Math.abs(OPENCV_MAP[i] as number))),
    );
    expect(map).not.toBeNull();
  });

  test('takes each point to its partner, and the inverse takes it back', () => {
    fc.assert(
      fc.property(
        quad,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (corners, u, v) => {
          const map = homographyFrom4(square, corners)!;
          square.forEach((p, i) => {
            const [x, y] = applyHomography(map, p);
            expectClose('x', x, corners[i]![0], 1e-8);
            expectClose('y', y, corners[i]![1], 1e-8);
          });
          const back = applyHomography(invertHomography(map)!, applyHomography(map, [u, v]));
          expectClose('u', back[0], u, 1e-9);
          expectClose('v', back[1], v, 1e-9);
          const there = applyHomography(composeHomographies(invertHomography(map)!, map), [u, v]);
          expectClose('u, composed', there[0], u, 1e-9);
        },
      ),
    );
  });

  test('keeps straight lines straight', () => {
    fc.assert(
      fc.property(quad, (corners) => {
        const map = homographyFrom4(square, corners)!;
        const [a, b, c] = [
          [0.1, 0.2],
          [0.4, 0.5],
          [0.7, 0.8],
        ].map((p) => applyHomography(map, p as unknown as Point)) as [Point, Point, Point];
        expectClose('turn', (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]), 0, 1e-6);
      }),
    );
  });

  test('is none when three points lie on a line or the corners cross', () => {
    expect(
      homographyFrom4(square, [
        [0, 0],
        [5, 0],
        [10, 0],
        [0, 10],
      ]),
    ).toBeNull();
    expect(
      homographyFrom4(square, [
        [0, 0],
        [10, 10],
        [10, 0],
        [0, 10],
      ]),
    ).toBeNull();
  });

  test('is refused for three or five points', () =>
    expect(() => homographyFrom4(square.slice(1), square)).toThrow(/expected 4 points, got 3/));
});

describe('maps one after the other', () => {
  test('go where the first and then the second goes', () => {
    fc.assert(
      fc.property(quad, quad, quad, (a, b, c) => {
        const [first, second] = [homographyFrom4(a, b)!, homographyFrom4(b, c)!];
        const there = applyHomography(composeHomographies(second, first), [190, 140]);
        const stepwise = applyHomography(second, applyHomography(first, [190, 140]));
        expectClose('x', there[0], stepwise[0], 1e-6);
        expectClose('y', there[1], stepwise[1], 1e-6);
      }),
    );
  });

  test('have no way back when the map flattens the plane', () =>
    expect(invertHomography([1, 2, 3, 2, 4, 6, 0, 0, 0])).toBeNull());

  test('keep pixel areas in place between copies of different size', () => {
    // A shift by 8 full-size pixels is a shift by 2 in copies a quarter as large; the centre of the area 0..4 is copy
    // pixel 0.
    const small = betweenCopies([1, 0, 8, 0, 1, -4, 0, 0, 1], 0.25, 0.25);
    const expectAt = (found: Point, x: number, y: number): void => {
      expectClose('x', found[0], x, 1e-9);
      expectClose('y', found[1], y, 1e-9);
    };
    expectAt(applyHomography(small, [0, 0]), 2, -1);
    expectAt(applyHomography(betweenFullSize(small, 0.25, 0.25), [100, 50]), 108, 46);
    expectAt(applyHomography(betweenCopies(IDENTITY, 1, 0.25), [1.5, 1.5]), 0, 0);
  });
});
