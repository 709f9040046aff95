import { chiSquareUpperP } from '@/lib/stats/chi-square';

/** A rank test: the tie-corrected statistic, its degrees of freedom and the chi-square p-value (approximate for small samples). */
export interface RankTest {
  readonly statistic: number;
  readonly df: number;
  readonly p: number;
}

/** Ranks from 1, ties sharing their mean rank; and Σ(t³ − t) over the tied groups. */
export function midRanks(values: readonly number[]): { readonly ranks: number[]; readonly tieSum: number } {
  const order = values.map((_, i) => i).sort((i, j) => values[i]! - values[j]!);
  const ranks = Array.from({ length: values.length }, () => 0);
  let tieSum = 0;
  for (let start = 0; start < order.length; ) {
    let end = start;
    while (end + 1 < order.length && values[order[end + 1]!] === values[order[start]!]) end += 1;
    for (let at = start; at <= end; at++) ranks[order[at]!] = (start + end) / 2 + 1;
    const tied = end - start + 1;
    tieSum += tied ** 3 - tied;
    start = end + 1;
  }
  return { ranks, tieSum };
}

/**
 * Kruskal-Wallis test of one-way groups, corrected for ties. Null when all values are equal or fewer than two groups.
 * @see Hollander & Wolfe 1999, section 6.1
 */
export function kruskalWallis(groups: readonly (readonly number[])[]): RankTest | null {
  const filled = groups.filter((group) => group.length > 0);
  const values = filled.flat();
  const n = values.length;
  const { ranks, tieSum } = midRanks(values);
  const correction = 1 - tieSum / (n ** 3 - n);
  if (filled.length < 2 || !(correction > 0)) return null;
  let at = 0;
  let sum = 0;
  for (const group of filled) {
    const total = ranks.slice(at, at + group.length).reduce((a, b) => a + b, 0);
    sum += total ** 2 / group.length;
    at += group.length;
  }
  const statistic = ((12 / (n * (n + 1))) * sum - 3 * (n + 1)) / correction;
  return { statistic, df: filled.length - 1, p: chiSquareUpperP(statistic, filled.length - 1) };
}

/**
 * Friedman test of treatments ranked within complete blocks, corrected for ties. Rows are blocks, columns treatments;
 * a block with a missing value (null) is left out whole and counted. Null when nothing can be ranked.
 * @see Hollander & Wolfe 1999, section 7.1
 */
export function friedman(blocks: readonly (readonly (number | null)[])[]): (RankTest & { readonly blocksUsed: number; readonly blocksLeftOut: number }) | null {
  const complete = blocks.filter((row): row is readonly number[] => row.every((value) => value !== null));
  const b = complete.length;
  const k = complete[0]?.length ?? 0;
  if (b < 2 || k < 2) return null;
  const totals = Array.from({ length: k }, () => 0);
  let ties = 0;
  for (const row of complete) {
    const { ranks, tieSum } = midRanks(row);
    ties += tieSum;
    ranks.forEach((rank, j) => (totals[j] = totals[j]! + rank));
  }
  const spread = totals.reduce((sum, total) => sum + (total - (b * (k + 1)) / 2) ** 2, 0);
  const bottom = b * k * (k + 1) - ties / (k - 1);
  if (bottom <= 0) return null;
  const statistic = (12 * spread) / bottom;
  return { statistic, df: k - 1, p: chiSquareUpperP(statistic, k - 1), blocksUsed: b, blocksLeftOut: blocks.length - b };
}
