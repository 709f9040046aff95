import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { applyHomography, composeHomographies, homographyFrom4, invertHomography } from '@/lib/photo/homography';
import type { Point } from '@/lib/photo/pixels';
import { expectClose } from '../support/close';

const OPENCV_MAP = [201.51821862348177, -88.08367071524965, 310.0, 9.322986954565902, 70.1364522417154, 120.0, -0.0048358074673864136, -0.1638926375768481, 1.0];

const square: Point[] = [[0, 0], [1, 0], [1, 1], [0, 1]];
const near = (x: number, y: number) =>
  fc.tuple(fc.double({ min: -80, max: 80, noNaN: true }), fc.double({ min: -80, max: 80, noNaN: true })).map(([dx, dy]): Point => [x + dx, y + dy]);
/** Convex by construction: corners stay within 80 pixels of a 400 by 300 rectangle's. */
const quad = fc.tuple(near(0, 0), near(400, 0), near(400, 300), near(0, 300)).map((q): Point[] => q);

describe('a map from four points', () => {
  it('has the numbers OpenCV gives', () => {
    // cv2 4.6.0: cv2.getPerspectiveTransform(float32([[0,0],[2,0],[2,3],[0,3]]), float32([[310,120],[720,140],[900,700],[90,650]]))
    const map = homographyFrom4([[0, 0], [2, 0], [2, 3], [0, 3]], [[310, 120], [720, 140], [900, 700], [90, 650]]);
    map?.forEach((value, i) => expectClose(`entry ${i}`, value, OPENCV_MAP[i] as number, 1e-9 * Math.max(1, Math.abs(OPENCV_MAP[i] as number))));
    expect(map).not.toBeNull();
  });

  it('takes each point to its partner, and the inverse takes it back', () => {
    fc.assert(
      fc.property(quad, fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true }), (corners, u, v) => {
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
      }),
    );
  });

  it('keeps straight lines straight', () => {
    fc.assert(
      fc.property(quad, (corners) => {
        const map = homographyFrom4(square, corners)!;
        const [a, b, c] = [[0.1, 0.2], [0.4, 0.5], [0.7, 0.8]].map((p) => applyHomography(map, p as unknown as Point)) as [Point, Point, Point];
        expectClose('turn', (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]), 0, 1e-6);
      }),
    );
  });

  it('is none when three points lie on a line or the corners cross', () => {
    expect(homographyFrom4(square, [[0, 0], [5, 0], [10, 0], [0, 10]])).toBeNull();
    expect(homographyFrom4(square, [[0, 0], [10, 10], [10, 0], [0, 10]])).toBeNull();
  });

  it('is refused for three or five points', () => expect(() => homographyFrom4(square.slice(1), square)).toThrow(/expected 4 points, got 3/));
});
