import { EigenvalueDecomposition, Matrix, inverse } from 'ml-matrix';
import { mean } from '@/lib/stats/describe';
import { fUpperP } from '@/lib/stats/f-distribution';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

/** One x of a multiple regression: response units per unit of x. */
export interface Slope {
  readonly name: string;
  readonly value: number;
  readonly standardError: number;
  readonly low: number;
  readonly high: number;
  readonly t: number;
  readonly p: number;
  /**
   * Variance inflation: 1 alone, above about 5 hard to tell from the other x's. Infinity is never given: see `leftOut`.
   */
  readonly vif: number;
}

/** One observation's pull on the fit. */
export interface Influence {
  readonly fitted: number;
  readonly residual: number;
  readonly leverage: number;
  /** Null where the observation fits itself exactly. */
  readonly cooksDistance: number | null;
}

/** A multiple regression with intercept. Intervals at 95%. */
export interface Regression {
  readonly intercept: {
    readonly value: number;
    readonly standardError: number;
    readonly low: number;
    readonly high: number;
    readonly t: number;
    readonly p: number;
  };
  readonly slopes: readonly Slope[];
  /** x's that are exact combinations of others or constant, so nothing can be said of them. */
  readonly leftOut: readonly string[];
  readonly residualDf: number;
  readonly residualSd: number;
  readonly rSquared: number;
  readonly f: number;
  readonly p: number;
  readonly observations: readonly Influence[];
  /** Fitted value at the given x's with 95% intervals for the mean and for one new observation. */
  readonly predict: (x: Readonly<Record<string, number>>) => {
    readonly value: number;
    readonly meanInterval: readonly [number, number];
    readonly newInterval: readonly [number, number];
  };
}

/** A regression or the reason why there is none. */
export type RegressionResult =
  | { readonly ok: true; readonly fit: Regression }
  | { readonly ok: false; readonly reason: string };

/** Pearson correlation, -1 to 1, or null where one list does not vary. */
export function correlation(x: readonly number[], y: readonly number[]): number | null {
  if (x.length !== y.length) throw new RangeError(`y: expected ${x.length} values, got ${y.length}`);
  const [mx, my] = [mean(x), mean(y)];
  let sxy = 0;
  let sxx = 0;
  let syy = 0;
  x.forEach((value, i) => {
    sxy += (value - mx) * (y[i]! - my);
    sxx += (value - mx) ** 2;
    syy += (y[i]! - my) ** 2;
  });
  return sxx > 0 && syy > 0 ? Math.max(-1, Math.min(1, sxy / Math.sqrt(sxx * syy))) : null;
}

/**
 * Variance inflation factor of each x from the inverse of their correlation matrix; null for an x that does not vary,
 * Infinity for all where the x's are exactly dependent.
 * @see Belsley, Kuh & Welsch 1980, Regression Diagnostics, section 3.2
 */
export function varianceInflation(xs: readonly (readonly number[])[]): (number | null)[] {
  const varying = xs.map((x, i) => ({ x, i })).filter(({ x }) => x.some((value) => value !== x[0]));
  const result: (number | null)[] = xs.map(() => null);
  if (varying.length === 0) return result;
  const r = new Matrix(varying.map((a) => varying.map((b) => (a === b ? 1 : correlation(a.x, b.x)!))));
  const smallest = Math.min(...new EigenvalueDecomposition(r, { assumeSymmetric: true }).realEigenvalues);
  const inverted = smallest > 1e-10 ? inverse(r) : null;
  varying.forEach(({ i }, at) => (result[i] = inverted === null ? Infinity : inverted.get(at, at)));
  return result;
}

