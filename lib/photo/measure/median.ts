/**
 * The middle value (the upper one of an even number); NaN for none. Changes the order of `values`, in linear time
 * (Hoare 1961).
 */
export function medianInPlace(values: Float64Array): number {
  return selectInPlace(values, Math.floor(values.length / 2));
}

/** The middle of the values at some places. */
export function medianAt(values: ArrayLike<number>, places: ArrayLike<number>): number {
  const picked = new Float64Array(places.length);
  for (let k = 0; k < picked.length; k++) picked[k] = values[places[k]!]!;
  return medianInPlace(picked);
}

/** The value that a share 0..1 of all values lies below; NaN for none. Changes the order of `values`. */
export function quantileInPlace(values: Float64Array, share: number): number {
  return selectInPlace(values, Math.min(values.length - 1, Math.floor(share * values.length)));
}

function selectInPlace(v: Float64Array, k: number): number {
  if (v.length === 0) return NaN;
  let low = 0;
  let high = v.length - 1;
  while (low < high) {
    const pivot = v[(low + high) >> 1]!;
    let i = low;
    let j = high;
    while (i <= j) {
      while (v[i]! < pivot) i++;
      while (v[j]! > pivot) j--;
      if (i > j) break;
      const kept = v[i]!;
      v[i++] = v[j]!;
      v[j--] = kept;
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return v[k]!;
}
