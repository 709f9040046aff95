// Distribution values from SciPy 1.17.1: stats.studentized_range.sf, nct.cdf, norm.cdf/ppf, t.sf
// (doubled)/ppf, f.sf, chi2.sf.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { chiSquareUpperP } from '@/lib/stats/chi-square';
import { fUpperP } from '@/lib/stats/f-distribution';
import { normalCdf, normalCdfFast, normalQuantile, normalQuantileFast } from '@/lib/stats/normal';
import { noncentralTCdf, tQuantile, tTwoSidedP } from '@/lib/stats/student-t';
import { studentizedRangeUpperP } from '@/lib/stats/studentized-range';

type Row = readonly number[];
const table = JSON.parse(readFileSync(new URL('scipy-distributions.json', import.meta.url), 'utf8')) as Record<
  string,
  Row[]
>;
const absolute = (name: string, of: (...x: number[]) => number): number =>
  Math.max(...table[name]!.map((row) => Math.abs(of(...row.slice(0, -1)) - row.at(-1)!)));
const relative = (name: string, of: (...x: number[]) => number): number =>
  Math.max(
    ...table[name]!.map((row) =>
      row.at(-1) === 0 ? Math.abs(of(...row.slice(0, -1))) : Math.abs(of(...row.slice(0, -1)) / row.at(-1)! - 1),
    ),
  );

describe('distributions agree with SciPy', () => {
  test('normal, both ways, tails to 12 digits', () => {
    expect(relative('normal', normalCdf)).toBeLessThan(1e-12);
    expect(relative('normalQuantile', normalQuantile)).toBeLessThan(1e-12);
  });
  test('the quick normal functions keep their stated error', () => {
    for (let z = -9; z <= 9; z += 0.00731) expect(Math.abs(normalCdfFast(z) - normalCdf(z))).toBeLessThan(1e-10);
    expect(relative('normalQuantile', normalQuantileFast)).toBeLessThan(2e-9);
  });
  test('t: p to 1e-6 of itself, quantile to 1e-7', () => {
    expect(relative('t', tTwoSidedP)).toBeLessThan(1e-6);
    expect(relative('tq', tQuantile)).toBeLessThan(1e-7);
  });
  test('F and chi-square upper tails to 1e-6 of themselves, down to 1e-60', () => {
    expect(relative('f', fUpperP)).toBeLessThan(1e-6);
    expect(relative('chi2', chiSquareUpperP)).toBeLessThan(1e-9);
  });
  test('non-central t and F to 1e-7', () => {
    expect(absolute('nct', noncentralTCdf)).toBeLessThan(1e-7);
  });
  test('studentized range to 1e-7, from 1 to 120 df and 2 to 20 means', () => {
    expect(absolute('studentized', studentizedRangeUpperP)).toBeLessThan(1e-7);
  });
  test('the F of the tables at 5 %, 5.1433, 3.8625, 3.4903, 3.2592 and 2.9013, have that upper tail', () => {
    const printed = [
      [5.1433, 2, 6],
      [3.8625, 3, 9],
      [3.4903, 3, 12],
      [3.2592, 4, 12],
      [2.9013, 5, 15],
    ] as const;
    for (const [f, df1, df2] of printed) {
      expect(fUpperP(f - 0.00006, df1, df2)).toBeGreaterThan(0.05);
      expect(fUpperP(f + 0.00006, df1, df2)).toBeLessThan(0.05);
    }
  });
});
