import { describe, expect, test } from 'vitest';
import { closer, panned, START } from '@/lib/photo/raster/zoom';

const box = { width: 400, height: 300 };

describe('a picture enlarged in its frame', () => {
  test('the point under the finger stays under it', () => {
    const at = { x: 100, y: 200 };
    const first = closer(START, 2, at, box);
    // Before, the point lay at (100, 200) of the picture; 2 × that moved by the view is (100, 200) again.
    expect([100 * first.scale + first.x, 200 * first.scale + first.y]).toEqual([100, 200]);
    const second = closer(first, 1.5, at, box);
    expect(100 * second.scale + second.x).toBeCloseTo(100, 9);
    expect(200 * second.scale + second.y).toBeCloseTo(200, 9);
  });
  test('the frame stays full, however far one pulls, and the whole picture fits it exactly', () => {
    const twice = closer(START, 2, { x: 0, y: 0 }, box);
    expect(panned(twice, 999, 999, box)).toEqual({ scale: 2, x: 0, y: 0 });
    expect(panned(twice, -999, -999, box)).toEqual({ scale: 2, x: -400, y: -300 });
    expect(panned(START, -50, 20, box)).toEqual(START);
    const back = closer(panned(twice, -200, -100, box), 0.1, { x: 300, y: 300 }, box);
    expect(back.scale).toBe(1);
    expect([Math.abs(back.x), Math.abs(back.y)]).toEqual([0, 0]);
  });
  test('no further than eight times', () => {
    expect(closer(START, 100, { x: 0, y: 0 }, box).scale).toBe(8);
  });
});
