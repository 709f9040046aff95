/**
 * Solves A x = b by Gauss-Jordan elimination with row pivoting. `rows` are those of [A | b], n of n + 1 numbers; they
 * are changed. Not finite where A has no inverse.
 */
export function solveRows(rows: Float64Array[]): Float64Array {
  const n = rows.length;
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let r = i + 1; r < n; r++) if (Math.abs(rows[r]![i]!) > Math.abs(rows[pivot]![i]!)) pivot = r;
    [rows[i], rows[pivot]] = [rows[pivot]!, rows[i]!];
    for (let r = 0; r < n; r++) {
      if (r === i) continue;
      const f = rows[r]![i]! / rows[i]![i]!;
      for (let c = i; c <= n; c++) rows[r]![c]! -= f * rows[i]![c]!;
    }
  }
  return Float64Array.from(rows, (row, i) => row[n]! / row[i]!);
}

/**
 * Least squares: the x that makes `equations` (each its coefficients, then its right side) hold best, by normal
 * equations.
 */
export function leastSquares(equations: readonly (readonly number[])[]): Float64Array {
  const n = equations[0]!.length - 1;
  const normal = Array.from({ length: n }, () => new Float64Array(n + 1));
  for (const equation of equations) {
    for (let r = 0; r < n; r++) for (let c = 0; c <= n; c++) normal[r]![c]! += equation[r]! * equation[c]!;
  }
  return solveRows(normal);
}
