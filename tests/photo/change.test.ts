import { describe, expect, test } from 'vitest';
import { matrix3Of } from '../../lib/colour/matrix';
import { CHANGE, changeAgainstCheck, dgciOfLinear, type PlotPair } from '../../lib/photo/change';
import { comparePair } from '../../lib/photo/compare-pair';
import { type PairPlot } from '../../lib/photo/pair/pair-input';
import { NO_CORRECTION } from '../../lib/photo/measure/correction';
import { blurInPlace } from '../../lib/photo/marks/smooth';
import type { Random } from '../../lib/stats/random';
import { drawnLawn, paintMark, paintRectangle, photograph, random, rectangle, slowField, TURF } from './turf-scene';

const IDENTITY = NO_CORRECTION.matrix;

test('DGCI of a linear colour is the published formula on its coded hue, saturation and brightness', () => {
  // (60, 100, 40): H 100, S 0.6, B 100/255; DGCI = [(100 - 60)/60 + 0.4 + (1 - 100/255)]/3 (Karcher & Richardson 2003).
  const linear = [60, 100, 40].map((c) =>
    c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4,
  ) as [number, number, number];
  expect(dgciOfLinear(linear)).toBeCloseTo((40 / 60 + 0.4 + (1 - 100 / 255)) / 3, 10);
  expect(dgciOfLinear([0.2, 0.2, 0.2])).toBeNull();
});

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
const TREATMENT = [0.75, 0.88, 1] as const;

const r = random('light');
const slow = slowField(440, 400, r);
const before = photograph(drawnLawn(440, 400, r, slow), [1, 1, 1]);
const treated = drawnLawn(440, 400, r, slow);
paintRectangle(treated, [222, 50, 390, 370], TREATMENT);

function pairUnder(
  gain: readonly [number, number, number],
  light?: (x: number, y: number) => number | readonly [number, number, number],
) {
  return comparePair({ before, after: photograph(treated, gain, light), plots: PLOTS });
}

const inSameLight = pairUnder([1, 1, 1]).changes[1]!.change!;
const truth = dgciOfLinear([TURF[0] * 0.75, TURF[1] * 0.88, TURF[2]])! - dgciOfLinear(TURF)!;

describe('the change against the check', () => {
  test('is the painted change in the same light', () => {
    const { difference, ci95 } = inSameLight;
    expect(Math.abs(difference - truth)).toBeLessThan(0.006);
    expect(ci95![0]).toBeLessThan(truth);
    expect(ci95![1]).toBeGreaterThan(truth);
  });

  test.each([
    ['brighter', [1.3, 1.3, 1.3]],
    ['cooler', [0.85, 1, 1.25]],
    ['darker and warmer', [0.8, 0.72, 0.6]],
  ] as const)('hardly moves when the light is %s', (_, gain) => {
    expect(Math.abs(pairUnder(gain).changes[1]!.change!.difference - inSameLight.difference)).toBeLessThan(0.003);
  });

  test('hardly moves when the light falls off across the lawn', () => {
    const sloped = pairUnder([1, 1, 1], (x) => Math.exp(0.0012 * (x - 200)));
    expect(Math.abs(sloped.changes[1]!.change!.difference - inSameLight.difference)).toBeLessThan(0.003);
    // ln per metre: 0.0012 a pixel at 167 pixels a metre.
    expect(sloped.lightSlope.perX).toBeCloseTo(0.2, 1);
  });

  test('uses only the sunlit part both plots share, and is refused where there is none', () => {
    const partly = pairUnder([1, 1, 1], (_, y) => (y > 230 ? [0.24, 0.3, 0.62] : 1));
    expect(partly.changes[1]!.comparedShare).toBeGreaterThan(0.4);
    expect(partly.changes[1]!.comparedShare).toBeLessThan(0.6);
    expect(Math.abs(partly.changes[1]!.change!.difference - truth)).toBeLessThan(0.01);
    const parted = pairUnder([1, 1, 1], (x) => (x < 220 ? [0.24, 0.3, 0.62] : 1));
    expect(parted.changes[1]!.change).toBeNull();
    expect(parted.changes[1]!.refused).toMatch(/different light/);
  });

  test('counts a mark in the shade, or in what the light leaves, as it stands in the whole plot', () => {
    const under = (y: number, light?: Parameters<typeof photograph>[2]) => {
      const lawn = drawnLawn(440, 400, random('light'), slow);
      paintRectangle(lawn, [222, 50, 390, 370], TREATMENT);
      paintMark(lawn, 'chlorosis', 305, y, 34, 0.45);
      const { changes, marks } = comparePair({
        before: photograph(drawnLawn(440, 400, random('light'), slow), [1, 1, 1]),
        after: photograph(lawn, [1, 1, 1], light),
        plots: PLOTS,
      });
      return { ...changes[1]!, marks: marks.length };
    };
    const halfShade = (_: number, y: number): number => (y > 230 ? 0.3 : 1);
    for (const y of [130, 300]) {
      const [even, shaded] = [under(y), under(y, halfShade)];
      expect([even.marks, shaded.marks]).toEqual([1, 1]);
      // The mark makes a difference that could not be overlooked.
      expect(even.changeWithoutMarks!.difference - even.change!.difference).toBeGreaterThan(0.012);
      expect(Math.abs(shaded.change!.difference - even.change!.difference)).toBeLessThan(0.006);
    }
  });

  test('has no interval with too few blocks', () => {
    const small = pairOf(random('small'), 12, 8, 0.4);
    const check = pairOf(random('check'), 12, 8, 0.4);
    expect(
      changeAgainstCheck(
        { ...small, use: small.use.map((u, i) => (i % 12 < 2 ? u : 0)) },
        check,
        IDENTITY,
        IDENTITY,
        0,
        'few',
      )!.ci95,
    ).toBeNull();
  });
});

