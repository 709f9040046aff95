import { expectInRange, expectPositive, expectWhole } from '@/lib/expect';
import { dunnettCorrelation, dunnettQuantile } from '@/lib/stats/dunnett';
import { rootOfIncreasing } from '@/lib/stats/quadrature';
import { studentizedRangeQuantile } from '@/lib/stats/studentized-range';
import { noncentralTCdf, tQuantile } from '@/lib/stats/student-t';

/** Probability, 0 to 1, that |t| lies beyond `critical`. */
function powerBeyond(noncentrality: number, df: number, critical: number): number {
  return 1 - noncentralTCdf(critical, df, noncentrality) + noncentralTCdf(-critical, df, noncentrality);
}

/** How the differences will be judged: against the check by Dunnett, or all pairs by Tukey. */
export type ComparisonSet = 'against the check' | 'all pairs';

/** The size |t| must reach for a difference to be called one, among `treatments` with equally many plots. */
function criticalT(verdict: ComparisonSet, treatments: number, df: number, alpha = 0.05): number {
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
