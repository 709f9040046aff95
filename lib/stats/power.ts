import { expectInRange, expectPositive, expectWhole } from '@/lib/expect';
import { fQuantile, noncentralFCdf } from '@/lib/stats/f-distribution';
import { rootOfIncreasing } from '@/lib/stats/quadrature';
import { noncentralTCdf, tQuantile } from '@/lib/stats/student-t';

/** Power, 0 to 1, of a two-sided t test with the given noncentrality and degrees of freedom. */
function tPower(noncentrality: number, df: number, alpha: number): number {
  const critical = tQuantile(1 - alpha / 2, df);
  return 1 - noncentralTCdf(critical, df, noncentrality) + noncentralTCdf(-critical, df, noncentrality);
}

/**
 * Power, 0 to 1, of a two-sample t test: true difference and standard deviation in the same unit, n in each group
 * (2 or more; a fraction is allowed for solving).
 * @example powerTwoSample({ difference: 1, sd: 1, nPerGroup: 20 }) // 0.8690
 */
export function powerTwoSample({ difference, sd, nPerGroup, alpha = 0.05 }: { difference: number; sd: number; nPerGroup: number; alpha?: number }): number {
  expectPositive('sd', sd, '');
  expectInRange('nPerGroup', nPerGroup, 2, 1e7, 'plots');
  return tPower((Math.abs(difference) / sd) * Math.sqrt(nPerGroup / 2), 2 * nPerGroup - 2, alpha);
}

/** Power, 0 to 1, of a paired t test: `sdOfDifferences` is the standard deviation of the within-pair differences. Also the one-sample test. */
export function powerPaired({ difference, sdOfDifferences, pairs, alpha = 0.05 }: { difference: number; sdOfDifferences: number; pairs: number; alpha?: number }): number {
  expectPositive('sdOfDifferences', sdOfDifferences, '');
  expectInRange('pairs', pairs, 2, 1e7, 'pairs');
  return tPower((Math.abs(difference) / sdOfDifferences) * Math.sqrt(pairs), pairs - 1, alpha);
}

/**
 * Power, 0 to 1, of the F test in a one-way layout ('one-way': error df k(n − 1)) or in randomised complete blocks
 * ('blocks': error df (k − 1)(n − 1)); `spread` is Σ(τ_i − τ̄)² of the true treatment means, in units of sd².
 */
export function powerFTest({ spread, sd, treatments, replicates, layout, alpha = 0.05 }: { spread: number; sd: number; treatments: number; replicates: number; layout: 'one-way' | 'blocks'; alpha?: number }): number {
  expectPositive('sd', sd, '');
  expectWhole('treatments', treatments, 2, 1000);
  expectInRange('replicates', replicates, 2, 1e7, 'replicates');
  const df1 = treatments - 1;
  const df2 = layout === 'one-way' ? treatments * (replicates - 1) : df1 * (replicates - 1);
  return 1 - noncentralFCdf(fQuantile(1 - alpha, df1, df2), df1, df2, (replicates * spread) / sd ** 2);
}

/**
 * Spread Σ(τ_i − τ̄)² when the largest difference between two treatments is `difference` and all others lie in the middle:
 * the least favourable case.
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

/**
 * Difference of one treatment from the check that a trial of `treatments` × `blocks` can see with `power`, by the
 * two-sided t test with the error df of the randomised blocks (k − 1)(b − 1); `sd` is the plot-to-plot standard
 * deviation within blocks. In the unit of sd.
 */
export function detectableDifference({ sd, treatments, blocks, power = 0.8, alpha = 0.05 }: { sd: number; treatments: number; blocks: number; power?: number; alpha?: number }): number {
  expectPositive('sd', sd, '');
  expectWhole('treatments', treatments, 2, 1000);
  expectWhole('blocks', blocks, 2, 1000);
  const df = (treatments - 1) * (blocks - 1);
  const noncentrality = rootOfIncreasing((delta) => tPower(delta, df, alpha) - power, 0, 40, 1e-8);
  return noncentrality * sd * Math.sqrt(2 / blocks);
}
