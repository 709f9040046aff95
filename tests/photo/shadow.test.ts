import { describe, expect, test } from 'vitest';
import { comparePair } from '../../lib/photo/compare-pair';
import type { GroundRaster } from '../../lib/photo/ground/rectify';
import { findShadow } from '../../lib/photo/light/shadow';
import {
  drawnLawn,
  paintMark,
  paintRectangle,
  photograph,
  random,
  rectangle,
  slowField,
  type DrawnLawn,
} from './turf-scene';

/**
 * Shade as photos of real lawns show it: 1.6 darker in ln G and only 0.05 bluer in ln(B/G), for a phone balances the
 * sky's blue away (measured on hand-held pairs, 2026-11).
 */
const SHADE = [Math.exp(-1.63), Math.exp(-1.6), Math.exp(-1.55)] as const;
type Light = (x: number, y: number) => number | readonly [number, number, number];
const inShade =
  (is: (x: number, y: number) => boolean): Light =>
  (x, y) =>
    is(x, y) ? SHADE : 1;

/** A crown's shadow: lobes with light between them. */
const crown =
  (cx: number, cy: number, size: number) =>
  (x: number, y: number): boolean =>
    [
      [0, 0, 0.5],
      [-0.5, 0.2, 0.35],
      [0.45, -0.3, 0.4],
      [0.2, 0.5, 0.3],
      [-0.3, -0.5, 0.3],
    ].some(([dx, dy, r]) => Math.hypot(x - cx - dx! * size, y - cy - dy! * size) < r! * size);
/** Flecks of sun within the shade. */
const dappled =
  (cx: number, cy: number, reach: number) =>
  (x: number, y: number): boolean =>
    Math.hypot(x - cx, y - cy) < reach &&
    Math.sin(x / 4.1) * Math.sin(y / 3.7) + 0.5 * Math.sin(x / 2.3 + y / 2.9) < 0.55;

const [WIDTH, HEIGHT] = [100, 160];
/** Two plots seen from above. */
function plots(change: (lawn: DrawnLawn, k: number) => void, light: Light = () => 1): GroundRaster[] {
  return [0, 1].map((k): GroundRaster => {
    const lawn = drawnLawn(WIDTH, HEIGHT, random(`shade-${k}`));
    change(lawn, k);
    const linear = lawn.reflectance.map((v, i) => {
      const at = Math.floor(i / 3);
      const local = light((at % WIDTH) + k * WIDTH, Math.floor(at / WIDTH));
      return v * (typeof local === 'number' ? local : local[i % 3]!);
    });
    return { width: WIDTH, height: HEIGHT, linear, seen: new Uint8Array(WIDTH * HEIGHT).fill(1) };
  });
}
const asItIs = (): void => undefined;
const share = (mask: Uint8Array): number => mask.reduce((a, b) => a + b, 0) / mask.length;

function agreement(mask: Uint8Array, k: number, is: (x: number, y: number) => boolean): number {
  let [both, either] = [0, 0];
  mask.forEach((found, i) => {
    const truth = is((i % WIDTH) + k * WIDTH, Math.floor(i / WIDTH));
    if (found && truth) both++;
    if (found || truth) either++;
  });
  return both / either;
}

describe('shade', () => {
  test('of a tree over one plot is found where it lies, though it is no bluer than the sun', () => {
    const tree = crown(45, 60, 45);
    const found = findShadow(plots(asItIs, inShade(tree)))!;
    expect(agreement(found.shade[0]!, 0, tree)).toBeGreaterThan(0.85);
    expect(share(found.shade[1]!)).toBe(0);
    expect(found.darker).toBeCloseTo(1.6, 0);
    expect(Math.abs(found.bluer - 0.05)).toBeLessThan(0.05);
    // What the shade took, a channel, is what the sun gives back.
    found.relight.forEach((gain, c) => expect(Math.abs(Math.log(gain * SHADE[c]!))).toBeLessThan(0.1));
  });

  test('dappled by flecks of sun is taken as one', () => {
    const { shade } = findShadow(plots(asItIs, inShade(dappled(60, 80, 55))))!;
    const disc = (x: number, y: number): boolean => Math.hypot(x - 60, y - 80) < 55;
    expect(agreement(shade[0]!, 0, disc)).toBeGreaterThan(0.8);
  });

  test('that is a small tongue at the border is found', () => {
    const tongue = (x: number, y: number): boolean => x < 22 - Math.abs(y - 80) / 1.5;
    const { shade } = findShadow(plots(asItIs, inShade(tongue)))!;
    expect(agreement(shade[0]!, 0, tongue)).toBeGreaterThan(0.6);
  });

  test('over a whole plot is found by the lit one beside it', () => {
    const { shade } = findShadow(
      plots(
        asItIs,
        inShade((x) => x < WIDTH),
      ),
    )!;
    expect(shade.map(share)).toEqual([1, 0]);
  });

  test('within shade is found too: a crown’s deeper shadow in a roof’s', () => {
    const roof = (x: number, y: number): boolean => y > 90;
    const { shade } = findShadow(
      plots(
        asItIs,
        (x, y) =>
          [0, 1, 2].map(
            (c) => (roof(x, y) ? SHADE[c]! ** 0.6 : 1) * (crown(50, 120, 25)(x, y) ? SHADE[c]! : 1),
          ) as unknown as readonly [number, number, number],
      ),
    )!;
    expect(agreement(shade[0]!, 0, roof)).toBeGreaterThan(0.9);
  });

  // prettier-ignore
  test.each<[string, (lawn: DrawnLawn, k: number) => void, Light]>([
    ['turf in even light', asItIs, () => 1],
    ['a dark wet patch', asItIs, (x, y) => (Math.hypot(x - 50, y - 70) < 35 ? [0.66, 0.7, 0.66] : 1)],
    ['mowing stripes', asItIs, (x) => Math.exp(0.25 * Math.sign(Math.sin(x / 10)))],
    ['light that falls off across the lawn', asItIs, (x, y) => Math.exp(-0.004 * x - 0.002 * y)],
    ['a strip sprayed dark green', (lawn, k) => k === 1 && paintRectangle(lawn, [0, 0, WIDTH, HEIGHT], [0.5, 0.6, 0.6]), () => 1],
    ['a blackened patch', (lawn) => paintMark(lawn, 'blackening', 50, 60, 24, 0.95), () => 1],
    ['a pale path across the plot', (lawn) => paintRectangle(lawn, [0, 100, WIDTH, 130], [6, 2.2, 10]), () => 1],
    ['bare soil beside the grass', (lawn) => paintRectangle(lawn, [0, 0, WIDTH, 40], [0.6, 0.25, 0.7]), () => 1],
  ])('is not seen in %s', (_, change, light) => {
    expect(findShadow(plots(change, light))).toBeNull();
  });
});

