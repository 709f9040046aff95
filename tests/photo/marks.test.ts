import { describe, expect, test } from 'vitest';
import { comparePair } from '../../lib/photo/compare-pair';
import { type PairPlot } from '../../lib/photo/pair/pair-input';
import type { NamedKind } from '../../lib/photo/marks/kind';
import {
  drawnLawn,
  paintLeaf,
  paintMark,
  paintRectangle,
  photograph,
  random,
  rectangle,
  slowField,
} from './turf-scene';

/** Truth is what the test paints; the photos are drawn, no published source. */
const [WIDTH, HEIGHT] = [440, 400];
const PLOTS: PairPlot[] = [
  {
    id: 'A',
    check: true,
    cornersBefore: rectangle(60, 60, 210, 360),
    cornersAfter: rectangle(60, 60, 210, 360),
    groundMetres: rectangle(0, 0, 0.9, 1.8),
  },
  {
    id: 'B',
    check: false,
    cornersBefore: rectangle(230, 60, 380, 360),
    cornersAfter: rectangle(230, 60, 380, 360),
    groundMetres: rectangle(1.02, 0, 1.92, 1.8),
  },
];

function lawns(seed: string) {
  const r = random(seed);
  const slow = slowField(WIDTH, HEIGHT, r);
  return { before: drawnLawn(WIDTH, HEIGHT, r, slow), after: drawnLawn(WIDTH, HEIGHT, r, slow) };
}

const shade = (_: number, y: number) => (y > 210 ? ([0.24, 0.3, 0.62] as const) : 1);
const DAY = [1, 1, 1] as const;
const CLOUD = [0.8, 0.84, 0.92] as const;

describe('marks in a pair of photos', () => {
  test.each<[NamedKind, number]>([
    ['silver', 0.5],
    ['burn', 0.45],
    ['chlorosis', 0.45],
    ['blackening', 0.5],
  ])('a new %s mark is found once, where it is, with its kind', (kind, share) => {
    const { before, after } = lawns(`kind-${kind}`);
    paintMark(after, kind, 300, 200, 26, share);
    const { marks } = comparePair({ before: photograph(before, DAY), after: photograph(after, CLOUD), plots: PLOTS });
    expect(marks.map(({ plotId, kind: k, isNew }) => ({ plotId, kind: k, isNew }))).toEqual([
      { plotId: 'B', kind, isNew: true },
    ]);
    const [mark] = marks;
    expect(Math.hypot(mark!.centroid[0] - 300, mark!.centroid[1] - 200)).toBeLessThan(6);
    // A disc of 26 pixels in a plot of 150 x 300.
    expect(mark!.share).toBeGreaterThan(0.6 * ((Math.PI * 26 ** 2) / 45_000));
    expect(mark!.share).toBeLessThan(1.5 * ((Math.PI * 26 ** 2) / 45_000));
    expect(mark!.areaM2).toBeCloseTo(mark!.share * 1.62, 6);
  });

  test('a pair without marks gives none, under other light and after a treatment', () => {
    const { before, after } = lawns('clean');
    paintRectangle(after, [222, 50, 390, 370], [0.75, 0.85, 1]);
    const { marks } = comparePair({ before: photograph(before, DAY), after: photograph(after, CLOUD), plots: PLOTS });
    expect(marks).toEqual([]);
  });

  test('mowing stripes that came between the photos are not marks', () => {
    const { before, after } = lawns('stripes');
    const { marks } = comparePair({
      before: photograph(before, DAY),
      after: photograph(after, DAY, (x) => 1 + 0.13 * Math.sign(Math.sin(x / 12))),
      plots: PLOTS,
    });
    expect(marks).toEqual([]);
  });

  test('a fallen leaf is not a mark', () => {
    const { before, after } = lawns('leaf');
    paintLeaf(after, 300, 150, 7);
    paintLeaf(after, 130, 250, 6);
    const { marks, search } = comparePair({
      before: photograph(before, DAY),
      after: photograph(after, DAY),
      plots: PLOTS,
    });
    expect(marks).toEqual([]);
    expect(search.debris.every((mask) => mask.includes(1))).toBe(true);
  });

  test('a mark that was there before is listed as old, not as new', () => {
    const { before, after } = lawns('old');
    paintMark(before, 'burn', 300, 200, 28, 0.5);
    paintMark(after, 'burn', 300, 200, 28, 0.45);
    const { marks } = comparePair({ before: photograph(before, DAY), after: photograph(after, CLOUD), plots: PLOTS });
    expect(marks.map(({ kind, isNew }) => ({ kind, isNew }))).toEqual([{ kind: 'burn', isNew: false }]);
  });

  test('a blackening across the edge of a shadow is found as one mark', () => {
    const { before, after } = lawns('edge');
    paintMark(after, 'blackening', 305, 210, 30, 0.55);
    const { marks } = comparePair({
      before: photograph(before, DAY),
      after: photograph(after, DAY, shade),
      plots: PLOTS,
    });
    expect(marks.map(({ plotId, kind }) => ({ plotId, kind }))).toEqual([{ plotId: 'B', kind: 'blackening' }]);
  });
});
