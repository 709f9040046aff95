import { inverse, product, times, type Matrix3 } from './matrix';
import { D65, type Xyz } from './white-points';

/**
 * Linear sRGB to XYZ (D65) and back. The matrix is derived from the primaries and the white of IEC 61966-2-1
 * (red 0.64 0.33, green 0.30 0.60, blue 0.15 0.06), not copied from its four printed decimals, so that
 * R = G = B is exactly neutral; each entry rounds to the printed one within 0.0001.
 */
// prettier-ignore
const PRIMARIES: Matrix3 = [
  0.64 / 0.33, 0.3 / 0.6, 0.15 / 0.06,
  1, 1, 1,
  0.03 / 0.33, 0.1 / 0.6, 0.79 / 0.06,
];

function matrixFromPrimaries(): Matrix3 {
  const [r, g, b] = times(inverse(PRIMARIES), [D65.X, D65.Y, D65.Z]);
  return product(PRIMARIES, [r, 0, 0, 0, g, 0, 0, 0, b]);
}

export const XYZ_FROM_LINEAR_SRGB: Matrix3 = matrixFromPrimaries();
const LINEAR_SRGB_FROM_XYZ: Matrix3 = inverse(XYZ_FROM_LINEAR_SRGB);

/** XYZ (D65, white Y = 1) of linear light r, g, b, each 0..1. */
export function linearRgbToXyz(r: number, g: number, b: number): Xyz {
  const [X, Y, Z] = times(XYZ_FROM_LINEAR_SRGB, [r, g, b]);
  return { X, Y, Z };
}

/** Linear light r, g, b of XYZ (D65); below 0 or above 1 where the colour lies outside sRGB: nothing is clipped. */
export function xyzToLinearRgb({ X, Y, Z }: Xyz): readonly [r: number, g: number, b: number] {
  return times(LINEAR_SRGB_FROM_XYZ, [X, Y, Z]);
}
