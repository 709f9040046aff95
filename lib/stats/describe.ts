import { expectAtLeast, expectInRange } from '../expect';

/** Arithmetic mean; a second pass adds back what rounding lost in the first. @throws RangeError for an empty list */
export function mean(values: ArrayLike<number>): number {
  expectAtLeast('values', values, 1);
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] as number;
  const rough = sum / values.length;
  let rest = 0;
  for (let i = 0; i < values.length; i++) rest += (values[i] as number) - rough;
  return rough + rest / values.length;
}

/**
 * Sample variance, the sum of squared distances from the mean over n - 1 (two passes, so that a large mean costs no
 * digits).
 * @throws RangeError for fewer than two values
 */
export function variance(values: ArrayLike<number>): number {
  expectAtLeast('values', values, 2);
  const centre = mean(values);
  let squares = 0;
  let rest = 0;
  for (let i = 0; i < values.length; i++) {
    const d = (values[i] as number) - centre;
    squares += d * d;
    rest += d;
  }
  return (squares - (rest * rest) / values.length) / (values.length - 1);
}

/** Sample standard deviation (n - 1). @throws RangeError for fewer than two values */
export function standardDeviation(values: ArrayLike<number>): number {
  return Math.sqrt(variance(values));
}

/**
 * Quantile of type 7: linear between order statistics, the one of R's and numpy's default.
 * @param values in any order; not changed
 * @param probability 0..1
 * @see Hyndman & Fan 1996, Sample quantiles in statistical packages, Am Stat 50:361-365
 */
export function quantile(values: ArrayLike<number>, probability: number): number {
  expectAtLeast('values', values, 1);
  return quantileOfSorted(Float64Array.from(values).sort(), probability);
}

/** The same of values in rising order: nothing is sorted. */
export function quantileOfSorted(sorted: ArrayLike<number>, probability: number): number {
  expectAtLeast('values', sorted, 1);
  expectInRange('probability', probability, 0, 1, '');
  const position = (sorted.length - 1) * probability;
  const below = Math.floor(position);
  const low = sorted[below] as number;
  const high = sorted[Math.min(below + 1, sorted.length - 1)] as number;
  return low + (position - below) * (high - low);
}

/** The middle value: quantile 0.5. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}
