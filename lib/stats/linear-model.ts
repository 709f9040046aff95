/**
 * Least squares with factors. Every factor gets one column a level and the surplus columns are found and set
 * aside by the QR itself, so missing plots and missing cells need no special case; what can be estimated is
 * asked of the fit (`estimate` gives null for what the data cannot tell).
 */

/** The data of a model: one entry an observation in each list. */
export interface ModelData {
  readonly response: readonly number[];
  /** Factor name → level of each observation. */
  readonly factors: Readonly<Record<string, readonly string[]>>;
  /** Covariate name → value of each observation. */
  readonly covariates?: Readonly<Record<string, readonly number[]>>;
}

/** A term is the list of the factors or covariates it crosses: ['block'], ['product', 'rate']. */
export type Term = readonly string[];

/** One column of the design matrix: its term and, for each factor of it, the level. */
export interface ModelColumn {
  readonly term: number;
  readonly levels: Readonly<Record<string, string>>;
}

/** A linear function of the coefficients: value, and its variance divided by the error variance. */
export interface Estimate {
  readonly value: number;
  readonly unscaledVariance: number;
}

/** What a fit knows. Sums of squares in response units squared. */
export interface LinearFit {
  readonly data: ModelData;
  readonly terms: readonly Term[];
  /** Levels of each factor, in order of first appearance unless `levelOrder` said otherwise. */
  readonly levels: Readonly<Record<string, readonly string[]>>;
  readonly columns: readonly ModelColumn[];
  /** The columns themselves, one entry an observation. */
  readonly design: readonly Float64Array[];
  /** Numbers of the columns that carry a coefficient, in order; the others are combinations of them. */
  readonly kept: readonly number[];
  /** Coefficient of each column; 0 for a column set aside. */
  readonly coefficients: readonly number[];
  readonly rank: number;
  readonly residualDf: number;
  readonly residualSs: number;
  /** Degrees of freedom and sequential sum of squares each term adds, in the order given. */
  readonly sequential: readonly { readonly df: number; readonly ss: number }[];
  readonly fitted: readonly number[];
  readonly residuals: readonly number[];
  /** Leverage of each observation, 0 to 1. */
  readonly leverage: readonly number[];
  /** Estimate of Σ weight × coefficient, or null when the data cannot tell it. */
  readonly estimate: (weights: readonly number[]) => Estimate | null;
  /** Covariance of two estimable functions, divided by the error variance. */
  readonly unscaledCovariance: (a: readonly number[], b: readonly number[]) => number;
}

const RANK_TOLERANCE = 1e-7;

/** Name of a term as printed: factors joined by ' × '. */
export function termName(term: Term): string {
  return term.join(' × ');
}

function factorLevels(
  data: ModelData,
  levelOrder: Readonly<Record<string, readonly string[]>>,
): Record<string, readonly string[]> {
  const result: Record<string, readonly string[]> = {};
  for (const [name, values] of Object.entries(data.factors)) {
    if (values.length !== data.response.length) {
      throw new RangeError(
        `factors.${name}: expected ${data.response.length} levels, one an observation, got ${values.length}`,
      );
    }
    const seen = new Set(values);
    const ordered = (levelOrder[name] ?? []).filter((level) => seen.has(level));
    result[name] = [...ordered, ...[...seen].filter((level) => !ordered.includes(level))];
  }
  return result;
}

/** All combinations of the levels of a term's factors, first factor slowest. */
function combinations(
  factors: readonly string[],
  levels: Readonly<Record<string, readonly string[]>>,
): Record<string, string>[] {
  let rows: Record<string, string>[] = [{}];
  for (const factor of factors)
    rows = rows.flatMap((row) => levels[factor]!.map((level) => ({ ...row, [factor]: level })));
  return rows;
}

