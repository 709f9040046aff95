// Rank tests by permutation: every order written out by brute force in R 4.2.2 (r-rank-permutation.R), with
// friedman.test, kruskal.test and fisher.test beside them.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { latinRankTest, rankTest } from '@/lib/stats/rank-tests';

interface Case {
  treatments: number;
  labels: number[][];
  values: number[][];
  statistic: number;
  p: number;
  smallestP: number;
  reference?: number;
  byFormula?: number;
  fisherP?: number;
}
const { cases } = JSON.parse(readFileSync(new URL('r-rank-permutation.json', import.meta.url), 'utf8')) as {
  cases: Record<string, Case>;
};
const blocksOf = (one: Case) =>
  one.labels.map((labels, b) => labels.map((label, i) => ({ treatment: label - 1, value: one.values[b]![i]! })));

describe.each(Object.entries(cases))('ranks within blocks, %s', (_, one) => {
  const ranks = rankTest(blocksOf(one), one.treatments)!;
  test('has the statistic and the exact p of brute force', () => {
    expect(ranks.method).toBe('every order');
    expect(ranks.statistic).toBeCloseTo(one.statistic, 8);
    expect(ranks.p).toBeCloseTo(one.p, 10);
    expect(ranks.smallestP).toBeCloseTo(one.smallestP, 10);
    expect(ranks.statistic).toBeCloseTo(typeof one.reference === 'number' ? one.reference : one.statistic, 8);
  });
});

describe('exact ranks', () => {
  test('four pairs that all point one way: p 0.125, not the 0.046 of chi-square', () => {
    const ranks = rankTest(blocksOf(cases['pairs4']!), 2)!;
    expect(ranks.p).toBeCloseTo(0.125, 12);
    expect(ranks.smallestP).toBeCloseTo(0.125, 12);
    expect(ranks.chiSquareP).toBeCloseTo(0.0455, 4);
  });
  test("presence of a mark in blocks is Cochran's Q, in two groups Fisher's exact test", () => {
    expect(rankTest(blocksOf(cases['cochran']!), 3)!.statistic).toBeCloseTo(cases['cochran']!.byFormula!, 9);
    expect(rankTest(blocksOf(cases['fisher']!), 2)!.p).toBeCloseTo(cases['fisher']!.fisherP!, 10);
  });
  test('three treatments in four blocks of the same order: 6 of 1296 layouts agree so well, p 0.00463 (Hollander & Wolfe 1999, table A.22: 0.005 at S = 8)', () => {
    const ranks = rankTest(
      Array.from({ length: 4 }, () => [0, 1, 2].map((treatment) => ({ treatment, value: treatment }))),
      3,
    )!;
    expect(ranks.statistic).toBeCloseTo(8, 10);
    expect(ranks.p).toBeCloseTo(6 / 1296, 10);
  });
  test('draws orders where there are too many, with the same p each time, near the exact one', () => {
    const blocks = Array.from({ length: 12 }, (_, b) =>
      Array.from({ length: 8 }, (_unused, treatment) => ({
        treatment,
        value: ((treatment * 7 + b * 5) % 11) + 0.2 * treatment,
      })),
    );
    const [first, second] = [rankTest(blocks, 8)!, rankTest(blocks, 8)!];
    expect(first.method).toBe('random orders');
    expect(first.p).toBe(second.p);
    expect(Math.abs(first.p - first.chiSquareP!)).toBeLessThan(0.02);
  });
  test('a Latin square of 3 can never show a difference; one of 4 at best 1 in 24', () => {
    const square = (n: number) =>
      Array.from({ length: n }, (_, r) => Array.from({ length: n }, (_unused, c) => (r + c) % n));
    const clear = (n: number) =>
      latinRankTest(
        square(n),
        square(n).map((row, r) => row.map((treatment) => treatment * 10 + r / 10)),
      )!;
    expect(clear(3).smallestP).toBeCloseTo(0.5, 10);
    // The cyclic square of 4: 24 ways to put its rows and columns in order that mix treatments differently (brute force
    // here).
    expect(clear(4).p).toBe(clear(4).smallestP);
    expect(clear(4).p).toBeLessThan(0.06);
  });
});
