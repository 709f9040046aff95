import { expectInRange } from '@/lib/expect';
import { multivariateTCdf, type Sides } from '@/lib/stats/multivariate-t';
import { rootOfIncreasing } from '@/lib/stats/quadrature';
import { tQuantile } from '@/lib/stats/student-t';

/**
 * Correlation of the comparisons of treatment means with a control mean, from the number of plots behind each:
 * λ_i = √(n_i / (n_i + n_0)), ρ_ij = λ_i λ_j. Equal groups give 0.5.
 * @see Dunnett 1955, JASA 50:1096
 */
export function dunnettCorrelation(nControl: number, nTreatments: readonly number[]): number[][] {
  const lambda = nTreatments.map((n) => Math.sqrt(n / (n + nControl)));
  return lambda.map((a, i) => lambda.map((b, j) => (i === j ? 1 : a * b)));
}

/**
 * Dunnett's p-value, 0 to 1, of one comparison with t statistic `t` among all those in `correlation`:
 * two-sided P(max|T| ≥ |t|), one-sided (greater than the control) P(max T ≥ t).
 */
export function dunnettP(t: number, correlation: readonly (readonly number[])[], df: number, sides: Sides): number {
  const size = sides === 'two' ? Math.abs(t) : t;
  return Math.min(1, Math.max(0, 1 - multivariateTCdf(size, correlation, df, sides)));
}

/**
 * The critical value |t| (two-sided) or t (one-sided) that all comparisons stay within with `probability` (0.5 to
 * 0.9999).
 * @example dunnettQuantile(0.95, dunnettCorrelation(4, [4, 4, 4]), 9, 'two') // 2.812
 */
export function dunnettQuantile(
  probability: number,
  correlation: readonly (readonly number[])[],
  df: number,
  sides: Sides,
): number {
  expectInRange('probability', probability, 0.5, 0.9999, '');
  // Between the critical value of one comparison and Bonferroni's for all.
  const tail = (1 - probability) / (sides === 'two' ? 2 : 1);
  const [low, high] = [tQuantile(1 - tail, df), tQuantile(1 - tail / correlation.length, df)];
  return rootOfIncreasing(
    (c) => multivariateTCdf(c, correlation, df, sides) - probability,
    0.999 * low,
    1.001 * high,
    1e-7,
  );
}
