import fc from 'fast-check';
import { lab65 } from 'culori';
import { describe, expect, test } from 'vitest';
import { adapt } from '@/lib/colour/adaptation';
import { labToXyz, linearRgbToLab } from '@/lib/colour/cielab';
import { linearRgbToXyz, xyzToLinearRgb, XYZ_FROM_LINEAR_SRGB } from '@/lib/colour/linear-rgb';
import { LINEAR_OF_CODE, linearToSrgb, srgbToLinear } from '@/lib/colour/srgb';
import { D50, D65 } from '@/lib/colour/white-points';
import { expectClose } from '../support/close';
import { labOfCode } from '../support/lab-of-code';

const labOf = (r: number, g: number, b: number) => labOfCode([r, g, b]);

describe('sRGB transfer', () => {
  // Worked with the constants of IEC 61966-2-1 in a program of its own (numpy), seven figures.
  test.each([
    [10, 0.0030353],
    [11, 0.0033465],
    [128, 0.2158605],
    [188, 0.5028865],
  ])('code %i is linear light %f', (code, linear) => {
    expectClose('linear', srgbToLinear(code / 255), linear, 5.1e-8);
    expect(LINEAR_OF_CODE[code]).toBe(srgbToLinear(code / 255));
  });

  test('there and back is the same value', () => {
    // The standard's two thresholds, 0.04045 and 0.0031308, are rounded: across them the way back is off by up to 4e-8.
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (c) =>
        expectClose('coded', linearToSrgb(srgbToLinear(c)), c, 1e-7),
      ),
    );
  });
});

describe('linear sRGB to XYZ', () => {
  test('has the matrix that IEC 61966-2-1 prints to four decimals', () => {
    const printed = [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505];
    printed.forEach((value, i) => expectClose(`entry ${i}`, XYZ_FROM_LINEAR_SRGB[i], value, 5.1e-5));
  });

  test('takes white to D65', () => {
    const white = linearRgbToXyz(1, 1, 1);
    expectClose('X', white.X, D65.X, 1e-12);
    expectClose('Y', white.Y, 1, 1e-12);
    expectClose('Z', white.Z, D65.Z, 1e-12);
  });

  test('there and back is the same light, in and out of gamut', () => {
    const channel = fc.double({ min: -0.5, max: 1.5, noNaN: true });
    fc.assert(
      fc.property(channel, channel, channel, (r, g, b) => {
        const [r2, g2, b2] = xyzToLinearRgb(linearRgbToXyz(r, g, b));
        expectClose('r', r2, r, 1e-12);
        expectClose('g', g2, g, 1e-12);
        expectClose('b', b2, b, 1e-12);
      }),
    );
  });
});

describe('L*a*b* under D65', () => {
  // scikit-image 0.19.3 rgb2lab and a program of our own agree on these within 0.03; tolerance 0.03, since scikit-image
  // uses the four-decimal matrix and rounded white, by which a and b move up to 0.02.
  test.each([
    ['red', 255, 0, 0, 53.24, 80.09, 67.2],
    ['green', 0, 255, 0, 87.74, -86.18, 83.18],
    ['blue', 0, 0, 255, 32.3, 79.19, -107.86],
    ['grey 128', 128, 128, 128, 53.585, 0, 0],
    ['grey 119', 119, 119, 119, 50.034, 0, 0],
    ['leaf', 87, 108, 67, 42.998, -15.876, 20.45],
    ['forest', 34, 139, 34, 50.593, -49.586, 45.017],
    ['nearly black', 10, 10, 10, 2.742, 0, 0],
  ])('of %s', (_, r, g, b, L, a, bStar) => {
    const lab = labOf(r, g, b);
    expectClose('L', lab.L, L, 0.03);
    expectClose('a', lab.a, a, 0.03);
    expectClose('b', lab.b, bStar, 0.03);
  });

  test('white has L* 100 and greys have a* = b* = 0', () => {
    for (const code of [0, 1, 10, 50, 128, 200, 255]) {
      const lab = labOf(code, code, code);
      expectClose('a', lab.a, 0, 1e-11);
      expectClose('b', lab.b, 0, 1e-11);
    }
    expectClose('L of white', labOf(255, 255, 255).L, 100, 1e-11);
  });

  test('agrees with culori 4.0.2 for any sRGB colour', () => {
    const code = fc.integer({ min: 0, max: 255 });
    fc.assert(
      fc.property(code, code, code, (r, g, b) => {
        const ours = labOf(r, g, b);
        const theirs = lab65({ mode: 'rgb', r: r / 255, g: g / 255, b: b / 255 });
        // culori rounds its matrices to about seven figures.
        expectClose('L', ours.L, theirs.l, 1e-3);
        expectClose('a', ours.a, theirs.a, 1e-3);
        expectClose('b', ours.b, theirs.b, 1e-3);
      }),
    );
  });

  test('there and back is the same XYZ', () => {
    const value = fc.double({ min: 0, max: 1.2, noNaN: true });
    fc.assert(
      fc.property(value, value, value, (r, g, b) => {
        const back = labToXyz(linearRgbToLab(r, g, b));
        const { X, Y, Z } = linearRgbToXyz(r, g, b);
        expectClose('X', back.X, X, 1e-12);
        expectClose('Y', back.Y, Y, 1e-12);
        expectClose('Z', back.Z, Z, 1e-12);
      }),
    );
  });

  test('the same L*a*b* under D50 is the same share of that white', () => {
    const number = fc.double({ min: -60, max: 60, noNaN: true });
    fc.assert(
      fc.property(fc.double({ min: 0, max: 100, noNaN: true }), number, number, (L, a, b) => {
        const [under50, under65] = [labToXyz({ space: 'lab-d50', L, a, b }), labToXyz({ space: 'lab-d65', L, a, b })];
        expectClose('X', under50.X / D50.X, under65.X / D65.X, 1e-12);
        expectClose('Y', under50.Y, under65.Y, 1e-12);
        expectClose('Z', under50.Z / D50.Z, under65.Z / D65.Z, 1e-12);
      }),
    );
  });
});

describe('Bradford adaptation', () => {
  test('takes D65 to D50 by the matrix printed for sRGB profiles', () => {
    // ICC, "How to interpret the sRGB color space", and W3C CSS Color 4 (D65_to_D50), five figures; the white points
    // there are the same xy.
    const printed = [1.04793, 0.02295, -0.05019, 0.02963, 0.99043, -0.01707, -0.00924, 0.01506, 0.75187];
    // A column of the matrix is what becomes of a unit of X, Y or Z.
    const columns = [
      { X: 1, Y: 0, Z: 0 },
      { X: 0, Y: 1, Z: 0 },
      { X: 0, Y: 0, Z: 1 },
    ].map((unit) => adapt(unit, D65, D50));
    columns.forEach(({ X, Y, Z }, column) =>
      [X, Y, Z].forEach((value, row) =>
        expectClose(`row ${row}, column ${column}`, value, printed[3 * row + column] as number, 1.1e-5),
      ),
    );
  });

  test('takes one white exactly to the other', () => {
    const white = adapt(D50, D50, D65);
    expectClose('X', white.X, D65.X, 1e-12);
    expectClose('Y', white.Y, D65.Y, 1e-12);
    expectClose('Z', white.Z, D65.Z, 1e-12);
  });

  test('there and back is no change', () => {
    const colour = { X: 0.3, Y: 0.5, Z: 0.2 };
    const back = adapt(adapt(colour, D50, D65), D65, D50);
    for (const key of ['X', 'Y', 'Z'] as const) expectClose(key, back[key], colour[key], 1e-12);
  });
});
