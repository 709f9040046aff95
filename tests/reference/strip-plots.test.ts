// Complete strip plots against R 4.2.2: aov with Error(block/(along*across)). Script: r-strip-plots.R.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { marginalMeanWeights } from '@/lib/stats/linear-model';
import { fitMixedModel } from '@/lib/stats/mixed-model';
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
  const values = one.y.map((value, i) => ({
    plot: String(i),
    block: one.block[i]!,
    treatment: one.along[i]!,
    subTreatment: one.across[i]!,
    day: 7,
    value,
  }));
  const got = analyseValues(values, {
    layout: 'strip-plot',
    measure: 'index',
    check: null,
    scale: 'interval',
    comparison: 'lsd',
  });
  if (got.kind !== 'tested' || got.table.kind !== 'mixed model')
    throw new Error(`expected a mixed table, got ${got.kind}`);
  return { ...got, rows: got.table.rows };
}

describe('a complete strip plot, with or without variance between strips, agrees with R', () => {
  test.each(cases.map((one, i) => ({ number: i + 1, one })))(
    'case $number: each factor against the strips it lies on, both together against the rest; two strips by √(2 × mean square / plots of each)',
    ({ one }) => {
      const { rows, factors } = analysed(one);
      one.tests.forEach((want, i) => {
        const got = rows[i + 1]!;
        expect(got.f / want.f).toBeCloseTo(1, 6);
        expect([got.df1, got.df2].map((df) => Number(df.toFixed(4)))).toEqual([want.df1, want.df2]);
        expect(got.p).toBeCloseTo(want.p, 7);
      });
      factors.forEach((factor, i) => {
        const plots = one.y.length / factor.means.length;
        for (const pair of factor.pairs)
          expect(pair.standardError / Math.sqrt((2 * one.tests[i]!.errorMs) / plots)).toBeCloseTo(1, 6);
      });
    },
  );

  test('gives a mean the error of its strips within blocks and of the block average, which is no surer than its plots (algebra of the mean squares)', () => {
    let below = 0;
    for (const { block, along, across, y, tests } of cases) {
      const terms = [['block'], ['along'], ['across'], ['along', 'across']];
      const fit = fitMixedModel({ response: y, factors: { block, along, across } }, terms, {
        kind: 'levels',
        terms: [
          ['block', 'along'],
          ['block', 'across'],
        ],
        within: 'block',
      })!;
      const [a, s, b] = ['along', 'across', 'block'].map((factor) => fit.fixed.levels[factor]!.length) as [
        number,
        number,
        number,
      ];
      const [ofAlong, ofAcross, rest] = tests.map((one) => one.errorMs) as [number, number, number];
      const blockAverage = ofAlong + ofAcross - rest;
      if (blockAverage < rest) below += 1;
      const variance = ((a - 1) * ofAlong + Math.max(blockAverage, rest)) / (a * s * b);
      const mean = fit.estimate(marginalMeanWeights(fit.fixed, { along: 'm1' }))!;
      expect(mean.standardError ** 2 / variance).toBeCloseTo(1, 6);
    }
    expect(below).toBeGreaterThan(5);
    expect(below).toBeLessThan(cases.length - 5);
  });
});