/** Multiple linear regression by QR on centred and scaled x's. Needs at least two observations more than x's. */
export function regress(y: readonly number[], xs: Readonly<Record<string, readonly number[]>>): RegressionResult {
  const names = Object.keys(xs);
  if (names.length === 0) return { ok: false, reason: 'no x was chosen' };
  if (y.length < names.length + 2) {
    return {
      ok: false,
      reason: `${names.length} x's need at least ${names.length + 2} observations for a slope with an interval, here are ${y.length}`,
    };
  }
  const centre = names.map((name) => mean(xs[name]!));
  const scale = names.map((name, k) => Math.sqrt(mean(xs[name]!.map((value) => (value - centre[k]!) ** 2))));
  const usable = names
    .map((name, k) => ({ name, k }))
    .filter(({ k }) => scale[k]! > 1e-12 * Math.max(1, Math.abs(centre[k]!)));
  const scaled = (value: number, k: number): number => (value - centre[k]!) / scale[k]!;
  const covariates = Object.fromEntries(
    usable.map(({ name, k }) => [name, xs[name]!.map((value) => scaled(value, k))]),
  );
  const fit = fitLinearModel(
    { response: y, factors: {}, covariates },
    usable.map(({ name }) => [name]),
  );
  const kept = usable.filter((_, t) => fit.sequential[t]!.df === 1);
  const leftOut = names.filter((name) => !kept.some((one) => one.name === name));
  if (kept.length === 0) return { ok: false, reason: `no x varies: ${names.join(', ')}` };
  if (fit.residualDf < 1) return { ok: false, reason: 'no degrees of freedom are left for the error' };

  const ms = fit.residualSs / fit.residualDf;
  const t975 = tQuantile(0.975, fit.residualDf);
  const modelSs = fit.sequential.reduce((sum, term) => sum + term.ss, 0);
  const modelDf = kept.length;
  const column = (name: string): number =>
    fit.columns.findIndex((one) => one.term >= 0 && fit.terms[one.term]![0] === name);
  const weightsFor = (intercept: number, x: (name: string, k: number) => number): number[] => {
    const weights = fit.columns.map(() => 0);
    weights[0] = intercept;
    for (const { name, k } of kept) weights[column(name)] = x(name, k);
    return weights;
  };
  /** An x set aside as a combination of others has to keep that combination; kept at its implied weight. */
  const tell = (weights: readonly number[]): { value: number; variance: number } => {
    const value = weights.reduce((sum, weight, j) => sum + weight * fit.coefficients[j]!, 0);
    return { value, variance: ms * fit.unscaledCovariance(weights, weights) };
  };
  const line = (weights: readonly number[]) => {
    const { value, variance } = tell(weights);
    const standardError = Math.sqrt(variance);
    const t = value / standardError;
    return {
      value,
      standardError,
      low: value - t975 * standardError,
      high: value + t975 * standardError,
      t,
      p: tTwoSidedP(t, fit.residualDf),
    };
  };
  const vif = varianceInflation(kept.map(({ name }) => xs[name]!));
  const slopes = kept.map(({ name, k }, at) => ({
    name,
    ...line(weightsFor(0, (other) => (other === name ? 1 / scale[k]! : 0))),
    vif: vif[at]!,
  }));
  return {
    ok: true,
    fit: {
      intercept: line(weightsFor(1, (_, k) => scaled(0, k))),
      slopes,
      leftOut,
      residualDf: fit.residualDf,
      residualSd: Math.sqrt(ms),
      rSquared: modelSs / (modelSs + fit.residualSs),
      f: modelSs / modelDf / ms,
      p: fUpperP(modelSs / modelDf / ms, modelDf, fit.residualDf),
      observations: fit.residuals.map((residual, i) => {
        const h = fit.leverage[i]!;
        return {
          fitted: fit.fitted[i]!,
          residual,
          leverage: h,
          cooksDistance: 1 - h < 1e-10 ? null : (residual ** 2 * h) / (fit.rank * ms * (1 - h) ** 2),
        };
      }),
      predict: (x) => {
        const { value, variance } = tell(
          weightsFor(1, (name, k) => {
            const given = x[name];
            if (given === undefined) throw new RangeError(`x: expected a value for '${name}', got none`);
            return scaled(given, k);
          }),
        );
        const m = t975 * Math.sqrt(variance);
        const one = t975 * Math.sqrt(variance + ms);
        return { value, meanInterval: [value - m, value + m], newInterval: [value - one, value + one] };
      },
    },
  };
}
