import type { MeansTable } from '@/lib/stats/compare-means';
import { marginalMeanWeights } from '@/lib/stats/linear-model';
import type { MixedFit } from '@/lib/stats/mixed-model';

/** A mean to ask a mixed model for: its name and the levels that make it. */
export interface AskedMean {
  readonly name: string;
  readonly cell: Readonly<Record<string, string>>;
  readonly plots: number;
}

/** Adjusted means of a mixed model with Kenward-Roger errors; those the data cannot tell are listed apart. */
export function mixedMeans(
  fit: MixedFit,
  asked: readonly AskedMean[],
): { readonly table: MeansTable; readonly notEstimable: readonly string[] } {
  const told = asked.map((one) => {
    const weights = marginalMeanWeights(fit.fixed, one.cell);
    return { ...one, weights, estimate: fit.estimate(weights) };
  });
  const kept = told.filter((one) => one.estimate !== null);
  const combine = (weights: readonly number[]): number[] =>
    fit.fixed.columns.map((_, j) => kept.reduce((sum, one, i) => sum + weights[i]! * one.weights[j]!, 0));
  const dfOf = (weights: readonly number[]): number =>
    Math.max(1, Math.min(1e6, fit.estimate(combine(weights))?.df ?? 1));
  const unit = (i: number, j: number): number[] => kept.map((_, at) => (at === i ? 1 : at === j ? -1 : 0));
  const pairDf = kept.map((_, i) => kept.map((__, j) => (i === j ? 1 : j < i ? 0 : dfOf(unit(i, j)))));
  const all = pairDf.map((row, i) => row.map((df, j) => (j < i ? pairDf[j]![i]! : df)));
  return {
    table: {
      levels: kept.map((one) => one.name),
      means: kept.map((one) => one.estimate!.value),
      covariance: kept.map((a) => kept.map((b) => fit.covariance(a.weights, b.weights))),
      df: Math.min(...all.flatMap((row, i) => row.filter((_, j) => j !== i)), 1e6),
      n: kept.map((one) => one.plots),
      meanDf: kept.map((one) => Math.max(1, Math.min(1e6, one.estimate!.df))),
      pairDf: all,
      contrastDf: dfOf,
    },
    notEstimable: told.filter((one) => one.estimate === null).map((one) => one.name),
  };
}
