import jStat from 'jstat';
import { expectInRange, expectNotNegative, expectPositive } from '@/lib/expect';

/**
 * Probability, 0 to 1, of an F value above `f` with `df1` and `df2` degrees of freedom (the p-value of an F test).
 * @see Abramowitz & Stegun 1964, 26.6.2
 */
export function fUpperP(f: number, df1: number, df2: number): number {
  expectPositive('df1', df1, '');
  expectPositive('df2', df2, '');
  if (f <= 0) return 1;
  if (f === Infinity) return 0;
  return jStat.ibeta(df2 / (df2 + df1 * f), df2 / 2, df1 / 2);
}

/**
 * The F below which a share `probability` (0 to below 1) of the distribution with `df1`, `df2` degrees of freedom lies.
 */
export function fQuantile(probability: number, df1: number, df2: number): number {
  expectInRange('probability', probability, 0, 1 - Number.EPSILON / 2, '');
  if (probability === 0) return 0;
  const tail = 1 - probability;
  let low = 0;
  let high = 1;
  while (fUpperP(high, df1, df2) > tail) high *= 2;
  for (let step = 0; step < 200 && high - low > 1e-14 * high; step++) {
    const middle = (low + high) / 2;
    if (fUpperP(middle, df1, df2) > tail) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Probability, 0 to 1, that a non-central F value is at most `f`; `noncentrality` as in the sum of squared standardised
 * means. Poisson mixture of incomplete beta functions, summed outwards from the largest term until what is left is
 * below 1e-13.
 * @see Johnson, Kotz & Balakrishnan 1995, Continuous Univariate Distributions 2, chapter 30
 */
export function noncentralFCdf(f: number, df1: number, df2: number, noncentrality: number): number {
  expectNotNegative('noncentrality', noncentrality, '');
  if (f <= 0) return 0;
  if (noncentrality === 0) return 1 - fUpperP(f, df1, df2);
  const half = noncentrality / 2;
  const x = (df1 * f) / (df1 * f + df2);
  const term = (j: number): number => {
    const weight = Math.exp(j * Math.log(half) - half - jStat.gammaln(j + 1));
    return weight * jStat.ibeta(x, df1 / 2 + j, df2 / 2);
  };
  const centre = Math.floor(half);
  const reach = Math.ceil(10 * Math.sqrt(half + 1)) + 20;
  let sum = 0;
  for (let j = Math.max(0, centre - reach); j <= centre + reach; j++) sum += term(j);
  return Math.min(1, sum);
}
