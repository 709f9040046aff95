import { chiSquareUpperP } from '@/lib/stats/chi-square';
import { mean, median, variance } from '@/lib/stats/describe';
import { fUpperP } from '@/lib/stats/f-distribution';
import { tTwoSidedP } from '@/lib/stats/student-t';

/**
 * Levene's test of equal spread on deviations from the group medians (Brown & Forsythe 1974).
 * Null when there is nothing to compare (fewer than two groups of two, or no spread at all).
 */
export function levene(
  groups: readonly (readonly number[])[],
): { readonly f: number; readonly df1: number; readonly df2: number; readonly p: number } | null {
  if (groups.length < 2 || groups.some((group) => group.length < 2)) return null;
  const deviations = groups.map((group) => {
    const centre = median(group);
    return group.map((value) => Math.abs(value - centre));
  });
  const n = deviations.reduce((sum, group) => sum + group.length, 0);
  const grand = mean(deviations.flat());
  const between = deviations.reduce((sum, group) => sum + group.length * (mean(group) - grand) ** 2, 0);
  const within = deviations.reduce((sum, group) => sum + (group.length - 1) * variance(group), 0);
  const df1 = groups.length - 1;
  const df2 = n - groups.length;
  if (!(within > 0)) return null;
  const f = between / df1 / (within / df2);
  return { f, df1, df2, p: fUpperP(f, df1, df2) };
}

/**
 * Bartlett's test of equal variances (sensitive to non-normal data). Null when a group has fewer than two values or no
 * spread.
 * @see Snedecor & Cochran 1989, section 13.10
 */
export function bartlett(
  groups: readonly (readonly number[])[],
): { readonly statistic: number; readonly df: number; readonly p: number } | null {
  if (groups.length < 2 || groups.some((group) => group.length < 2)) return null;
  const variances = groups.map((group) => variance(group));
  if (variances.some((value) => !(value > 0))) return null;
  const dfs = groups.map((group) => group.length - 1);
  const total = dfs.reduce((sum, df) => sum + df, 0);
  const pooled = variances.reduce((sum, value, i) => sum + dfs[i]! * value, 0) / total;
  const numerator = total * Math.log(pooled) - variances.reduce((sum, value, i) => sum + dfs[i]! * Math.log(value), 0);
  const df = groups.length - 1;
  const statistic = numerator / (1 + (dfs.reduce((sum, one) => sum + 1 / one, 0) - 1 / total) / (3 * df));
  return { statistic, df, p: chiSquareUpperP(statistic, df) };
}

/**
 * Pitman & Morgan's test that both members of a pair scatter alike: sum and difference of the pairs are uncorrelated
 * then. Null with fewer than four pairs or where nothing varies. It sees little where pairs differ much from each
 * other.
 * @see Pitman 1939, Biometrika 31:9; Morgan 1939, Biometrika 31:13
 */
export function pitmanMorgan(
  pairs: readonly (readonly [number, number])[],
): { readonly t: number; readonly df: number; readonly p: number } | null {
  const n = pairs.length;
  if (n < 4) return null;
  const sums = pairs.map(([a, b]) => a + b);
  const differences = pairs.map(([a, b]) => a - b);
  const [ms, md] = [mean(sums), mean(differences)];
  const product = sums.reduce((total, sum, i) => total + (sum - ms) * (differences[i]! - md), 0);
  const scale = Math.sqrt(variance(sums) * variance(differences)) * (n - 1);
  if (!(scale > 0)) return null;
  const r = product / scale;
  const df = n - 2;
  if (1 - r * r <= 1e-14) return { t: Infinity, df, p: 0 };
  const t = r * Math.sqrt(df / (1 - r * r));
  return { t, df, p: tTwoSidedP(t, df) };
}
