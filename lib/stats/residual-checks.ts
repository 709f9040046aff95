import { fUpperP } from '@/lib/stats/f-distribution';
import { errorMeanSquare, fitLinearModel, type LinearFit } from '@/lib/stats/linear-model';
import { tTwoSidedP } from '@/lib/stats/student-t';

/** An observation whose residual is suspiciously large. */
export interface Outlier {
  /** Position in the data. */
  readonly index: number;
  /** Residual over its standard error with the observation itself left out. */
  readonly studentized: number;
  /** Bonferroni-adjusted two-sided p, 0 to 1. */
  readonly p: number;
}

/** Externally studentized residuals; null where an observation fits itself exactly or no error is left. */
export function studentizedResiduals(fit: LinearFit): (number | null)[] {
  return fit.residuals.map((residual, i) => {
    const free = 1 - fit.leverage[i]!;
    const df = fit.residualDf - 1;
    if (free < 1e-10 || df < 1) return null;
    const left = (fit.residualSs - residual ** 2 / free) / df;
    return left > 1e-14 * fit.residualSs ? residual / Math.sqrt(left * free) : null;
  });
}

/**
 * Residual outliers at Bonferroni-adjusted level alpha: the largest-residual test of a linear model.
 * @see Cook & Weisberg 1982, Residuals and Influence in Regression, section 2.2
 */
export function residualOutliers(fit: LinearFit, alpha = 0.05): Outlier[] {
  const n = fit.residuals.length;
  return studentizedResiduals(fit)
    .map((studentized, index) => ({
      index,
      studentized,
      p: studentized === null ? 1 : Math.min(1, n * tTwoSidedP(studentized, fit.residualDf - 1)),
    }))
    .filter((one): one is Outlier => one.studentized !== null && one.p < alpha);
}

/**
 * Tukey's one degree of freedom for non-additivity: does the treatment effect grow with the block's level?
 * Tests the squared fitted values as one more column. Null without error degrees of freedom to spare, or when
 * the column adds nothing.
 * @see Tukey 1949, Biometrics 5:232
 */
export function nonAdditivity(
  fit: LinearFit,
): { readonly ss: number; readonly f: number; readonly df2: number; readonly p: number } | null {
  if (fit.residualDf < 2) return null;
  const centre = fit.fitted.reduce((sum, value) => sum + value, 0) / fit.fitted.length;
  const squared = fit.fitted.map((value) => (value - centre) ** 2);
  const wider = fitLinearModel(
    { ...fit.data, covariates: { ...fit.data.covariates, 'fitted squared': squared } },
    [...fit.terms, ['fitted squared']],
    fit.levels,
  );
  const { df, ss } = wider.sequential.at(-1)!;
  const ms = errorMeanSquare(wider);
  if (df !== 1 || ms === null || ms <= 0) return null;
  return { ss, f: ss / ms, df2: wider.residualDf, p: fUpperP(ss / ms, 1, wider.residualDf) };
}
