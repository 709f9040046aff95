import { compactLetters, type LetterOrder } from '@/lib/stats/compact-letters';
import { dunnettP, dunnettQuantile } from '@/lib/stats/dunnett';
import { errorMeanSquare, marginalMeanWeights, type LinearFit } from '@/lib/stats/linear-model';
import type { Sides } from '@/lib/stats/multivariate-t';
import { studentizedRangeQuantile, studentizedRangeUpperP } from '@/lib/stats/studentized-range';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

/**
 * Means of the levels of a factor with the covariance of their errors (response units squared) and its degrees of
 * freedom.
 */
export interface MeansTable {
  readonly levels: readonly string[];
  readonly means: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  readonly df: number;
  /** Observations behind each mean. */
  readonly n: readonly number[];
  /** Degrees of freedom of each mean and of each difference, where they are not all `df` (mixed models). */
  readonly meanDf?: readonly number[];
  readonly pairDf?: readonly (readonly number[])[];
  /** Degrees of freedom of Σ weight × mean, where they are not all `df`. */
  readonly contrastDf?: (weights: readonly number[]) => number;
}

/** Σ weight × mean with its standard error and degrees of freedom; one weight a level. */
export function contrastOf(
  table: MeansTable,
  weights: readonly number[],
): { readonly value: number; readonly standardError: number; readonly df: number } {
  if (weights.length !== table.means.length)
    throw new RangeError(`weights: expected ${table.means.length}, one a mean, got ${weights.length}`);
  let variance = 0;
  weights.forEach((a, i) => weights.forEach((b, j) => (variance += a * b * table.covariance[i]![j]!)));
  return {
    value: weights.reduce((sum, weight, i) => sum + weight * table.means[i]!, 0),
    standardError: Math.sqrt(Math.max(0, variance)),
    df: table.contrastDf?.(weights) ?? table.df,
  };
}

/** Degrees of freedom of the difference of two means of the table. */
function dfOfDifference(table: MeansTable, i: number, j: number): number {
  return table.pairDf?.[i]?.[j] ?? table.df;
}

const byDf = (work: (df: number) => number): ((df: number) => number) => {
  const known = new Map<number, number>();
  return (df) => {
    const value = known.get(df) ?? work(df);
    known.set(df, value);
    return value;
  };
};

/** Difference a − b of two means, with its test and interval. */
export interface Comparison {
  readonly a: string;
  readonly b: string;
  readonly difference: number;
  readonly standardError: number;
  readonly t: number;
  /** Adjusted as the method says, 0 to 1. */
  readonly p: number;
  readonly low: number;
  readonly high: number;
  readonly significant: boolean;
}

/**
 * Least-squares means of a factor: every other factor averaged with equal weights, so a missing plot does not
 * tilt a treatment towards the blocks it still has. Levels the data cannot tell are listed apart.
 * Null when there are no residual degrees of freedom.
 * @see Searle, Speed & Milliken 1980, American Statistician 34:216
 */
export function adjustedMeans(
  fit: LinearFit,
  factor: string,
): { readonly table: MeansTable; readonly notEstimable: readonly string[] } | null {
  const ms = errorMeanSquare(fit);
  if (ms === null) return null;
  const levels = fit.levels[factor];
  if (!levels) throw new RangeError(`factor: expected one of ${Object.keys(fit.levels).join(', ')}, got '${factor}'`);
  const told = levels.map((level) => ({ level, weights: marginalMeanWeights(fit, { [factor]: level }) }));
  const kept = told
    .map(({ level, weights }) => ({ level, weights, estimate: fit.estimate(weights) }))
    .filter(({ estimate }) => estimate !== null);
  return {
    table: {
      levels: kept.map(({ level }) => level),
      means: kept.map(({ estimate }) => estimate!.value),
      covariance: kept.map((a) => kept.map((b) => ms * fit.unscaledCovariance(a.weights, b.weights))),
      df: fit.residualDf,
      n: kept.map(({ level }) => fit.data.factors[factor]!.filter((value) => value === level).length),
    },
    notEstimable: levels.filter((level) => !kept.some((one) => one.level === level)),
  };
}

/** Standard error of the difference of two means of the table. */
export function standardErrorOfDifference(table: MeansTable, i: number, j: number): number {
  return Math.sqrt(Math.max(0, table.covariance[i]![i]! + table.covariance[j]![j]! - 2 * table.covariance[i]![j]!));
}

/** Interval of each mean at the given level (default 0.95), by t. */
export function meanIntervals(
  table: MeansTable,
  level = 0.95,
): { readonly low: number; readonly high: number; readonly standardError: number }[] {
  return table.means.map((mean, i) => {
    const t = tQuantile(1 - (1 - level) / 2, table.meanDf?.[i] ?? table.df);
    const standardError = Math.sqrt(table.covariance[i]![i]!);
    return { low: mean - t * standardError, high: mean + t * standardError, standardError };
  });
}

function allPairs(
  table: MeansTable,
  judge: (t: number, df: number) => number,
  multiplierAt: (df: number) => number,
  alpha: number,
  open: boolean,
): Comparison[] {
  const rows: Comparison[] = [];
  const multiplier = byDf(multiplierAt);
  for (let i = 0; i < table.means.length; i++) {
    for (let j = i + 1; j < table.means.length; j++) {
      const difference = table.means[i]! - table.means[j]!;
      const standardError = standardErrorOfDifference(table, i, j);
      const t = difference / standardError;
      const df = dfOfDifference(table, i, j);
      const p = judge(Math.abs(t), df);
      const reach = multiplier(df) * standardError;
      rows.push({
        a: table.levels[i]!,
        b: table.levels[j]!,
        difference,
        standardError,
        t,
        p,
        low: difference - reach,
        high: difference + reach,
        significant: open && p < alpha,
      });
    }
  }
  return rows;
}

