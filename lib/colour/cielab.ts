import { linearRgbToXyz } from './linear-rgb';
import { D50, D65, type Xyz } from './white-points';

/** CIE 1976 L*a*b*: L 0 (black) .. 100 (white), a and b about -128 .. 128; the white point is in the tag. */
export interface Lab<White extends 'd50' | 'd65' = 'd50' | 'd65'> {
  readonly space: `lab-${White}`;
  readonly L: number;
  readonly a: number;
  readonly b: number;
}

/** (6/29)^3 and (29/3)^3, exact: CIE 015:2018, 8.2.1.1. */
const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

function f(t: number): number {
  return t > EPSILON ? Math.cbrt(t) : (KAPPA * t + 16) / 116;
}

function fInverse(u: number): number {
  const cube = u ** 3;
  return cube > EPSILON ? cube : (116 * u - 16) / KAPPA;
}

/** Tristimulus values (white Y = 1) of an L*a*b* colour, relative to that colour's own white. */
export function labToXyz(lab: Lab): Xyz {
  const n = lab.space === 'lab-d50' ? D50 : D65;
  const fy = (lab.L + 16) / 116;
  return { X: n.X * fInverse(fy + lab.a / 500), Y: n.Y * fInverse(fy), Z: n.Z * fInverse(fy - lab.b / 200) };
}

/** L*a*b* (D65) of linear sRGB light, each 0..1. */
export function linearRgbToLab(r: number, g: number, b: number): Lab<'d65'> {
  const { X, Y, Z } = linearRgbToXyz(r, g, b);
  const [fx, fy, fz] = [f(X / D65.X), f(Y / D65.Y), f(Z / D65.Z)];
  return { space: 'lab-d65', L: 116 * fy - 16, a: 500 * (fx - fy), b: 200 * (fy - fz) };
}
