import 'server-only';

/** Gauss elimination with pivoting; the answer takes the right side's place. False when the matrix has no inverse. */
export function solveInPlace(m: Float64Array, right: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let k = i + 1; k < n; k++) if (Math.abs(m[k * n + i]!) > Math.abs(m[pivot * n + i]!)) pivot = k;
    const p = m[pivot * n + i]!;
    if (!(Math.abs(p) > 1e-300)) return false;
    if (pivot !== i) {
      for (let k = i; k < n; k++) [m[i * n + k], m[pivot * n + k]] = [m[pivot * n + k]!, m[i * n + k]!];
      [right[i], right[pivot]] = [right[pivot]!, right[i]!];
    }
    for (let k = i + 1; k < n; k++) {
      const f = m[k * n + i]! / p;
      if (f === 0) continue;
      for (let j = i; j < n; j++) m[k * n + j]! -= f * m[i * n + j]!;
      right[k]! -= f * right[i]!;
    }
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = right[i]!;
    for (let k = i + 1; k < n; k++) sum -= m[i * n + k]! * right[k]!;
    right[i] = sum / m[i * n + i]!;
  }
  return true;
}
