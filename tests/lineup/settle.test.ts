import { describe, expect, it } from 'vitest';
import { change } from '@/lib/lineup/refine';
import { gap, settle, uncertaintyAt } from '@/lib/lineup/settle';
import { solveInPlace } from '@/lib/lineup/solve-in-place';
import type { Sighting } from '@/lib/lineup/windows';
import { applyHomography, IDENTITY } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';

const SIZE = { width: 400, height: 300 };
/** A change of map of a few pixels, and what windows on a grid see under it. */
const CHANGE = change([0.012, -0.008, 0.01, 0.006, -0.01, -0.015, 0.004, -0.003], SIZE);
const OPTIONS = { floor: 0.4, cell: 36, loose: [0.05, 0.03] } as const;

function seen(noise: number, moved: (x: number, y: number) => boolean = () => false, spacing = 25): Sighting[] {
  const out: Sighting[] = [];
  let state = 7;
  const random = (): number => ((state = (state * 16807) % 2147483647) / 2147483647 - 0.5) * Math.sqrt(12);
  for (let y = 20; y < SIZE.height; y += spacing)
    for (let x = 20; x < SIZE.width; x += spacing) {
      const [u, v] = applyHomography(CHANGE, [x, y]);
      const away = moved(x, y) ? 6 : 0;
      out.push({
        x,
        y,
        dx: u - x + away + noise * random(),
        dy: v - y + noise * random(),
        xx: noise * noise,
        xy: 0,
        yy: noise * noise,
        peak: 0.8,
      });
    }
  return out;
}

const CORNERS: Point[] = [
  [80, 90],
  [320, 90],
  [340, 260],
  [60, 260],
];

describe('a map settled on what windows saw', () => {
  it('is the change they were displaced by, to a tenth of a pixel, and all agree', () => {
    const settled = settle(SIZE, IDENTITY, seen(0.05), OPTIONS)!;
    expect(gap(settled.map, CHANGE, CORNERS)).toBeLessThan(0.1);
    expect(settled.agreement).toBeGreaterThan(0.98);
  });

  it('leaves out a part of the photo that moved by itself, and says that it does not agree', () => {
    const settled = settle(
      SIZE,
      IDENTITY,
      seen(0.2, (x, y) => x > 280 && y < 130),
      OPTIONS,
    )!;
    expect(gap(settled.map, CHANGE, CORNERS)).toBeLessThan(0.4);
    expect(settled.agreement).toBeLessThan(0.95);
  });

  it('is the surer the more windows there are, about as their root', () => {
    const doubt = (spacing: number): number =>
      uncertaintyAt(SIZE, settle(SIZE, IDENTITY, seen(0.8, undefined, spacing), OPTIONS)!.covariance, [200, 150]);
    // Four times as many windows: half the doubt, within what their scatter leaves.
    expect(doubt(40) / doubt(20)).toBeGreaterThan(1.4);
    expect(doubt(40) / doubt(20)).toBeLessThan(2.9);
  });
});

describe('equations solved in place', () => {
  it('give the numbers that fulfil them, and say where there is no answer', () => {
    // 2x + y - z = 8, -3x - y + 2z = -11, -2x + y + 2z = -3: x 2, y 3, z -1, as putting them in shows.
    const right = Float64Array.of(8, -11, -3);
    expect(solveInPlace(Float64Array.of(2, 1, -1, -3, -1, 2, -2, 1, 2), right, 3)).toBe(true);
    [2, 3, -1].forEach((v, i) => expect(right[i]).toBeCloseTo(v, 10));
    expect(solveInPlace(new Float64Array(9), Float64Array.of(1, 1, 1), 3)).toBe(false);
  });
});
