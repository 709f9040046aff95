import { describe, expect, it } from 'vitest';
import { comparePair } from '@/lib/photo/compare-pair';
import { withoutThings } from '@/lib/photo/covered';
import { IDENTITY } from '@/lib/photo/ground/homography';
import type { Pixels, Polygon } from '@/lib/photo/raster/pixels';
import { chance } from '../lineup/draw-lawn';

const rectangle = (x: number, y: number, w: number, h: number): Polygon => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];

describe('a plot with a card on it', () => {
  const plot = { width: 40, height: 30, linear: new Float32Array(3600).fill(0.1), seen: new Uint8Array(1200).fill(1) };
  it('is not seen where the card lies, a twentieth of its size beyond each edge included', () => {
    const { seen } = withoutThings(plot, [rectangle(10, 10, 10, 10)], IDENTITY);
    expect([seen[15 * 40 + 9], seen[15 * 40 + 10], seen[15 * 40 + 20], seen[15 * 40 + 22]]).toEqual([1, 0, 0, 1]);
    expect(seen.reduce((sum, v) => sum + v, 0)).toBe(1200 - 11 * 11);
  });
  it('stays what it was where the card lies beside it', () => {
    expect(withoutThings(plot, [rectangle(60, 10, 10, 10)], IDENTITY)).toBe(plot);
  });
});

describe('the change between two photos of turf that did not change', () => {
  const [W, H] = [420, 260];
  const plots = [
    { id: 'A', check: true, corners: rectangle(30, 40, 160, 180) },
    { id: 'B', check: false, corners: rectangle(230, 40, 160, 180) },
  ].map(({ id, check, corners }) => ({ id, check, cornersBefore: corners, cornersAfter: corners }));
  const turf = (seed: number, papers: readonly Polygon[]): Pixels => {
    const random = chance(seed);
    const data = new Uint8Array(W * H * 3);
    for (let i = 0; i < W * H; i++) {
      const bright = 0.7 + 0.6 * random();
      const [x, y] = [i % W, Math.floor(i / W)];
      const white = papers.some(([a, , c]) => x >= a![0] && x < c![0] && y >= a![1] && y < c![1]);
      data.set(white ? [235, 235, 235] : [62 * bright, 104 * bright, 40 * bright], 3 * i);
    }
    return { width: W, height: H, channels: 3, space: 'srgb', data };
  };
  const papers = {
    before: [rectangle(40, 50, 30, 40)],
    after: [rectangle(130, 150, 36, 48), rectangle(36, 46, 40, 40)],
  };
  const change = (lying?: typeof papers): number =>
    comparePair({
      before: turf(1, papers.before),
      after: turf(2, papers.after),
      plots,
      ...(lying === undefined ? {} : { lying }),
    }).changes[1]!.change!.difference;
  it('is none, though papers lie on the check, elsewhere on each date', () => {
    expect(Math.abs(change(papers))).toBeLessThan(0.002);
  });
  it('would not be none if the papers were taken for turf', () => {
    expect(Math.abs(change())).toBeGreaterThan(0.004);
  });
});
