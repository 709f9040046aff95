import type { LinearFit } from '@/lib/stats/linear-model';
import { seededRandom } from '@/lib/stats/random';

/** A statistic of residuals judged by what the same design gives when errors are normal and alike. */
export interface JudgedResiduals {
  /**
   * Do groups scatter unlike? Null where the design ties the groups' residuals to each other, so that none could be
   * told.
   */
  readonly spread: { readonly p: number } | null;
  /** The residual that stands out most, and how often the most outstanding one of a good trial does so as much. */
  readonly farthest: { readonly index: number; readonly p: number } | null;
}

const DRAWS = 499;
/** Below this share of the scatter a difference between groups is rounding. */
const ROUNDING = 1e-9;

/** Orthonormal columns that span the design, by Gram-Schmidt twice. */
function basisOf(fit: LinearFit): Float64Array[] {
  const basis: Float64Array[] = [];
  for (const column of fit.kept) {
    const v = Float64Array.from(fit.design[column]!);
    for (let pass = 0; pass < 2; pass++) {
      for (const b of basis) {
        let dot = 0;
        for (let i = 0; i < v.length; i++) dot += v[i]! * b[i]!;
        for (let i = 0; i < v.length; i++) v[i] = v[i]! - dot * b[i]!;
      }
    }
    const size = Math.sqrt(v.reduce((sum, value) => sum + value * value, 0));
    basis.push(v.map((value) => value / size));
  }
  return basis;
}

/**
 * Levene's F on deviations from group medians, worked out over and over for one set of groups; 0 where only rounding
 * differs.
 */
function leveneOf(groups: readonly (readonly number[])[]): (residuals: ArrayLike<number>) => number {
  const rows = groups.map((group) => Int32Array.from(group));
  const sorted = groups.map((group) => new Float64Array(group.length));
  const n = rows.reduce((sum, group) => sum + group.length, 0);
  const away = new Float64Array(n);
  const means = new Float64Array(groups.length);
  return (residuals) => {
    let at = 0;
    let total = 0;
    for (let g = 0; g < rows.length; g++) {
      const own = rows[g]!;
      const list = sorted[g]!;
      const m = own.length;
      for (let i = 0; i < m; i++) list[i] = residuals[own[i]!]!;
      list.sort();
      const centre = m % 2 === 1 ? list[(m - 1) / 2]! : (list[m / 2 - 1]! + list[m / 2]!) / 2;
      let sum = 0;
      for (let i = 0; i < m; i++) {
        const value = Math.abs(list[i]! - centre);
        away[at + i] = value;
        sum += value;
      }
      means[g] = sum / m;
      total += sum;
      at += m;
    }
    const grand = total / n;
    let between = 0;
    let within = 0;
    at = 0;
    for (let g = 0; g < rows.length; g++) {
      const m = rows[g]!.length;
      between += m * (means[g]! - grand) ** 2;
      for (let i = 0; i < m; i++) within += (away[at + i]! - means[g]!) ** 2;
      at += m;
    }
    if (between <= ROUNDING * (within + between)) return 0;
    return between / (rows.length - 1) / Math.max(within / (n - rows.length), Number.MIN_VALUE);
  };
}

/**
 * Equal spread (Levene's statistic) and the farthest residual of a linear model, each judged against 499 seeded draws
 * of the same design with normal errors of one size: p-values that hold for any layout, also where residuals are tied
 * to each other and tables of F or t are not true.
 * @param groups rows of each group, each of two rows at least for `spread`
 * @see Davison & Hinkley 1997, Bootstrap Methods, 4.2 (Monte Carlo tests)
 */
export function judgeResiduals(fit: LinearFit, groups: readonly (readonly number[])[]): JudgedResiduals {
  const n = fit.residuals.length;
  const basis = basisOf(fit);
  const free = fit.leverage.map((h) => (1 - h > 1e-9 ? 1 / (1 - h) : 0));
  const canSpread = groups.length > 1 && groups.every((group) => group.length > 1);
  const canStand = fit.residualDf > 1;
  const leveneF = leveneOf(canSpread ? groups : []);
  const farthestOf = (residuals: ArrayLike<number>): { index: number; size: number } => {
    let ss = 0;
    for (let i = 0; i < n; i++) ss += residuals[i]! ** 2;
    let index = 0;
    let size = 0;
    for (let i = 0; i < n; i++) {
      const own = (residuals[i]! ** 2 * free[i]!) / ss;
      if (own > size * (1 + 1e-12)) {
        size = own;
        index = i;
      }
    }
    return { index, size };
  };
  const seen = { spread: canSpread ? leveneF(fit.residuals) : 0, farthest: farthestOf(fit.residuals) };
  const random = seededRandom('residuals');
  const draw = new Float64Array(n);
  let wider = 0;
  let farther = 0;
  let varies = false;
  for (let run = 0; run < DRAWS; run++) {
    for (let i = 0; i < n; i++) draw[i] = random.normal();
    for (const b of basis) {
      let dot = 0;
      for (let i = 0; i < n; i++) dot += draw[i]! * b[i]!;
      for (let i = 0; i < n; i++) draw[i] = draw[i]! - dot * b[i]!;
    }
    if (canSpread) {
      const f = leveneF(draw);
      if (f > 0) varies = true;
      if (f >= seen.spread * (1 - 1e-9)) wider += 1;
    }
    if (canStand && farthestOf(draw).size >= seen.farthest.size * (1 - 1e-9)) farther += 1;
  }
  return {
    spread: canSpread && varies ? { p: (wider + 1) / (DRAWS + 1) } : null,
    farthest: canStand ? { index: seen.farthest.index, p: (farther + 1) / (DRAWS + 1) } : null,
  };
}
