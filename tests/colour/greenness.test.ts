import fc from 'fast-check';
import { hsv } from 'culori';
import { describe, expect, test } from 'vitest';
import { darkGreenColourIndex, excessGreen, gli, ngrdi, rgbToHsb, vari } from '@/lib/colour/greenness';
import { greennessColour } from '@/lib/colour/greenness-scale';
import { labOfCode } from '../support/lab-of-code';
import { expectClose } from '../support/close';

const dgciOf = (r: number, g: number, b: number) => darkGreenColourIndex(rgbToHsb(r, g, b));

describe('hue, saturation and brightness', () => {
  test('agree with culori 4.0.2 for any colour', () => {
    const code = fc.integer({ min: 0, max: 255 });
    fc.assert(
      fc.property(code, code, code, (r, g, b) => {
        const ours = rgbToHsb(r, g, b);
        const theirs = hsv({ mode: 'rgb', r: r / 255, g: g / 255, b: b / 255 });
        expect(ours.hue === null).toBe(theirs.h === undefined);
        expectClose('hue', ours.hue ?? 0, theirs.h ?? 0, 1e-9);
        expectClose('saturation', ours.saturation, theirs.s, 1e-12);
        expectClose('brightness', ours.brightness, theirs.v, 1e-12);
      }),
    );
  });

  test('grey has no hue, and so no index', () => {
    for (const code of [0, 128, 255]) {
      expect(rgbToHsb(code, code, code).hue).toBeNull();
      expect(dgciOf(code, code, code)).toBeNull();
    }
  });
});

describe('DGCI', () => {
  // Worked from the formula of Karcher & Richardson 2003 in R 4.2.2, five figures.
  test.each([
    [0, 128, 0, 0.49935],
    [0, 255, 0, 0.33333],
    [255, 255, 0, 0],
    [60, 100, 40, 0.55817],
    [40, 90, 50, 0.76383],
    [120, 140, 60, 0.37652],
    [200, 190, 120, 0.23023],
    [34, 139, 34, 0.5665],
  ])('of (%i, %i, %i) is %f', (r, g, b, wanted) => expectClose('DGCI', dgciOf(r, g, b)?.dgci, wanted, 1e-5));

  test('the published mean of two pixels is the index of their mean HSB, not of their mean RGB', () => {
    // (60,100,40) and (200,190,120): 0.3942 by mean HSB, 0.4046 by mean RGB (worked in R 4.2.2).
    const [one, two] = [rgbToHsb(60, 100, 40), rgbToHsb(200, 190, 120)];
    const mean = darkGreenColourIndex({
      hue: ((one.hue as number) + (two.hue as number)) / 2,
      saturation: (one.saturation + two.saturation) / 2,
      brightness: (one.brightness + two.brightness) / 2,
    });
    expectClose('mean HSB', mean?.dgci, 0.3942, 5.1e-5);
    expectClose('mean RGB', dgciOf(130, 145, 80)?.dgci, 0.4046, 5.1e-5);
  });

  test('is marked extrapolated, and not clamped, where its hue term leaves 0..1', () => {
    expect(dgciOf(40, 90, 50)?.extrapolated).toBe(true); // hue 132
    expect(dgciOf(200, 190, 120)?.extrapolated).toBe(true); // hue 52.5
    expect(dgciOf(60, 100, 40)?.extrapolated).toBe(false); // hue 100
    expect(dgciOf(175, 54, 60)?.dgci).toBeGreaterThan(1); // a red patch, 1.86
  });

  test('rises as the same green gets darker', () => {
    fc.assert(
      fc.property(fc.integer({ min: 10, max: 250 }), fc.integer({ min: 1, max: 9 }), (g, less) => {
        expect(dgciOf(0, g - less, 0)?.dgci).toBeGreaterThan(dgciOf(0, g, 0)?.dgci as number);
      }),
    );
  });
});

describe('indices of R, G, B', () => {
  // Worked from the formulas in R 4.2.2, five figures: NGRDI, GLI, ExG, VARI.
  test.each([
    [60, 100, 40, 0.25, 0.33333, 0.5, 0.33333],
    [120, 140, 60, 0.07692, 0.21739, 0.3125, 0.1],
    [200, 190, 120, -0.02564, 0.08571, 0.11765, -0.03704],
    [34, 139, 34, 0.60694, 0.60694, 1.01449, 0.7554],
  ])('of (%i, %i, %i)', (r, g, b, wantedNgrdi, wantedGli, wantedExg, wantedVari) => {
    expectClose('NGRDI', ngrdi(r, g), wantedNgrdi, 5.1e-6);
    expectClose('GLI', gli(r, g, b), wantedGli, 5.1e-6);
    expectClose('ExG', excessGreen(r, g, b), wantedExg, 5.1e-6);
    expectClose('VARI', vari(r, g, b), wantedVari, 5.1e-6);
  });

  test('black has none of them', () => {
    expect([ngrdi(0, 0), gli(0, 0, 0), excessGreen(0, 0, 0), vari(0, 0, 0)]).toEqual([null, null, null, null]);
  });

  test('VARI has no value where blue weighs as much as red and green', () => expect(vari(50, 60, 110)).toBeNull());
});

describe('the map’s colours', () => {
  test('get darker from pale to dark turf, evenly enough to read in grey', () => {
    const lightness = Array.from({ length: 21 }, (_, i) => labOfCode(greennessColour(i / 20)).L);
    const steps = lightness.slice(1).map((L, i) => (lightness[i] as number) - L);
    for (const step of steps) expect(step).toBeGreaterThan(2);
    expect(Math.max(...steps) / Math.min(...steps)).toBeLessThan(2.5);
  });
});
