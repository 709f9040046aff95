import { CholeskyDecomposition, type Matrix } from 'ml-matrix';

/** Cholesky factors of a matrix that is symmetric but for rounding, which the library would refuse. */
export function choleskyOf(matrix: Matrix): CholeskyDecomposition {
  const half = matrix.clone();
  for (let i = 0; i < half.rows; i++) for (let j = 0; j < i; j++) half.set(i, j, half.get(j, i));
  return new CholeskyDecomposition(half);
}
