import jStat from 'jstat';
import { expectInRange, expectPositive } from '@/lib/expect';
import { normalCdf, normalQuantile } from '@/lib/stats/normal';
import { integrateOverScale } from '@/lib/stats/quadrature';

/**
 * Two-sided p-value, 0 to 1, of a t statistic with `df` degrees of freedom (above 0, Infinity for the normal).
 * By the incomplete beta function in the small tail, so a tiny p keeps about 8 digits.
 * @see Abramowitz & Stegun 1964, 26.7.1
 */
export function tTwoSidedP(t: number, df: number): number {
  const size = Math.abs(t);
  if (df === Infinity) return 2 * normalCdf(-size);
  expectPositive('df', df, '');
  if (size === Infinity) return 0;
  return jStat.ibeta(df / (df + size * size), df / 2, 0.5);
}

/** The t below which a share `probability` (above 0, below 1) of the distribution with `df` degrees of freedom lies. */
export function tQuantile(probability: number, df: number): number {
  expectInRange('probability', probability, Number.MIN_VALUE, 1 - Number.EPSILON / 2, '');
  if (df === Infinity) return normalQuantile(probability);
  expectPositive('df', df, '');
  if (probability === 0.5) return 0;
  const tail = 2 * Math.min(probability, 1 - probability);
  const x = jStat.ibetainv(tail, df / 2, 0.5);
  let t = Math.sqrt((df * (1 - x)) / x);
  // Newton on the tail: jstat's inverse stops at about 1e-8.
  const logScale = jStat.gammaln((df + 1) / 2) - jStat.gammaln(df / 2) - 0.5 * Math.log(df * Math.PI);
  for (let step = 0; step < 3; step++) {
    const density = Math.exp(logScale - ((df + 1) / 2) * Math.log1p((t * t) / df));
    if (density > 0) t += (tTwoSidedP(t, df) - tail) / (2 * density);
  }
  return probability < 0.5 ? -t : t;
}

/**
 * Probability, 0 to 1, that a non-central t value (noncentrality `delta`) is at most t:
 * the average of Φ(t s − δ) over the scale s. Absolute error below 1e-9 for |delta| up to 30.
 */
export function noncentralTCdf(t: number, df: number, delta: number): number {
  return integrateOverScale(df, (scale) => normalCdf(t * scale - delta));
}
