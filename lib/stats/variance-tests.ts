import { mean, variance } from '@/lib/stats/describe';
import { tTwoSidedP } from '@/lib/stats/student-t';

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
