import { expectInRange, expectPositive, expectWhole } from '@/lib/expect';
import { dunnettCorrelation, dunnettQuantile } from '@/lib/stats/dunnett';
import { fQuantile, noncentralFCdf } from '@/lib/stats/f-distribution';
import { rootOfIncreasing } from '@/lib/stats/quadrature';
import { studentizedRangeQuantile } from '@/lib/stats/studentized-range';
import { noncentralTCdf, tQuantile } from '@/lib/stats/student-t';

/** Probability, 0 to 1, that |t| lies beyond `critical`. */
function powerBeyond(noncentrality: number, df: number, critical: number): number {
  return 1 - noncentralTCdf(critical, df, noncentrality) + noncentralTCdf(-critical, df, noncentrality);
}

/** Power, 0 to 1, of a two-sided t test with the given noncentrality and degrees of freedom. */
function tPower(noncentrality: number, df: number, alpha: number): number {
  return powerBeyond(noncentrality, df, tQuantile(1 - alpha / 2, df));
}

/**
 * Power, 0 to 1, of a two-sample t test: true difference and standard deviation in the same unit, n in each group
 * (2 or more; a fraction is allowed for solving).
 * @example powerTwoSample({ difference: 1, sd: 1, nPerGroup: 20 }) // 0.8690
 */
export function powerTwoSample({
  difference,
  sd,
  nPerGroup,
  alpha = 0.05,
}: {
  difference: number;
  sd: number;
  nPerGroup: number;
  alpha?: number;
}): number {
  expectPositive('sd', sd, '');
  expectInRange('nPerGroup', nPerGroup, 2, 1e7, 'plots');
  return tPower((Math.abs(difference) / sd) * Math.sqrt(nPerGroup / 2), 2 * nPerGroup - 2, alpha);
}

/**
 * Power, 0 to 1, of a paired t test: `sdOfDifferences` is the standard deviation of the within-pair differences. Also
 * the one-sample test.
 */
export function powerPaired({
  difference,
  sdOfDifferences,
  pairs,
  alpha = 0.05,
}: {
  difference: number;
  sdOfDifferences: number;
  pairs: number;
  alpha?: number;
}): number {
  expectPositive('sdOfDifferences', sdOfDifferences, '');
  expectInRange('pairs', pairs, 2, 1e7, 'pairs');
  return tPower((Math.abs(difference) / sdOfDifferences) * Math.sqrt(pairs), pairs - 1, alpha);
}

/**
 * Power, 0 to 1, of the F test in a one-way layout ('one-way': error df k(n − 1)) or in randomised complete blocks
 * ('blocks': error df (k − 1)(n − 1)); `spread` is Σ(τ_i − τ̄)² of the true treatment means, in units of sd².
 */
export function powerFTest({
  spread,
  sd,
  treatments,
  replicates,
  layout,
  alpha = 0.05,
}: {
  spread: number;
  sd: number;
  treatments: number;
  replicates: number;
  layout: 'one-way' | 'blocks';
  alpha?: number;
}): number {
  expectPositive('sd', sd, '');
  expectWhole('treatments', treatments, 2, 1000);
  expectInRange('replicates', replicates, 2, 1e7, 'replicates');
  const df1 = treatments - 1;
  const df2 = layout === 'one-way' ? treatments * (replicates - 1) : df1 * (replicates - 1);
  return 1 - noncentralFCdf(fQuantile(1 - alpha, df1, df2), df1, df2, (replicates * spread) / sd ** 2);
}

/**
 * Spread Σ(τ_i − τ̄)² when the largest difference between two treatments is `difference` and all others lie in the
 * middle: the least favourable case.
 */
export function leastFavourableSpread(difference: number): number {
  return difference ** 2 / 2;
}

/**
 * Smallest number of replicates (2 to 1000) whose power reaches `power`, or null when 1000 do not.
 * `powerAt` is one of the functions above with all else fixed.
 */
export function replicatesNeeded(powerAt: (replicates: number) => number, power = 0.8): number | null {
  expectInRange('power', power, 0.01, 0.9999, '');
  for (let n = 2; n <= 1000; n++) if (powerAt(n) >= power) return n;
  return null;
}

/** The number of replicates as a fraction of at least 2 (textbooks print it so), or null above 1000. */
export function replicatesExact(powerAt: (replicates: number) => number, power = 0.8): number | null {
  return powerAt(1000) < power ? null : rootOfIncreasing((n) => powerAt(n) - power, 2, 1000, 1e-8);
}

/** How the differences will be judged: against the check by Dunnett, or all pairs by Tukey. */
export type ComparisonSet = 'against the check' | 'all pairs';

/** The size |t| must reach for a difference to be called one, among `treatments` with equally many plots. */
export function criticalT(verdict: ComparisonSet, treatments: number, df: number, alpha = 0.05): number {
  if (treatments === 2) return tQuantile(1 - alpha / 2, df);
  if (verdict === 'all pairs') return studentizedRangeQuantile(1 - alpha, treatments, df) / Math.SQRT2;
  return dunnettQuantile(
    1 - alpha,
    dunnettCorrelation(
      1,
      Array.from({ length: treatments - 1 }, () => 1),
    ),
    df,
    'two',
  );
}

/**
 * Power, 0 to 1, to call one true difference between two means a difference, judged among `treatments` as the report
 * does. `standardError` is that of the difference (unit of the difference), `df` its degrees of freedom.
 */
export function powerOfDifference({
  difference,
  standardError,
  df,
  treatments,
  verdict,
  alpha = 0.05,
}: {
  difference: number;
  standardError: number;
  df: number;
  treatments: number;
  verdict: ComparisonSet;
  alpha?: number;
}): number {
  expectPositive('standardError', standardError, '');
  return powerBeyond(Math.abs(difference) / standardError, df, criticalT(verdict, treatments, df, alpha));
}

/**
 * The true difference between two means that is called a difference with `power`, judged among `treatments` as the
 * report does. In the unit of `standardError`, which is that of the difference.
 */
export function detectableDifference({
  standardError,
  df,
  treatments,
  verdict,
  power = 0.8,
  alpha = 0.05,
}: {
  standardError: number;
  df: number;
  treatments: number;
  verdict: ComparisonSet;
  power?: number;
  alpha?: number;
}): number {
  expectPositive('standardError', standardError, '');
  expectWhole('treatments', treatments, 2, 1000);
  expectInRange('df', df, 1, 1e9, '');
  const critical = criticalT(verdict, treatments, df, alpha);
  return standardError * rootOfIncreasing((delta) => powerBeyond(delta, df, critical) - power, 0, 40, 1e-8);
}
