import { fUpperP } from '@/lib/stats/f-distribution';
import { errorMeanSquare, fitLinearModel, type LinearFit } from '@/lib/stats/linear-model';

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
