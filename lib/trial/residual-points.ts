import type { LinearFit } from '@/lib/stats/linear-model';
import { midRanks } from '@/lib/stats/mid-ranks';
import { normalQuantile } from '@/lib/stats/normal';

/** A residual for the pictures: against the fitted value, and against its normal score. */
export interface ResidualPoint {
  readonly plot: string;
  readonly fitted: number;
  readonly residual: number;
  readonly normalScore: number;
}

/** Residuals of a fit for the pictures. */
export function residualPoints(fit: LinearFit, usable: readonly { readonly plot: string }[]): ResidualPoint[] {
  const ranks = midRanks(fit.residuals);
  const n = usable.length;
  // Blom 1958 plotting positions.
  return usable.map((one, i) => ({
    plot: one.plot,
    fitted: fit.fitted[i]!,
    residual: fit.residuals[i]!,
    normalScore: normalQuantile((ranks[i]! - 0.375) / (n + 0.25)),
  }));
}

/** True where the residuals are nothing but rounding. */
export function doesNotScatter(fit: LinearFit): boolean {
  const centre = fit.fitted.reduce((sum, value) => sum + value, 0) / fit.fitted.length;
  const size = fit.data.response.reduce((sum, value) => sum + (value - centre) ** 2, 0) + centre ** 2;
  return fit.residualSs <= 1e-22 * size || size === 0;
}
