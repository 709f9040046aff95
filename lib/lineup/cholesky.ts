import 'server-only';

/** Numbers of a plane map that are free. */
const N = 8;

/**
 * The lower triangle of a symmetric 8 x 8 matrix (row-major) whose product with its transpose is that matrix; undefined
 * when it is not positive definite. `hold` times its largest diagonal number is added to the last two diagonal numbers
 * (the perspective part of a map), a thousandth of that to the others.
 */
export function cholesky(normal: Float64Array, hold: number): Float64Array | undefined {
  const l = new Float64Array(64);
  let largest = 0;
  for (let i = 0; i < N; i++) largest = Math.max(largest, normal[i * 9]!);
  for (let i = 0; i < N; i++) {
    for (let k = 0; k <= i; k++) {
      let sum = normal[i * 8 + k]!;
      if (i === k) sum += (i >= 6 ? hold : hold * 1e-3) * largest;
      for (let m = 0; m < k; m++) sum -= l[i * 8 + m]! * l[k * 8 + m]!;
      if (i === k) {
        if (!(sum > 0)) return undefined;
        l[i * 9] = Math.sqrt(sum);
      } else {
        l[i * 8 + k] = sum / l[k * 9]!;
      }
    }
  }
  return l;
}

/** The x for which (triangle times its transpose) x = right. */
export function backSolve(l: Float64Array, right: ArrayLike<number>): Float64Array {
  const x = new Float64Array(N);
  for (let i = 0; i < N; i++) {
    let sum = right[i]!;
    for (let m = 0; m < i; m++) sum -= l[i * 8 + m]! * x[m]!;
    x[i] = sum / l[i * 9]!;
  }
  for (let i = N - 1; i >= 0; i--) {
    let sum = x[i]!;
    for (let m = i + 1; m < N; m++) sum -= l[m * 8 + i]! * x[m]!;
    x[i] = sum / l[i * 9]!;
  }
  return x;
}
