import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Point, Polygon } from '@/lib/photo/raster/pixels';
import { isSimple, leaveOutMasked, polygonArea, regionOf, wholePhoto, type Region } from '@/lib/photo/raster/region';

function cellsOf({ runs }: Region): Set<string> {
  const cells = new Set<string>();
  for (let i = 0; i < runs.length; i += 3)
    for (let x = runs[i + 1]!; x < runs[i + 2]!; x++) cells.add(`${x},${runs[i]}`);
  return cells;
}

/** Even-odd test of one point, written apart from the code under test (ray to the right). */
function inside([px, py]: Point, polygon: Polygon): boolean {
  let odd = false;
  polygon.forEach(([x1, y1], i) => {
    const [x2, y2] = polygon[(i + 1) % polygon.length]!;
    if (y1 > py !== y2 > py && px < x1 + ((py - y1) / (y2 - y1)) * (x2 - x1)) odd = !odd;
  });
  return odd;
}

const W = 40;
const H = 30;
// Odd fractions keep corners and edges away from pixel centres, where "inside" is a matter of convention.
const corner = fc
  .tuple(fc.integer({ min: -10, max: 50 }), fc.integer({ min: -10, max: 40 }))
  .map(([x, y]) => [x + 0.3137, y + 0.2719] as const);
const anyPolygon = fc.array(corner, { minLength: 3, maxLength: 8 });

describe('the pixels of a polygon', () => {
  test('are those whose centre lies inside', () => {
    fc.assert(
      fc.property(anyPolygon, (polygon) => {
        const region = regionOf(polygon, W, H);
        const wanted = new Set<string>();
        for (let y = 0; y < H; y++) for (let x = 0; x < W; x++) if (inside([x, y], polygon)) wanted.add(`${x},${y}`);
        expect(cellsOf(region)).toEqual(wanted);
        expect(region.pixelCount).toBe(wanted.size);
      }),
    );
  });

  test('of two halves of a photo are each pixel once, wherever the cut goes', () => {
    const at = fc.double({ min: 0, max: W - 1, noNaN: true });
    fc.assert(
      fc.property(at, at, (top, bottom) => {
        const left: Polygon = [
          [-0.5, -0.5],
          [top, -0.5],
          [bottom, H - 0.5],
          [-0.5, H - 0.5],
        ];
        const right: Polygon = [
          [top, -0.5],
          [W - 0.5, -0.5],
          [W - 0.5, H - 0.5],
          [bottom, H - 0.5],
        ];
        expect(regionOf(left, W, H).pixelCount + regionOf(right, W, H).pixelCount).toBe(W * H);
      }),
    );
  });

  test('of the whole photo are all of them', () => expect(regionOf(wholePhoto(W, H), W, H).pixelCount).toBe(W * H));
  test('outside the photo are none', () =>
    expect(
      regionOf(
        [
          [100, 100],
          [110, 100],
          [110, 110],
        ],
        W,
        H,
      ).pixelCount,
    ).toBe(0));
  test('are refused for two corners or a corner that is no number', () => {
    expect(() =>
      regionOf(
        [
          [0, 0],
          [1, 1],
        ],
        W,
        H,
      ),
    ).toThrow(/at least 3 corners/);
    expect(() =>
      regionOf(
        [
          [0, 0],
          [1, NaN],
          [2, 2],
        ],
        W,
        H,
      ),
    ).toThrow(/finite/);
  });
});

describe('area', () => {
  test('of a 3 by 4 right triangle is 6, either way round', () => {
    expect(
      polygonArea([
        [0, 0],
        [3, 0],
        [0, 4],
      ]),
    ).toBe(6);
    expect(
      polygonArea([
        [0, 4],
        [3, 0],
        [0, 0],
      ]),
    ).toBe(6);
  });
  test('is about the number of pixels', () => {
    const polygon: Polygon = [
      [2.2, 1.7],
      [35.1, 4.4],
      [30.6, 27.9],
      [5.3, 22.2],
    ];
    // Each edge can gain or lose about half a pixel a step; 100 pixels of edge make at most some 5% here.
    expect(Math.abs(regionOf(polygon, W, H).pixelCount / polygonArea(polygon) - 1)).toBeLessThan(0.05);
  });
});

describe('an outline', () => {
  test('that crosses itself is not simple', () => {
    expect(
      isSimple([
        [0, 0],
        [10, 0],
        [10, 10],
        [0, 10],
      ]),
    ).toBe(true);
    expect(
      isSimple([
        [0, 0],
        [10, 10],
        [10, 0],
        [0, 10],
      ]),
    ).toBe(false);
    expect(
      isSimple([
        [0, 0],
        [5, 0],
        [10, 0],
      ]),
    ).toBe(false);
    expect(
      isSimple([
        [0, 0],
        [10, 0],
        [10, 10],
        [5, 3],
        [0, 10],
      ]),
    ).toBe(true);
  });
});

describe('a mask', () => {
  test('takes out the pixels it marks, at any resolution', () => {
    const whole = regionOf(wholePhoto(W, H), W, H);
    const left = leaveOutMasked(whole, { width: 2, height: 1, data: Uint8Array.of(1, 0) }, W, H);
    expect(left.pixelCount).toBe((W / 2) * H);
    expect([...cellsOf(left)].every((cell) => Number(cell.split(',')[0]) >= W / 2)).toBe(true);
    const full = new Uint8Array(W * H);
    full[5 * W + 7] = 1;
    const rest = leaveOutMasked(whole, { width: W, height: H, data: full }, W, H);
    expect(rest.pixelCount).toBe(W * H - 1);
    expect(cellsOf(rest).has('7,5')).toBe(false);
  });
});
