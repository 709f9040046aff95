import { describe, expect, it } from 'vitest';
import { fitAndRival } from '@/lib/lineup/rival';
import { makePlanes, makeView, type Planes } from '@/lib/lineup/views';
import { askTurf } from '@/lib/lineup/witness';
import { IDENTITY } from '@/lib/photo/ground/homography';
import type { Pixels, Polygon } from '@/lib/photo/raster/pixels';

const [W, H] = [320, 240];

/** Blotchy green of a seed, shifted; every `repeats` pixels across it is the same again, where given. */
function turf(seed: number, shift = 0, repeats = 0): Planes {
  const cell = 4;
  const data = new Uint8Array(W * H * 3);
  const value = (i: number, j: number): number => {
    let t = Math.imul(i + 37 * seed, 73856093) ^ Math.imul(j + 11, 19349663);
    t = Math.imul(t ^ (t >>> 13), 0x5bd1e995);
    return ((t ^ (t >>> 15)) >>> 0) / 4294967296;
  };
  for (let y = 0; y < H; y++)
    for (let x = 0; x < W; x++) {
      const across = x + shift + 4000;
      const at = repeats > 0 ? across % repeats : across;
      const v = 60 + 120 * value(Math.floor(at / cell), Math.floor(y / cell));
      data.set([0.6 * v, v, 0.4 * v], 3 * (y * W + x));
    }
  const photo: Pixels = { width: W, height: H, data, channels: 3, space: 'srgb' };
  return makePlanes(makeView(photo, W), 1.5, 10);
}

const PLOTS: Polygon[] = [
  [
    [60, 60],
    [140, 60],
    [140, 190],
    [60, 190],
  ],
  [
    [140, 60],
    [220, 60],
    [220, 190],
    [140, 190],
  ],
];

describe('the turf inside the plots', () => {
  const own = turf(1);

  it('knows itself where the map puts it', () => {
    const { z, offset, median } = askTurf(own, turf(1), IDENTITY, PLOTS, 12, 16);
    expect(z).toBeGreaterThan(10);
    expect(offset).toBe(0);
    expect(median).toBeGreaterThan(0.95);
  });

  it('says how far off the map is: seven pixels', () => {
    const { z, offset } = askTurf(own, turf(1, 7), IDENTITY, PLOTS, 12, 16);
    expect(offset).toBe(7);
    expect(z).toBeLessThan(3);
  });

  it('does not know itself in another lawn', () => {
    const { z, median } = askTurf(own, turf(2), IDENTITY, PLOTS, 12, 16);
    expect(z).toBeLessThan(3);
    expect(median).toBeLessThan(0.2);
  });
});

describe('ground that repeats', () => {
  it('looks as much the same a plot further on; ground that does not repeat looks like nothing there', () => {
    const repeating = turf(3, 0, 80);
    const same = fitAndRival(repeating, turf(3, 0, 80), IDENTITY, PLOTS);
    expect(same.rivalFit).toBeGreaterThan(0.8 * same.fit);
    const plain = fitAndRival(turf(1), turf(1), IDENTITY, PLOTS);
    expect(plain.fit).toBeGreaterThan(0.95);
    expect(plain.rivalFit).toBeLessThan(0.3);
  });
});