/**
 * Fisher's protected least significant difference: plain t tests, but no pair is called different unless the
 * overall F test (`overallP`) is below alpha.
 * @see Gomez & Gomez 1984, section 5.1.1
 */
export function protectedLsd(table: MeansTable, overallP: number, alpha = 0.05): Comparison[] {
  return allPairs(table, tTwoSidedP, (df) => tQuantile(1 - alpha / 2, df), alpha, overallP < alpha);
}

/**
 * Tukey's honestly significant difference for all pairs (Tukey-Kramer where the standard errors differ: there the error
 * rate is at most alpha, proved for unequal plots, Hayter 1984; for other adjusted means conservative by simulation).
 */
export function tukeyHsd(table: MeansTable, alpha = 0.05): Comparison[] {
  const k = table.means.length;
  if (k < 2) return [];
  return allPairs(
    table,
    (t, df) => studentizedRangeUpperP(t * Math.SQRT2, k, df),
    (df) => studentizedRangeQuantile(1 - alpha, k, df) / Math.SQRT2,
    alpha,
    true,
  );
}

/** The differences from one level: which, how large, and how their errors go together. */
function differencesFrom(
  table: MeansTable,
  check: string,
): { c: number; others: number[]; errors: number[]; correlation: number[][] } {
  const c = table.levels.indexOf(check);
  if (c < 0) throw new RangeError(`check: expected one of ${table.levels.join(', ')}, got '${check}'`);
  const others = table.levels.map((_, i) => i).filter((i) => i !== c);
  const v = table.covariance;
  const errors = others.map((i) => standardErrorOfDifference(table, i, c));
  const correlation = others.map((i, a) =>
    others.map((j, b) => (a === b ? 1 : (v[i]![j]! - v[i]![c]! - v[j]![c]! + v[c]![c]!) / (errors[a]! * errors[b]!))),
  );
  return { c, others, errors, correlation };
}

/** One treatment held against the check for being alike. */
export interface Equivalence {
  readonly a: string;
  readonly b: string;
  readonly difference: number;
  /** Both ends hold together with 95% for all treatments at once, each as a one-sided bound. */
  readonly low: number;
  readonly high: number;
  /** Adjusted for all treatments; small when the difference is shown to lie within the margin. */
  readonly p: number;
  readonly alike: boolean;
}

/**
 * Two one-sided tests for every level: is its difference from the check shown to lie within ± margin? Alike exactly
 * when the interval lies within the margin.
 * @see Schuirmann 1987, J Pharmacokinet Biopharm 15:657; all at once by Dunnett 1955
 */
export function alikeTo(table: MeansTable, check: string, margin: number, alpha = 0.05): Equivalence[] {
  if (!(margin > 0)) throw new RangeError(`margin: expected a number above 0, got ${margin}`);
  const { c, others, errors, correlation } = differencesFrom(table, check);
  const multiplier = byDf((df) => dunnettQuantile(1 - alpha, correlation, df, 'one'));
  return others.map((i, at) => {
    const difference = table.means[i]! - table.means[c]!;
    const df = dfOfDifference(table, i, c);
    const p = dunnettP((margin - Math.abs(difference)) / errors[at]!, correlation, df, 'one');
    const reach = multiplier(df) * errors[at]!;
    return {
      a: table.levels[i]!,
      b: check,
      difference,
      low: difference - reach,
      high: difference + reach,
      p,
      alike: p < alpha,
    };
  });
}

/**
 * Dunnett's comparison of every level with the check, using the actual correlation of the adjusted differences.
 * One-sided asks "greater than the check" and its interval is open above.
 */
export function dunnettAgainst(table: MeansTable, check: string, sides: Sides = 'two', alpha = 0.05): Comparison[] {
  const { c, others, errors, correlation } = differencesFrom(table, check);
  if (others.length === 0) return [];
  const multiplier = byDf((df) => dunnettQuantile(1 - alpha, correlation, df, sides));
  return others.map((i, a) => {
    const difference = table.means[i]! - table.means[c]!;
    const standardError = errors[a]!;
    const df = dfOfDifference(table, i, c);
    const p = dunnettP(difference / standardError, correlation, df, sides);
    const reach = multiplier(df) * standardError;
    return {
      a: table.levels[i]!,
      b: check,
      difference,
      standardError,
      t: difference / standardError,
      p,
      low: difference - reach,
      high: sides === 'two' ? difference + reach : Infinity,
      significant: p < alpha,
    };
  });
}

/** Letters for the means of the table from a set of pairwise comparisons, in the table's order. */
export function lettersFor(
  table: MeansTable,
  comparisons: readonly Comparison[],
  order: LetterOrder = 'highest-first',
): string[] {
  const different = new Set(
    comparisons
      .filter((one) => one.significant)
      .flatMap((one) => [JSON.stringify([one.a, one.b]), JSON.stringify([one.b, one.a])]),
  );
  return compactLetters(
    table.means,
    (i, j) => different.has(JSON.stringify([table.levels[i], table.levels[j]])),
    order,
  );
}
