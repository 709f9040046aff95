/** Place of the first number of a rising list that is at least `value`; its length when none is. */
export function firstAtLeast(sorted: Float32Array | Float64Array, value: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
