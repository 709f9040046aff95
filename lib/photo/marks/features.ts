import { XYZ_FROM_LINEAR_SRGB } from '@/lib/colour/linear-rgb';
import { D65 } from '@/lib/colour/white-points';
/**
 * Three numbers a cell that tell a change of the leaf from a change of the light. With L*, a*, b* (CIE 1976,
 * D65) of smoothed linear light: lightness = ln(L* + 16), redGreen = a* / (L* + 16), yellowBlue = b* / (L* + 16).
 * L* + 16 and a*, b* all go with the cube root of the light, so a shadow or a mowing stripe moves lightness and
 * leaves the other two where they were (exactly so above L* = 8).
 */
export interface ColourFeatures {
  readonly lightness: Float32Array;
  readonly redGreen: Float32Array;
  readonly yellowBlue: Float32Array;
}

/** The same three numbers for one colour: [lightness, redGreen, yellowBlue]. */
export type Feature = readonly [lightness: number, redGreen: number, yellowBlue: number];

const [XR, XG, XB, YR, YG, YB, ZR, ZG, ZB] = XYZ_FROM_LINEAR_SRGB;
const DELTA3 = (6 / 29) ** 3;
const cubeRoot = (t: number): number => (t > DELTA3 ? Math.cbrt(t) : (t * (29 / 6) ** 2) / 3 + 4 / 29);

/** Features of one linear sRGB colour (0..1; below 0 counts as 0). With L* + 16 = 116 f(Y), no clipping is needed. */
export function featureOf(r: number, g: number, b: number): Feature {
  const [red, green, blue] = [Math.max(0, r), Math.max(0, g), Math.max(0, b)];
  const fx = cubeRoot((XR * red + XG * green + XB * blue) / D65.X);
  const fy = cubeRoot(YR * red + YG * green + YB * blue);
  const fz = cubeRoot((ZR * red + ZG * green + ZB * blue) / D65.Z);
  return [Math.log(116 * fy), (500 * (fx - fy)) / (116 * fy), (200 * (fy - fz)) / (116 * fy)];
}
