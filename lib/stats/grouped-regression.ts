import { mean } from '@/lib/stats/describe';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { fitMixedModel, type MixedEstimate } from '@/lib/stats/mixed-model';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

/** A slope with 95% interval: response units per unit of x, rows of one group counted as going together. */
export interface GroupedSlope {
  readonly name: string;
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly df: number;
  readonly p: number;
}

/**
 * An x that is the same throughout each level of a group with too few levels to tell it from what else differs between
 * them.
 */
export interface UntoldSlope {
  readonly name: string;
  readonly value: number;
  readonly group: string;
  readonly levels: number;
}

/** A regression whose rows share groups (a spray, a plot), each with a random level of its own. */
export interface GroupedRegression {
  readonly slopes: readonly GroupedSlope[];
  readonly untold: readonly UntoldSlope[];
  /** Standard deviation of each group's level, and of what is left. */
  readonly groups: readonly { readonly name: string; readonly sd: number; readonly levels: number }[];
  readonly residualSd: number;
  /** The line at given x's with the 95% interval of its mean, undefined where a slope is untold. */
  readonly predict: (x: Readonly<Record<string, number>>) => {
    readonly value: number;
    readonly low?: number;
    readonly high?: number;
  };
}

/**
 * Slopes of y on the x's with random levels for the groups, by restricted maximum likelihood with Kenward-Roger degrees
 * of freedom: a slope that only varies between sprays then has as many degrees of freedom as sprays, not as rows. Where
 * a rate was only ever given to one plot each and there are no more plots than the line has coefficients between them,
 * it is untold: it has no interval. Groups with as many levels as rows, or one, are left out: nothing tells them from
 * the residual. Null where no group is left, no x varies or there is no fit.
 */
export function groupedRegression(
  y: readonly number[],
  xs: Readonly<Record<string, readonly number[]>>,
  groups: Readonly<Record<string, readonly string[]>>,
): GroupedRegression | null {
  const names = Object.keys(xs);
  const centre = Object.fromEntries(names.map((name) => [name, mean(xs[name]!)]));
  const scale = Object.fromEntries(
    names.map((name) => [name, Math.sqrt(mean(xs[name]!.map((value) => (value - centre[name]!) ** 2)))]),
  );
  const varying = names.filter((name) => scale[name]! > 1e-12 * Math.max(1, Math.abs(centre[name]!)));
  const used = Object.entries(groups).filter(([, levels]) => {
    const count = new Set(levels).size;
    return count > 1 && count < y.length;
  });
  if (varying.length === 0 || used.length === 0 || y.length < varying.length + 3) return null;
  const covariates = Object.fromEntries(
    varying.map((name) => [name, xs[name]!.map((value) => (value - centre[name]!) / scale[name]!)]),
  );
  const data = { response: y, factors: Object.fromEntries(used), covariates };
  const terms = varying.map((name) => [name]);
  if (fitLinearModel(data, terms).rank < varying.length + 1) return null;
  const fit = fitMixedModel(data, terms, { kind: 'levels', terms: used.map(([name]) => [name]), notBelowZero: true });
  if (fit === null) return null;
  const weightsFor = (intercept: number, x: (name: string) => number): number[] =>
    fit.fixed.columns.map((column) => (column.term < 0 ? intercept : x(fit.fixed.terms[column.term]![0]!)));
  const ownDf = y.length - varying.length - 1;
  const dfOf = (estimate: MixedEstimate): number => Math.max(1, Math.min(ownDf, estimate.df));
  const interval = (estimate: MixedEstimate): { low: number; high: number } => {
    const reach = tQuantile(0.975, dfOf(estimate)) * estimate.standardError;
    return { low: estimate.value - reach, high: estimate.value + reach };
  };
  const slopes: GroupedSlope[] = [];
  const untold: UntoldSlope[] = [];
  for (const name of varying) {
    const estimate = fit.estimate(weightsFor(0, (other) => (other === name ? 1 / scale[name]! : 0)));
    if (estimate === null) continue;
    const within = used.find(
      ([, levels]) =>
        sameWithin(xs[name]!, levels) &&
        new Set(levels).size <= 1 + varying.filter((other) => sameWithin(xs[other]!, levels)).length,
    );
    if (within) untold.push({ name, value: estimate.value, group: within[0], levels: new Set(within[1]).size });
    else
      slopes.push({
        name,
        value: estimate.value,
        ...interval(estimate),
        df: dfOf(estimate),
        p: tTwoSidedP(estimate.value / estimate.standardError, dfOf(estimate)),
      });
  }
  return {
    slopes,
    untold,
    groups: used.map(([name, levels], i) => ({
      name,
      sd: Math.sqrt(Math.max(0, fit.parameters[i + 1]!.value)),
      levels: new Set(levels).size,
    })),
    residualSd: Math.sqrt(fit.parameters[0]!.value),
    predict: (x) => {
      const estimate = fit.estimate(
        weightsFor(1, (name) => {
          const given = x[name];
          if (given === undefined) throw new RangeError(`x: expected a value for '${name}', got none`);
          return (given - centre[name]!) / scale[name]!;
        }),
      );
      return { value: estimate?.value ?? 0, ...(estimate && untold.length === 0 ? interval(estimate) : {}) };
    },
  };
}

/** Has x one value throughout each level? */
function sameWithin(x: readonly number[], levels: readonly string[]): boolean {
  const first = new Map<string, number>();
  for (const [i, level] of levels.entries()) {
    const value = first.get(level);
    if (value === undefined) first.set(level, x[i]!);
    else if (value !== x[i]) return false;
  }
  return true;
}