describe('a pair with a tree’s shadow over the check, in one photo only', () => {
  const treated = [0.8, 0.86, 0.92] as const;
  const slow = slowField(440, 330, random('shade-pair'));
  const lawnOf = (seed: string): DrawnLawn => drawnLawn(440, 330, random(seed), slow);
  const pair = (shaded: 'before' | 'after', is: (x: number, y: number) => boolean) => {
    const [before, after] = [lawnOf('earlier'), lawnOf('later')];
    paintRectangle(after, [230, 20, 420, 310], treated);
    const light = (when: string): Light => (when === shaded ? inShade(is) : () => 1);
    return comparePair({
      before: photograph(before, [1, 1, 1], light('before')),
      after: photograph(after, [1.1, 1.1, 1.1], light('after')),
      plots: [
        { id: 'A', check: true, cornersBefore: rectangle(30, 30, 210, 300), cornersAfter: rectangle(30, 30, 210, 300) },
        {
          id: 'B',
          check: false,
          cornersBefore: rectangle(240, 30, 410, 300),
          cornersAfter: rectangle(240, 30, 410, 300),
        },
      ],
    });
  };
  const lit = pair('after', () => false);

  test.each(['before', 'after'] as const)(
    '%s: carries its caution, and its interval holds what the sunlit pair says',
    (when) => {
      const result = pair(when, crown(90, 120, 75));
      const [, { change, comparedShare, refused }] = result.changes as [unknown, (typeof result.changes)[number]];
      expect(refused).toBeNull();
      expect(result.cautions.find((caution) => caution.code === 'shadow-edge')!.sentence).toContain('sunlit');
      expect(comparedShare).toBeLessThan(0.85);
      expect(result.marks).toEqual([]);
      const said = lit.changes[1]!.change!.difference;
      expect(change!.ci95![0]).toBeLessThan(said);
      expect(change!.ci95![1]).toBeGreaterThan(said);
      expect(Math.abs(change!.difference - said)).toBeLessThan(0.006);
      expect(lit.changes[1]!.comparedShare).toBe(1);
    },
  );

  test('over all of it: refused with the reason', () => {
    const result = pair('after', (x) => x < 220);
    expect(result.changes[1]).toMatchObject({ change: null, refused: expect.stringContaining('different light') });
  });
});

describe('a plot that leaves the later photo', () => {
  test('is not compared and says so; the others are compared as without it', () => {
    const lawn = drawnLawn(440, 200, random('leaving'));
    const photo = photograph(lawn, [1, 1, 1]);
    const plot = (id: string, x: number, by: number) => ({
      id,
      check: id === 'A',
      cornersBefore: rectangle(x, 20, x + 100, 180),
      cornersAfter: rectangle(x + by, 20, x + 100 + by, 180),
    });
    const three = comparePair({
      before: photo,
      after: photo,
      plots: [plot('A', 20, 0), plot('B', 150, 0), plot('C', 300, 90)],
    });
    const two = comparePair({ before: photo, after: photo, plots: [plot('A', 20, 0), plot('B', 150, 0)] });
    expect(three.changes[1]).toEqual(two.changes[1]);
    expect(three.changes[2]).toMatchObject({
      id: 'C',
      change: null,
      comparedShare: 0,
      refused: 'This plot leaves the later photo (50% of it in the picture): it is not compared.',
    });
    expect(three.cautions.map((caution) => caution.code)).toContain('leaves-photo');
  });

  test('and is the check: no plot gets a change, and the sentence names the check', () => {
    const photo = photograph(drawnLawn(300, 120, random('leaving')), [1, 1, 1]);
    const result = comparePair({
      before: photo,
      after: photo,
      plots: [
        { id: 'A', check: true, cornersBefore: rectangle(10, 10, 90, 110), cornersAfter: rectangle(-60, 10, 20, 110) },
        {
          id: 'B',
          check: false,
          cornersBefore: rectangle(110, 10, 190, 110),
          cornersAfter: rectangle(110, 10, 190, 110),
        },
      ],
    });
    expect(result.changes[1]!.refused).toMatch(/^The check leaves the later photo/);
  });
});
