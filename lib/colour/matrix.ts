/** A 3 by 3 matrix, row-major. */
export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number];

export type Vector3 = readonly [number, number, number];

/** Nine numbers, row by row, as a matrix. @throws RangeError for more or fewer */
export function matrix3Of(values: readonly number[]): Matrix3 {
  if (values.length !== 9) throw new RangeError(`matrix: expected 9 numbers, got ${values.length}`);
  return [...values] as [number, number, number, number, number, number, number, number, number];
}

/** Three numbers as a vector. @throws RangeError for more or fewer */
export function vector3Of(values: readonly number[]): Vector3 {
  if (values.length !== 3) throw new RangeError(`vector: expected 3 numbers, got ${values.length}`);
  return [...values] as [number, number, number];
}

/** Matrix times column vector. */
export function times(m: Matrix3, [a, b, c]: Vector3): Vector3 {
  return [m[0] * a + m[1] * b + m[2] * c, m[3] * a + m[4] * b + m[5] * c, m[6] * a + m[7] * b + m[8] * c];
}

/** Matrix product: `right` is applied first. */
export function product(left: Matrix3, right: Matrix3): Matrix3 {
  const column = (i: 0 | 1 | 2): Vector3 => times(left, [right[i], right[(i + 3) as 3], right[(i + 6) as 6]]);
  const [a, b, c] = [column(0), column(1), column(2)];
  return [a[0], b[0], c[0], a[1], b[1], c[1], a[2], b[2], c[2]];
}

/** @throws RangeError when the matrix has no inverse */
export function inverse(m: Matrix3): Matrix3 {
  const [a, b, c, d, e, f, g, h, i] = m;
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (determinant === 0 || !Number.isFinite(determinant))
    throw new RangeError(`matrix: expected one with an inverse, got determinant ${determinant}`);
  return [
    (e * i - f * h) / determinant,
    (c * h - b * i) / determinant,
    (b * f - c * e) / determinant,
    (f * g - d * i) / determinant,
    (a * i - c * g) / determinant,
    (c * d - a * f) / determinant,
    (d * h - e * g) / determinant,
    (b * g - a * h) / determinant,
    (a * e - b * d) / determinant,
  ];
}
