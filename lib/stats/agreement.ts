import { mean, standardDeviation } from '@/lib/stats/describe';
import { normalQuantile } from '@/lib/stats/normal';

function checkPairs(x: readonly number[], y: readonly number[], least: number): void {
  if (x.length !== y.length) throw new RangeError(`y: expected ${x.length} values, one for each x, got ${y.length}`);
  if (x.length < least) throw new RangeError(`x: expected at least ${least} pairs, got ${x.length}`);
}

/**
 * Lin's concordance correlation, -1 to 1: how closely pairs lie on the line of equality, with a 95% interval by the z
 * transform (null for fewer than 4 pairs or a coefficient of exactly ±1). Null when neither list varies and they agree
 * in mean. Variances with n, as Lin has them.
 * @see Lin 1989, Biometrics 45:255; correction Lin 2000, Biometrics 56:324
 */
export function linConcordance(
  x: readonly number[],
  y: readonly number[],
): {
  readonly ccc: number;
  readonly pearson: number | null;
  readonly interval: readonly [number, number] | null;
} | null {
  checkPairs(x, y, 2);
  const n = x.length;
  const [mx, my] = [mean(x), mean(y)];
  const sxx = mean(x.map((value) => (value - mx) ** 2));
  const syy = mean(y.map((value) => (value - my) ** 2));
  const sxy = mean(x.map((value, i) => (value - mx) * (y[i]! - my)));
  const bottom = sxx + syy + (mx - my) ** 2;
  if (bottom === 0) return null;
  const ccc = (2 * sxy) / bottom;
  const r = sxx > 0 && syy > 0 ? sxy / Math.sqrt(sxx * syy) : null;
  let interval: readonly [number, number] | null = null;
  if (r !== null && r !== 0 && n >= 4 && Math.abs(ccc) < 1 && Math.abs(r) < 1) {
    const u2 = (mx - my) ** 2 / Math.sqrt(sxx * syy);
    const c2 = ccc ** 2;
    const varianceZ =
      (((1 - r ** 2) * c2) / ((1 - c2) * r ** 2) +
        (2 * ccc ** 3 * (1 - ccc) * u2) / (r * (1 - c2) ** 2) -
        (ccc ** 4 * u2 ** 2) / (2 * r ** 2 * (1 - c2) ** 2)) /
      (n - 2);
    const z = Math.atanh(ccc);
    const reach = normalQuantile(0.975) * Math.sqrt(Math.max(0, varianceZ));
    interval = [Math.tanh(z - reach), Math.tanh(z + reach)];
  }
  return { ccc, pearson: r, interval };
}

/**
 * Bland-Altman limits of agreement of x − y: mean difference and mean ± 1.96 standard deviations, in the units of the
 * data.
 * @see Bland & Altman 1986, Lancet i:307
 */
export function blandAltman(
  x: readonly number[],
  y: readonly number[],
): { readonly bias: number; readonly sd: number; readonly low: number; readonly high: number } {
  checkPairs(x, y, 2);
  const differences = x.map((value, i) => value - y[i]!);
  const bias = mean(differences);
  const sd = standardDeviation(differences);
  const reach = normalQuantile(0.975) * sd;
  return { bias, sd, low: bias - reach, high: bias + reach };
}

/**
 * Weighted kappa of two raters on an ordinal scale, at most 1 (0 is chance agreement); weights for disagreement grow
 * with the distance ('linear') or its square. `categories` lists the scale in order. Null when both used one same
 * category only.
 * @see Cohen 1968, Psychological Bulletin 70:213
 */
export function weightedKappa(
  first: readonly number[],
  second: readonly number[],
  categories: readonly number[],
  weights: 'linear' | 'quadratic' = 'quadratic',
): number | null {
  checkPairs(first, second, 1);
  const place = (value: number): number => {
    const at = categories.indexOf(value);
    if (at < 0) throw new RangeError(`rating: expected one of ${categories.join(', ')}, got ${value}`);
    return at;
  };
  const a = first.map(place);
  const b = second.map(place);
  const cost = (i: number, j: number): number => (weights === 'linear' ? Math.abs(i - j) : (i - j) ** 2);
  const observed = mean(a.map((i, at) => cost(i, b[at]!)));
  const expected = mean(a.map((i) => mean(b.map((j) => cost(i, j)))));
  return expected === 0 ? null : 1 - observed / expected;
}
