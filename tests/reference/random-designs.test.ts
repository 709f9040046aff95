// Random trials with missing plots, computed by R 4.2.2: lm, emmeans(adjust = "tukey" / "none"), emmeans' cld,
// multcompView letters, and mvtnorm::pmvt on multcomp's Dunnett contrasts (abseps 2e-6). Script: r-random-designs.R.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { adjustedAnova } from '@/lib/stats/anova';
import {
  adjustedMeans,
  dunnettAgainst,
  lettersFor,
  meanIntervals,
  protectedLsd,
  tukeyHsd,
  type Comparison,
} from '@/lib/stats/compare-means';
import { errorMeanSquare, fitLinearModel } from '@/lib/stats/linear-model';

interface Case {
  layout: 'crd' | 'rcbd' | 'latin';
  response: number[];
  treatment: string[];
  row: string[];
  col: string[];
  levels: string[];
  errorDf: number;
  errorMs: number;
  f: number;
  p: number;
  emmean: number[];
  se: number[];
  low: number[];
  high: number[];
  pairs: string[];
  difference: number[];
  tukeyP: number[];
  plainP: number[];
  dunnettP: number[];
  dunnettGreaterP: number[];
  lettersTukeyLowestFirst: string[];
  lettersPlainLowestFirst: string[];
  lettersTukeyAsGiven: string[];
}
const { cases } = JSON.parse(readFileSync(new URL('r-random-designs.json', import.meta.url), 'utf8')) as {
  cases: Case[];
};
const p = (list: readonly Comparison[]): number[] => list.map((c) => c.p);
/** Largest distance of two lists of equal length. */
const farthest = (got: readonly number[], want: readonly number[]): number =>
  got.length === want.length ? Math.max(...got.map((value, i) => Math.abs(value - want[i]!))) : Infinity;

describe.each(
  cases.map((one, i) => ({
    name: `${i + 1} (${one.layout}, ${one.levels.length} treatments, ${one.response.length} plots)`,
    one,
  })),
)('random design $name agrees with R', ({ one }) => {
  const terms = { crd: [['treatment']], rcbd: [['row'], ['treatment']], latin: [['row'], ['col'], ['treatment']] }[
    one.layout
  ];
  const fit = fitLinearModel(
    { response: one.response, factors: { treatment: one.treatment, row: one.row, col: one.col } },
    terms,
    { treatment: one.levels },
  );
  const { table } = adjustedMeans(fit, 'treatment')!;

  test('in error df, mean square, F and p of treatments', () => {
    const row = adjustedAnova(fit).rows.find((r) => r.source === 'treatment')!;
    expect(fit.residualDf).toBe(one.errorDf);
    expect(errorMeanSquare(fit)!).toBeCloseTo(one.errorMs, 10);
    expect(row.f! / one.f).toBeCloseTo(1, 7);
    expect(farthest([row.p!], [one.p])).toBeLessThan(1e-8);
  });
  test('in means, standard errors and intervals', () => {
    expect(table.levels).toEqual(one.levels);
    expect(farthest(table.means, one.emmean)).toBeLessThan(1e-9);
    const intervals = meanIntervals(table);
    expect(
      farthest(
        intervals.map((i) => i.standardError),
        one.se,
      ),
    ).toBeLessThan(1e-9);
    expect(
      farthest(
        intervals.map((i) => i.low),
        one.low,
      ),
    ).toBeLessThan(1e-8);
    expect(
      farthest(
        intervals.map((i) => i.high),
        one.high,
      ),
    ).toBeLessThan(1e-8);
  });
  test('in p of all pairs, plain and Tukey', () => {
    const tukey = tukeyHsd(table);
    expect(tukey.map((c) => `${c.a}-${c.b}`)).toEqual(one.pairs);
    expect(
      farthest(
        tukey.map((c) => c.difference),
        one.difference,
      ),
    ).toBeLessThan(1e-9);
    // R's ptukey is off by 1e-5 at few error df (case 15, 3 df: R 0.0045511, scipy 1.17 studentized_range.sf 0.0045414
    // as ours).
    expect(farthest(p(tukey), one.tukeyP)).toBeLessThan(2e-5);
    expect(farthest(p(protectedLsd(table, 0)), one.plainP)).toBeLessThan(5e-8);
  });
  test('in the letters, by Tukey and by plain t', () => {
    expect(lettersFor(table, tukeyHsd(table), 'lowest-first')).toEqual(one.lettersTukeyLowestFirst);
    expect(lettersFor(table, protectedLsd(table, 0), 'lowest-first')).toEqual(one.lettersPlainLowestFirst);
    expect(lettersFor(table, tukeyHsd(table), 'as-given')).toEqual(one.lettersTukeyAsGiven);
  });
  test("in Dunnett's p, two-sided and one-sided, with the correlation the missing plots leave", () => {
    const check = one.levels[0]!;
    expect(farthest(p(dunnettAgainst(table, check)), one.dunnettP)).toBeLessThan(2e-5);
    expect(farthest(p(dunnettAgainst(table, check, 'one')), one.dunnettGreaterP)).toBeLessThan(2e-5);
  });
});
