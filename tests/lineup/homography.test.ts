import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { betweenCopies, betweenFullSize, compose, fromFourPoints, invert, project, type Homography } from '@/lib/photo/homography';
import type { Point } from '@/lib/photo/pixels';

function apart(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

const corner = (x: number, y: number) => fc.tuple(fc.double({ min: x, max: x + 60, noNaN: true }), fc.double({ min: y, max: y + 60, noNaN: true }));
const quad = fc.tuple(corner(0, 0), corner(200, 0), corner(200, 150), corner(0, 150));

describe('homography', () => {
  it('takes four points to four points, and back', () => {
    fc.assert(fc.property(quad, quad, (from, to) => {
      const map = fromFourPoints(from, to);
      from.forEach((p, i) => expect(apart(project(map, p), to[i]!)).toBeLessThan(1e-6));
      to.forEach((p, i) => expect(apart(project(invert(map), p), from[i]!)).toBeLessThan(1e-6));
    }));
  });

  it('composes as doing one after the other', () => {
    fc.assert(fc.property(quad, quad, quad, (a, b, c) => {
      const both = compose(fromFourPoints(b, c), fromFourPoints(a, b));
      expect(apart(project(both, [90, 70]), project(fromFourPoints(b, c), project(fromFourPoints(a, b), [90, 70])))).toBeLessThan(1e-6);
    }));
  });

  it('keeps pixel areas in place between copies of different size', () => {
    // A shift by 8 full-size pixels is a shift by 2 in copies a quarter as large; the centre of the area 0..4 is copy pixel 0.
    const shift: Homography = [1, 0, 8, 0, 1, -4, 0, 0, 1];
    const small = betweenCopies(shift, 0.25, 0.25);
    expect(apart(project(small, [0, 0]), [2, -1])).toBeLessThan(1e-9);
    expect(apart(project(betweenFullSize(small, 0.25, 0.25), [100, 50]), [108, 46])).toBeLessThan(1e-9);
    expect(apart(project(betweenCopies([1, 0, 0, 0, 1, 0, 0, 0, 1], 1, 0.25), [1.5, 1.5]), [0, 0])).toBeLessThan(1e-9);
  });

  it('refuses three points on a line and a flat map', () => {
    expect(() => fromFourPoints([[0, 0], [1, 1], [2, 2], [0, 2]], [[0, 0], [1, 0], [1, 1], [0, 1]])).toThrow(RangeError);
    expect(() => invert([1, 2, 3, 2, 4, 6, 0, 0, 0])).toThrow(RangeError);
  });
});
