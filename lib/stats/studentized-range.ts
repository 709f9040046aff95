import { expectInRange, expectWhole } from '@/lib/expect';
import { normalCdf, normalCdfFast, normalDensity } from '@/lib/stats/normal';
import { integrateOverScale, panelRule, rootOfIncreasing } from '@/lib/stats/quadrature';
import { tQuantile } from '@/lib/stats/student-t';

const Z = panelRule(-8.5, 8.5, 8);
const Z_DENSITY = Z.nodes.map((z) => normalDensity(z));
const Z_CDF = Z.nodes.map((z) => normalCdf(z));

/**
 * Probability that the range of `groups` standard normal values is at most w (Hartley 1942): k ∫ φ(z) [Φ(z) − Φ(z −
 * w)]^(k−1) dz.
 */
function rangeCdf(w: number, groups: number): number {
  if (w <= 0) return 0;
  let sum = 0;
  for (let i = 0; i < Z.nodes.length; i++) {
    if (Z_DENSITY[i]! < 1e-13) continue;
    const inside = Z_CDF[i]! - normalCdfFast(Z.nodes[i]! - w);
    sum += Z.weights[i]! * Z_DENSITY[i]! * inside ** (groups - 1);
  }
  return Math.min(1, groups * sum);
}

/** Beyond this width the range of up to 200 normal values has no probability left (below 1e-13). */
const WIDEST = 13;

/**
 * Tukey's p-value, 0 to 1: the probability that the studentized range of `groups` means (2 to 200) with `df` error
 * degrees of freedom (1 or more, Infinity allowed) lies above q. Absolute error below 1e-7.
 * @see Hartley 1942 for the range; the average over the estimated standard deviation is Gauss-Legendre here
 */
export function studentizedRangeUpperP(q: number, groups: number, df: number): number {
  expectWhole('groups', groups, 2, 200);
  if (df !== Infinity) expectInRange('df', df, 1, 1e9, '');
  if (q <= 0) return 1;
  return Math.max(
    0,
    integrateOverScale(df, (scale) => 1 - rangeCdf(q * scale, groups), WIDEST / q),
  );
}

/**
 * Probability, 0 to 1, that the studentized range is at most q.
 * @example studentizedRangeCdf(4.1987, 4, 12) // 0.95
 */
function studentizedRangeCdf(q: number, groups: number, df: number): number {
  return 1 - studentizedRangeUpperP(q, groups, df);
}

/** The studentized range not exceeded with `probability` (0 to below 1). */
export function studentizedRangeQuantile(probability: number, groups: number, df: number): number {
  expectInRange('probability', probability, 0, 1 - 1e-9, '');
  // For the usual probabilities between the value for two means and Bonferroni's for all pairs.
  const tail = (1 - probability) / 2;
  const usual = probability >= 0.5;
  const low = usual ? 0.999 * Math.SQRT2 * tQuantile(1 - tail, df) : 0;
  const high = usual ? 1.001 * Math.SQRT2 * tQuantile(1 - tail / ((groups * (groups - 1)) / 2), df) : 10;
  return rootOfIncreasing((q) => studentizedRangeCdf(q, groups, df) - probability, low, high, 1e-9);
}
