import { describe, expect, test } from 'vitest';
import { DOUBT_OF_COPY, DOUBT_OF_LINING_UP, followTaps } from '@/lib/photo/ground/follow-taps';
import { frameRound, movedBy, turnAndSize, turnAndSizeOnto } from '@/lib/photo/ground/group-move';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { stripsFromStakes } from '@/lib/photo/ground/strips-from-stakes';
import { seededRandom } from '@/lib/stats/random';

const size = { width: 4000, height: 3000 };
const plot: Point[] = [
  [1400, 1500],
  [2500, 1450],
  [2900, 2500],
  [1100, 2600],
];
const things: Point[] = [
  [900, 1300],
  [3100, 1350],
  [3300, 2700],
  [700, 2800],
];
const off = (map: Homography, truth: Homography) =>
  Math.max(
    ...plot.map((corner) => {
      const [a, b] = [applyHomography(map, corner), applyHomography(truth, corner)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    }),
  );
const tapped = (truth: Homography, places: readonly Point[]) =>
  places.map((guess) => ({ guess, tap: applyHomography(truth, guess) }));

describe('a guess that follows taps', () => {
  test('without a tap it stands, and its doubt is the doubt it came with', () => {
    const { correction, uncertaintyPx } = followTaps([], size, DOUBT_OF_LINING_UP);
    expect(off(correction, [1, 0, 0, 0, 1, 0, 0, 0, 1])).toBeLessThan(1e-6);
    // At the photo's middle only the shift's doubt counts: 0.06 of half the diagonal, 2500 px.
    expect(uncertaintyPx([1999.5, 1499.5])).toBeCloseTo(0.06 * 2500, 6);
  });

  test('one tap shifts everything: a guess 120 px off is brought within a tap’s own error', () => {
    const shift: Homography = [1, 0, 120, 0, 1, -60, 0, 0, 1];
    expect(off(followTaps(tapped(shift, things.slice(0, 1)), size, DOUBT_OF_COPY).correction, shift)).toBeLessThan(40);
  });

  test('two taps turn and size it', () => {
    const turned = turnAndSize([2000, 1500], 1.08, 4);
    const before = off([1, 0, 0, 0, 1, 0, 0, 0, 1], turned);
    expect(before).toBeGreaterThan(100);
    expect(
      off(followTaps(tapped(turned, [things[0]!, things[2]!]), size, DOUBT_OF_COPY).correction, turned),
    ).toBeLessThan(0.25 * before); // the rest goes to shear, which is doubted too
  });

  test('four exact taps give the perspective map itself, within what the taps’ own doubt allows', () => {
    const tilted: Homography = [1.03, 0.02, 90, -0.015, 0.98, 60, 8e-6, -1.2e-5, 1];
    expect(off([1, 0, 0, 0, 1, 0, 0, 0, 1], tilted)).toBeGreaterThan(50);
    expect(off(followTaps(tapped(tilted, things), size, DOUBT_OF_COPY).correction, tilted)).toBeLessThan(4);
  });

  test('what it says of its own doubt holds: over 400 drawn cases the miss over the doubt has mean square near 2', () => {
    const random = seededRandom(7);
    let sum = 0;
    const cases = 400;
    for (let i = 0; i < cases; i++) {
      const d = DOUBT_OF_LINING_UP;
      const [tx, ty, s, r, a, b, p, q] = [
        d.shift,
        d.shift,
        d.sizeAndTurn,
        d.sizeAndTurn,
        d.shear,
        d.shear,
        d.perspective,
        d.perspective,
      ].map((sd) => sd * random.normal()) as [number, number, number, number, number, number, number, number];
      const core: Homography = [1 + s + a, b - r, tx, b + r, 1 + s - a, ty, p, q, 1];
      const truth = ([x, y]: Point): Point => {
        const [u, v] = applyHomography(core, [(x - 1999.5) / 2500, (y - 1499.5) / 2500]);
        return [u * 2500 + 1999.5, v * 2500 + 1499.5];
      };
      const seen = things.slice(0, 3).map((guess) => {
        const [x, y] = truth(guess);
        return { guess, tap: [x + 20 * random.normal(), y + 20 * random.normal()] as Point };
      });
      const { correction, uncertaintyPx } = followTaps(seen, size, d);
      const corner = plot[2]!;
      const [x, y] = applyHomography(correction, corner);
      const [u, v] = truth(corner);
      sum += ((x - u) ** 2 + (y - v) ** 2) / uncertaintyPx(corner) ** 2;
    }
    // Two axes, each at most the larger: between 1 and 2, and 2 when both are alike.
    expect(sum / cases).toBeGreaterThan(0.9);
    expect(sum / cases).toBeLessThan(2.2);
  });

  test('a tap on the wrong thing shows as a misfit', () => {
    const shift: Homography = [1, 0, 40, 0, 1, 10, 0, 0, 1];
    const seen = tapped(shift, [...things, [2000, 2900]]);
    seen[1] = { guess: seen[1]!.guess, tap: [seen[1]!.tap[0] + 400, seen[1]!.tap[1] + 250] };
    const { misfitPx } = followTaps(seen, size, DOUBT_OF_LINING_UP);
    expect(misfitPx.indexOf(Math.max(...misfitPx))).toBe(1);
    expect(misfitPx[1]!).toBeGreaterThan(60);
  });
});

describe('a group of outlines', () => {
  test('the corner that is dragged goes where it is dragged, and the one across stays', () => {
    const [farLeft, , nearRight] = frameRound(plot);
    const map = turnAndSizeOnto(farLeft!, nearRight!, [3000, 2300])!;
    const [stays, goes] = movedBy(map, [farLeft!, nearRight!]);
    expect(stays![0]).toBeCloseTo(farLeft![0], 6);
    expect(goes![0]).toBeCloseTo(3000, 6);
    expect(goes![1]).toBeCloseTo(2300, 6);
    expect(turnAndSizeOnto([1, 1], [1, 1], [2, 2])).toBeNull();
  });

  test('a quarter turn about the origin takes x to y, downwards on a photo', () => {
    const [p] = movedBy(turnAndSize([0, 0], 1, 90), [[1, 0]]);
    expect(p![0]).toBeCloseTo(0, 9);
    expect(p![1]).toBeCloseTo(1, 9);
  });
});

describe('a trial outlined by its four corner stakes', () => {
  const rectangle: Point[] = [
    [0, 6],
    [10, 6],
    [10, 0],
    [0, 0],
  ];
  const camera: Homography = [180, 60, 700, -10, -70, 2600, 0, 0.055, 1]; // metres to pixels, far side smaller
  const strips = [0, 1, 2].map((i) => ({
    plotId: `s${i}`,
    cornersM: [
      [4 * i, 6],
      [4 * i + 2, 6],
      [4 * i + 2, 0],
      [4 * i, 0],
    ] as Point[],
  }));

  test('all strips lie where the camera would have shown them', () => {
    const laid = stripsFromStakes(
      rectangle,
      rectangle.map((p) => applyHomography(camera, p)),
      strips,
    );
    if (laid.kind !== 'laid') throw new Error(laid.kind);
    for (const [i, { corners }] of laid.outlines.entries()) {
      for (const [k, corner] of corners.entries()) {
        const truth = applyHomography(camera, strips[i]!.cornersM[k]!);
        expect(Math.hypot(corner[0] - truth[0], corner[1] - truth[1])).toBeLessThan(1e-6);
      }
    }
  });

  test('taken from the far side the same stakes serve; taps the wrong way round are told apart', () => {
    const taps = rectangle.map((p) => applyHomography(camera, p));
    expect(stripsFromStakes(rectangle, [taps[2]!, taps[3]!, taps[0]!, taps[1]!], strips).kind).toBe('laid');
    expect(stripsFromStakes(rectangle, [taps[1]!, taps[0]!, taps[3]!, taps[2]!], strips).kind).toBe('mirrored');
    expect(
      stripsFromStakes(
        rectangle,
        [
          [0, 0],
          [1, 1],
          [2, 2],
          [0, 5],
        ],
        strips,
      ).kind,
    ).toBe('no-map');
  });
});
