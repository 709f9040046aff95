// Complete strip plots against R 4.2.2: aov with Error(block/(along*across)). Script: r-strip-plots.R.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { analyseValues } from '@/lib/trial/analyse';

interface Case {
  block: string[];
  along: string[];
  across: string[];
  y: number[];
  /** Strips along, strips across, both together. */
  tests: { f: number; df1: number; df2: number; p: number; errorMs: number }[];
}
const { cases } = JSON.parse(readFileSync(new URL('r-strip-plots.json', import.meta.url), 'utf8')) as { cases: Case[] };

function analysed(one: Case) {
  const values = one.y.map((value, i) => ({ plot: String(i), block: one.block[i]!, treatment: one.along[i]!, subTreatment: one.across[i]!, day: 7, value }));
  const got = analyseValues(values, { layout: 'strip-plot', measure: 'index', check: null, scale: 'interval', comparison: 'lsd' });
  if (got.kind !== 'tested' || got.table.kind !== 'mixed model') throw new Error(`expected a mixed table, got ${got.kind}`);
  return { ...got, rows: got.table.rows };
}

describe('a complete strip plot, with or without variance between strips, agrees with R', () => {
  it.each(cases.map((one, i) => ({ number: i + 1, one })))('case $number: each factor against the strips it lies on, both together against the rest', ({ one }) => {
    const { rows } = analysed(one);
    one.tests.forEach((want, i) => {
      const got = rows[i + 1]!;
      expect(got.f / want.f).toBeCloseTo(1, 6);
      expect([got.df1, got.df2].map((df) => Number(df.toFixed(4)))).toEqual([want.df1, want.df2]);
      expect(got.p).toBeCloseTo(want.p, 7);
    });
  });

  it('compares two strips by the standard error of their own strips: √(2 × mean square / plots of each)', () => {
    for (const one of cases) {
      const { factors } = analysed(one);
      factors.forEach((factor, i) => {
        const plots = one.y.length / factor.means.length;
        for (const pair of factor.pairs) expect(pair.standardError / Math.sqrt((2 * one.tests[i]!.errorMs) / plots)).toBeCloseTo(1, 6);
      });
    }
  });
});
