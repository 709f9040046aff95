import { inverse, product, times, type Matrix3 } from './matrix';
import type { Xyz } from './white-points';

/**
 * Cone-like responses of the Bradford transform.
 * @see Lam 1985, Metamerism and colour constancy (thesis, Bradford); the matrix as printed in ICC.1:2010, annex E
 */
// prettier-ignore
const BRADFORD: Matrix3 = [
  0.8951, 0.2664, -0.1614,
  -0.7502, 1.7135, 0.0367,
  0.0389, -0.0685, 1.0296,
];
const BRADFORD_INVERSE = inverse(BRADFORD);

/**
 * The matrix that takes XYZ seen under one white to the XYZ that looks the same under another (linear Bradford).
 * bradford(D50, D65) takes chart tables to sRGB's white; bradford(D65, D50) is its inverse.
 */
function bradford(from: Xyz, to: Xyz): Matrix3 {
  const [lf, mf, sf] = times(BRADFORD, [from.X, from.Y, from.Z]);
  const [lt, mt, st] = times(BRADFORD, [to.X, to.Y, to.Z]);
  return product(BRADFORD_INVERSE, product([lt / lf, 0, 0, 0, mt / mf, 0, 0, 0, st / sf], BRADFORD));
}

/** A colour's XYZ under another white. */
export function adapt({ X, Y, Z }: Xyz, from: Xyz, to: Xyz): Xyz {
  const [x, y, z] = times(bradford(from, to), [X, Y, Z]);
  return { X: x, Y: y, Z: z };
}