/** A pair of rasters whose change differs from place to place over a few cells, as turf's does. */
function pairOf(r: Random, width: number, height: number, metresPerCell: number, reach = 3): PlotPair {
  const field = Float32Array.from({ length: width * height }, () => r.normal());
  blurInPlace(field, width, height, reach);
  const sd = Math.sqrt(field.reduce((s, v) => s + v * v, 0) / field.length);
  const before = new Float32Array(width * height * 3);
  const after = new Float32Array(width * height * 3);
  for (let i = 0; i < width * height; i++) {
    for (let c = 0; c < 3; c++) {
      before[i * 3 + c] = TURF[c]!;
      after[i * 3 + c] = TURF[c]! * Math.exp(((0.1 * field[i]!) / Math.max(sd, 1e-9)) * (c === 0 ? 1.3 : 1));
    }
  }
  const seen = new Uint8Array(width * height).fill(1);
  return {
    before: { width, height, linear: before, seen },
    after: { width, height, linear: after, seen },
    use: seen,
    metresPerCell,
  };
}

/** Only the upper part of a plot counts, as when the rest lies in the shade. */
function upper(pair: PlotPair, share: number): PlotPair {
  return { ...pair, use: pair.use.map((u, i) => (i < share * pair.use.length ? u : 0)) };
}

test.each([0.3, 0.5])(
  'intervals of plots of which a share of %f is seen hold the change of all their ground in 90 to 99.5 of 100 drawn pairs',
  (share) => {
    // Seeded: fields differ from draw to draw; the truth is the same two plots' change with all their ground in use.
    const chance = random('coverage');
    let held = 0;
    const runs = 150;
    for (let k = 0; k < runs; k++) {
      const [plot, check] = [raw(chance), raw(chance)];
      const truth = changeAgainstCheck(plot, check, IDENTITY, IDENTITY, 0, `c${k}`)!.difference;
      const result = changeAgainstCheck(upper(plot, share), upper(check, share), IDENTITY, IDENTITY, 0, `c${k}`)!;
      if (result.ci95![0] <= truth && result.ci95![1] >= truth) held++;
    }
    expect(held / runs).toBeGreaterThanOrEqual(0.9);
    expect(held / runs).toBeLessThanOrEqual(0.995);
  },
);

test('the less of a plot is seen, the wider its interval', () => {
  const [plot, check] = [raw(random('p')), raw(random('q'))];
  const width = (share: number): number => {
    const { ci95 } = changeAgainstCheck(upper(plot, share), check, IDENTITY, IDENTITY, 0, 's')!;
    return ci95![1] - ci95![0];
  };
  expect(width(0.6)).toBeGreaterThan(1.2 * width(1));
  expect(width(0.3)).toBeGreaterThan(1.2 * width(0.6));
});

test('the camera’s own brightness does not move the change', () => {
  const [plot, check] = [raw(random('p')), raw(random('q'))];
  const under = (gain: number): number =>
    changeAgainstCheck(plot, check, IDENTITY, matrix3Of(IDENTITY.map((v) => gain * v)), 0, 's')!.difference;
  expect(under(1.7)).toBeCloseTo(under(1), 10);
});

/** As pairOf, but the field keeps its own mean from draw to draw, with a fixed standard deviation. */
function raw(r: Random): PlotPair {
  const [width, height, reach] = [48, 96, 2.4];
  const field = Float32Array.from({ length: width * height }, () => r.normal());
  blurInPlace(field, width, height, reach);
  const pair = pairOf(r, width, height, 0.02);
  for (let i = 0; i < field.length; i++) {
    for (let c = 0; c < 3; c++)
      pair.after.linear[i * 3 + c] = TURF[c]! * Math.exp(0.6 * field[i]! * (c === 0 ? 1.3 : 1));
  }
  return pair;
}

test('the systematic part widens the interval in quadrature', () => {
  const [plot, check] = [pairOf(random('p'), 40, 80, 0.025), pairOf(random('q'), 40, 80, 0.025)];
  const half = (sd: number): number => {
    const { ci95 } = changeAgainstCheck(plot, check, IDENTITY, IDENTITY, sd, 's')!;
    return (ci95![1] - ci95![0]) / 2;
  };
  expect(half(CHANGE.systematicSd)).toBeCloseTo(Math.hypot(half(0), 1.96 * CHANGE.systematicSd), 8);
});
