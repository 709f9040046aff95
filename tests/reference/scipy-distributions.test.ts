// Distribution values from SciPy 1.17.1: stats.studentized_range.sf, nct.cdf, ncf.cdf, norm.cdf/ppf, t.sf
// (doubled)/ppf, f.sf, chi2.sf.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { chiSquareUpperP } from '@/lib/stats/chi-square';
import { fQuantile, fUpperP, noncentralFCdf } from '@/lib/stats/f-distribution';
import { normalCdf, normalCdfFast, normalQuantile, normalQuantileFast } from '@/lib/stats/normal';
import { noncentralTCdf, tCdf, tQuantile, tTwoSidedP } from '@/lib/stats/student-t';
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
  it('normal, both ways, tails to 12 digits', () => {
    expect(relative('normal', normalCdf)).toBeLessThan(1e-12);
    expect(relative('normalQuantile', normalQuantile)).toBeLessThan(1e-12);
  });
  it('the quick normal functions keep their stated error', () => {
    for (let z = -9; z <= 9; z += 0.00731) expect(Math.abs(normalCdfFast(z) - normalCdf(z))).toBeLessThan(1e-10);
    expect(relative('normalQuantile', normalQuantileFast)).toBeLessThan(2e-9);
  });
  it('t: p to 1e-6 of itself, quantile to 1e-7', () => {
    expect(relative('t', tTwoSidedP)).toBeLessThan(1e-6);
    expect(relative('tq', tQuantile)).toBeLessThan(1e-7);
    expect(tCdf(-2, 7) + tCdf(2, 7)).toBeCloseTo(1, 12);
  });
  it('F and chi-square upper tails to 1e-6 of themselves, down to 1e-60', () => {
    expect(relative('f', fUpperP)).toBeLessThan(1e-6);
    expect(relative('chi2', chiSquareUpperP)).toBeLessThan(1e-9);
  });
  it('non-central t and F to 1e-7', () => {
    expect(absolute('nct', noncentralTCdf)).toBeLessThan(1e-7);
    expect(absolute('ncf', noncentralFCdf)).toBeLessThan(1e-7);
  });
  it('studentized range to 1e-7, from 1 to 120 df and 2 to 20 means', () => {
    expect(absolute('studentized', studentizedRangeUpperP)).toBeLessThan(1e-7);
  });
  it('F quantiles print as in the tables: 5.1433, 3.8625, 3.4903, 3.2592, 2.9013', () => {
    const printed = [
      [2, 6],
      [3, 9],
      [3, 12],
      [4, 12],
      [5, 15],
    ].map(([a, b]) => Number(fQuantile(0.95, a!, b!).toFixed(4)));
    expect(printed).toEqual([5.1433, 3.8625, 3.4903, 3.2592, 2.9013]);
  });
});