/**
 * Fits response = intercept + terms by Householder QR. The response is centred on its first value before anything
 * is summed, so data with many constant leading digits keep theirs.
 * @throws RangeError for a response that is not finite, an unknown name, or lists of unequal length
 * @see Golub & Van Loan 2013, Matrix Computations, 5.2; rank rule as in LINPACK's limited column pivoting
 */
export function fitLinearModel(
  data: ModelData,
  terms: readonly Term[],
  levelOrder: Readonly<Record<string, readonly string[]>> = {},
): LinearFit {
  const n = data.response.length;
  if (n < 1) throw new RangeError('response: expected at least 1 value, got 0');
  const bad = data.response.find((value) => !Number.isFinite(value));
  if (bad !== undefined) throw new RangeError(`response: expected finite numbers, got ${bad}`);
  const levels = factorLevels(data, levelOrder);
  const covariates = data.covariates ?? {};

  const columns: ModelColumn[] = [{ term: -1, levels: {} }];
  const matrix: Float64Array[] = [new Float64Array(n).fill(1)];
  terms.forEach((term, t) => {
    for (const name of term) {
      if (!(name in levels) && !(name in covariates))
        throw new RangeError(`terms: expected a factor or covariate of the data, got '${name}'`);
    }
    const multiplier = new Float64Array(n).fill(1);
    for (const name of term.filter((name) => name in covariates)) {
      const values = covariates[name]!;
      if (values.length !== n) throw new RangeError(`covariates.${name}: expected ${n} values, got ${values.length}`);
      for (let i = 0; i < n; i++) multiplier[i] = multiplier[i]! * values[i]!;
    }
    const factors = term.filter((name) => name in levels);
    for (const cell of combinations(factors, levels)) {
      const column = new Float64Array(n);
      for (let i = 0; i < n; i++)
        column[i] = factors.every((f) => data.factors[f]![i] === cell[f]) ? multiplier[i]! : 0;
      columns.push({ term: t, levels: cell });
      matrix.push(column);
    }
  });
  const original = matrix.map((column) => Float64Array.from(column));
  const origin = data.response[0]!;
  const y = Float64Array.from(data.response, (value) => value - origin);

  const pivots: number[] = [];
  for (let j = 0; j < matrix.length; j++) {
    const column = matrix[j]!;
    const k = pivots.length;
    let rest = 0;
    for (let i = k; i < n; i++) rest += column[i]! * column[i]!;
    let whole = rest;
    for (let i = 0; i < k; i++) whole += column[i]! * column[i]!;
    if (k >= n || Math.sqrt(rest) <= RANK_TOLERANCE * Math.sqrt(whole)) continue;
    const alpha = column[k]! > 0 ? -Math.sqrt(rest) : Math.sqrt(rest);
    const v = column.slice(k);
    v[0] = v[0]! - alpha;
    let vv = 0;
    for (const value of v) vv += value * value;
    const reflect = (target: Float64Array): void => {
      let dot = 0;
      for (let i = 0; i < v.length; i++) dot += v[i]! * target[k + i]!;
      const factor = (2 * dot) / vv;
      for (let i = 0; i < v.length; i++) target[k + i] = target[k + i]! - factor * v[i]!;
    };
    for (let later = j + 1; later < matrix.length; later++) reflect(matrix[later]!);
    reflect(y);
    column.fill(0, k);
    column[k] = alpha;
    pivots.push(j);
  }
  const rank = pivots.length;
  const r = (row: number, pivot: number): number => matrix[pivots[pivot]!]![row]!;

  /** Solves R' z = w over the pivot columns. */
  const solveTransposed = (weights: ArrayLike<number>): Float64Array => {
    const z = new Float64Array(rank);
    for (let i = 0; i < rank; i++) {
      let rest = weights[pivots[i]!]!;
      for (let k = 0; k < i; k++) rest -= r(k, i) * z[k]!;
      z[i] = rest / r(i, i);
    }
    return z;
  };

  const coefficients = Array.from({ length: columns.length }, () => 0);
  for (let i = rank - 1; i >= 0; i--) {
    let rest = y[i]!;
    for (let k = i + 1; k < rank; k++) rest -= r(i, k) * coefficients[pivots[k]!]!;
    coefficients[pivots[i]!] = rest / r(i, i);
  }
  const fittedFromOrigin = new Float64Array(n);
  for (const j of pivots)
    for (let i = 0; i < n; i++) fittedFromOrigin[i] = fittedFromOrigin[i]! + coefficients[j]! * original[j]![i]!;
  const residuals = Array.from(fittedFromOrigin, (value, i) => data.response[i]! - origin - value);
  let residualSs = 0;
  for (let i = rank; i < n; i++) residualSs += y[i]! * y[i]!;

  const sequential = terms.map((_, t) => {
    let df = 0;
    let ss = 0;
    pivots.forEach((j, i) => {
      if (columns[j]!.term !== t) return;
      df += 1;
      ss += y[i]! * y[i]!;
    });
    return { df, ss };
  });
  const leverage = Array.from({ length: n }, (_, i) => {
    const z = solveTransposed(original.map((column) => column[i]!));
    return z.reduce((sum, value) => sum + value * value, 0);
  });
  coefficients[0] = coefficients[0]! + origin;

  const aside = columns.map((_, j) => j).filter((j) => !pivots.includes(j));
  const estimable = (weights: readonly number[], z: Float64Array): boolean => {
    const scale = Math.max(1, ...weights.map((w) => Math.abs(w)));
    return aside.every((j) => {
      // A column set aside is a combination of the pivots; its weight must be the same combination of theirs.
      let implied = 0;
      for (let k = 0; k < rank; k++) implied += matrix[j]![k]! * z[k]!;
      return Math.abs(implied - weights[j]!) <= 1e-8 * scale;
    });
  };

  return {
    data,
    terms,
    levels,
    columns,
    design: original,
    kept: pivots,
    coefficients,
    rank,
    residualDf: n - rank,
    residualSs,
    sequential,
    fitted: Array.from(fittedFromOrigin, (value) => value + origin),
    residuals,
    leverage,
    estimate: (weights) => {
      if (weights.length !== columns.length)
        throw new RangeError(`weights: expected ${columns.length}, one a column, got ${weights.length}`);
      const z = solveTransposed(weights);
      if (!estimable(weights, z)) return null;
      let value = 0;
      weights.forEach((w, j) => (value += w * coefficients[j]!));
      return { value, unscaledVariance: z.reduce((sum, part) => sum + part * part, 0) };
    },
    unscaledCovariance: (a, b) => {
      const za = solveTransposed(a);
      const zb = solveTransposed(b);
      return za.reduce((sum, part, i) => sum + part * zb[i]!, 0);
    },
  };
}

/** Error mean square of a fit (response units squared), or null without residual degrees of freedom. */
export function errorMeanSquare(fit: LinearFit): number | null {
  return fit.residualDf > 0 ? fit.residualSs / fit.residualDf : null;
}

/**
 * Weights on the columns that give the mean of the cell with the given levels, every other factor averaged with
 * equal weight over its levels, and every covariate held at its mean over the observations.
 * @see Searle, Speed & Milliken 1980, American Statistician 34:216 (population marginal means)
 */
export function marginalMeanWeights(fit: LinearFit, cell: Readonly<Record<string, string>>): number[] {
  const covariates = fit.data.covariates ?? {};
  return fit.columns.map((column) => {
    let weight = 1;
    for (const [factor, level] of Object.entries(column.levels)) {
      const wanted = cell[factor];
      weight *= wanted === undefined ? 1 / fit.levels[factor]!.length : wanted === level ? 1 : 0;
    }
    for (const name of column.term < 0 ? [] : fit.terms[column.term]!) {
      const values = covariates[name];
      if (values) weight *= values.reduce((sum, value) => sum + value, 0) / values.length;
    }
    return weight;
  });
}
