import { describe, expect, test } from 'vitest';
import {
  groundReached,
  overlapsAmong,
  polygonAreaM2,
  sharedAreaM2,
  sharedGround,
  type GroundPoint,
  type PlotGround,
} from '@/lib/trial/plot-ground';

const box = (left: number, bottom: number, width: number, height: number): GroundPoint[] => [
  [left, bottom + height],
  [left + width, bottom + height],
  [left + width, bottom],
  [left, bottom],
];

describe('ground that two polygons share', () => {
  test('a unit square and its copy turned by 45° about the centre share a regular octagon of 2√2 − 2', () => {
    // Octagon with inradius 1/2: area 8 (1/2)² tan 22.5° = 2 (√2 − 1); any textbook of plane geometry.
    const r = Math.SQRT1_2;
    const turned: GroundPoint[] = [
      [r, 0],
      [0, r],
      [-r, 0],
      [0, -r],
    ];
    expect(sharedAreaM2(box(-0.5, -0.5, 1, 1), turned)).toBeCloseTo(2 * Math.SQRT2 - 2, 12);
    expect(sharedAreaM2(turned, box(-0.5, -0.5, 1, 1))).toBeCloseTo(2 * Math.SQRT2 - 2, 12);
  });

  test('squares moved by half a side share a quarter, whichever way their corners run', () => {
    const [a, b] = [box(0, 0, 1, 1), box(0.5, 0.5, 1, 1)];
    for (const first of [a, [...a].reverse()])
      for (const second of [b, [...b].reverse()]) expect(sharedAreaM2(first, second)).toBeCloseTo(0.25, 12);
  });

  test('plots with a common side share nothing; one within another shares all of itself', () => {
    expect(sharedAreaM2(box(0, 0, 2, 8), box(2, 0, 2, 8))).toBeCloseTo(0, 12);
    expect(sharedAreaM2(box(0, 0, 10, 10), box(3, 3, 2, 2))).toBeCloseTo(4, 12);
    expect(sharedAreaM2(box(0, 0, 1, 1), box(5, 5, 1, 1))).toBe(0);
  });

  test('an L is clipped by a square: the notch does not count', () => {
    const l: GroundPoint[] = [
      [0, 0],
      [2, 0],
      [2, 1],
      [1, 1],
      [1, 2],
      [0, 2],
    ];
    expect(polygonAreaM2(l)).toBeCloseTo(3, 12);
    expect(sharedAreaM2(l, box(0, 0, 2, 2))).toBeCloseTo(3, 12);
    expect(sharedAreaM2(box(0.5, 0.5, 1, 1), l)).toBeCloseTo(0.75, 12);
  });

  test('two polygons neither of which is convex are not guessed at', () => {
    const l: GroundPoint[] = [
      [0, 0],
      [2, 0],
      [2, 1],
      [1, 1],
      [1, 2],
      [0, 2],
    ];
    expect(sharedAreaM2(l, l)).toBeNull();
  });
});

const plot = (id: string, more: Partial<PlotGround> = {}): PlotGround => ({
  id,
  areaM2: 10,
  polygonM: null,
  groundPlace: null,
  insidePlotId: null,
  trialId: null,
  ...more,
});
const share = (a: PlotGround, b: PlotGround, ...others: PlotGround[]) =>
  sharedGround(a, b, new Map([a, b, ...others].map((one) => [one.id, one])));

describe('ground that two plots share', () => {
  const front = plot('front', { areaM2: 100, groundPlace: 'apart' });
  const strip = plot('strip', { groundPlace: 'inside', insidePlotId: 'front' });

  test('a strip inside the whole front is all covered by it, and covers a tenth of it', () => {
    expect(share(strip, front)).toBe(1);
    expect(share(front, strip)).toBeCloseTo(0.1, 12);
  });

  test('a strip of a strip lies inside the front as well', () => {
    const part = plot('part', { areaM2: 2, groundPlace: 'inside', insidePlotId: 'strip' });
    expect(share(part, front, strip)).toBe(1);
    expect(share(front, part, strip)).toBeCloseTo(0.02, 12);
  });

  test('of plots with areas only, it can not be known', () => {
    expect(share(plot('a'), plot('b'))).toBeNull();
    const other = plot('other', { groundPlace: 'inside', insidePlotId: 'front' });
    expect(share(strip, other, front)).toBeNull();
  });

  test('a plot that lies apart shares nothing, nor does what lies inside it', () => {
    expect(share(front, plot('back'))).toBe(0);
    expect(share(strip, plot('back'), front)).toBe(0);
  });

  test('shapes whose place nobody gave are not laid over each other: both begin at a left stake of their own', () => {
    const [a, b] = [plot('a', { polygonM: box(0, 0, 2, 5) }), plot('b', { polygonM: box(0, 0, 4, 5) })];
    expect(share(a, b)).toBeNull();
    expect(share({ ...a, groundPlace: 'plan' }, { ...b, groundPlace: 'plan' })).toBeCloseTo(1, 12);
    expect(share({ ...b, groundPlace: 'plan' }, { ...a, groundPlace: 'plan' })).toBeCloseTo(0.5, 12);
  });

  test('strips of one trial lie side by side', () => {
    const [a, b] = [
      plot('a', { polygonM: box(0, 0, 2, 5), trialId: 't' }),
      plot('b', { polygonM: box(2, 0, 2, 5), trialId: 't' }),
    ];
    expect(share(a, b)).toBe(0);
    expect(share(a, { ...b, trialId: 'u' })).toBeNull();
  });

  test('what reaches a plot is told from what may', () => {
    const loose = plot('loose');
    const back = plot('back', { areaM2: 50, groundPlace: 'apart' });
    expect(groundReached(['front'], [front, strip, loose, back])).toEqual({ known: ['front', 'strip'], unknown: [] });
    expect(groundReached(['loose'], [plot('old'), strip, loose, back])).toEqual({
      known: ['loose'],
      unknown: ['old', 'strip'],
    });
  });

  test('two ticked plots that share ground are named with the ground they share', () => {
    expect(overlapsAmong(['strip', 'front'], [front, strip])).toEqual([
      { first: 'strip', second: 'front', sharedM2: 10 },
    ]);
  });
});
