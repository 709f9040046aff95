// Mixed models against R 4.2.2 (lme4 1.1.31, nlme 3.1.162, pbkrtest 0.5.2, emmeans 1.8.4.1): data sets that R ships and
// random ones, with missing plots. Scripts: r-mixed-models.R, r-autoregressive.R.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { splitPlotAnova } from '@/lib/stats/anova';
import { marginalMeanWeights, type Term } from '@/lib/stats/linear-model';
import { fitMixedModel, type MixedFit, type RandomPart } from '@/lib/stats/mixed-model';
import { effectContrasts } from '@/lib/stats/anova';
import { tTwoSidedP } from '@/lib/stats/student-t';

type Kind = 'split' | 'strip' | 'incomplete' | 'crossed' | 'symmetry' | 'autoregressive';
interface Means {
  of: string | string[];
  levels: string[];
  mean: number[];
  se: number[];
  df: number[];
  difference: number[];
  dse: number[];
  ddf: number[];
  dp: number[];
}
interface Case {
  kind: Kind;
  name?: string;
  data: Record<string, string[] | number[]>;
  variances: Record<string, number>;
  means: Means[];
  tests: { of: string | string[]; f: number; df1: number; df2: number; p: number }[];
  slopes?: { value: number; se: number; df: number }[];
}
const read = (file: string): Case[] =>
  (JSON.parse(readFileSync(new URL(file, import.meta.url), 'utf8')) as { cases: Case[] }).cases;
// R has no F test with Kenward-Roger's degrees of freedom for errors that fade over days: these are worked out by dense
// matrices in autoregressive-tests.py (numpy 1.24, scipy 1.10).
const fading = JSON.parse(readFileSync(new URL('autoregressive-tests.json', import.meta.url), 'utf8')) as {
  cases: Case['tests'][];
};
const cases = [
  ...read('r-mixed-models.json'),
  ...read('r-autoregressive.json').map((one, i) => ({ ...one, tests: fading.cases[i]! })),
];
const list = (value: string | string[]): string[] => (typeof value === 'string' ? [value] : value);
const numbers = (value: number[] | number | undefined): number[] =>
  value === undefined ? [] : typeof value === 'number' ? [value] : value;

function fit(one: Case, notBelowZero = true): MixedFit {
  const { y, x1, x2, day, ...factors } = one.data as {
    y: number[];
    x1?: number[];
    x2?: number[];
    day?: number[];
  } & Record<string, number[] | string[]>;
  const dates = day ?? [];
  const days = day ? { dayf: dates.map(String) } : {};
  const levelOrder = day ? { dayf: [...new Set(dates)].sort((a, b) => a - b).map(String) } : {};
  const data = {
    response: y,
    factors: { ...(factors as unknown as Record<string, string[]>), ...days },
    covariates: { ...(x1 ? { x1 } : {}), ...(x2 ? { x2 } : {}) },
  };
  const blocks: Term[] =
    'block' in factors && new Set(factors['block'] as unknown as string[]).size > 1 ? [['block']] : [];
  const terms: Record<Kind, Term[]> = {
    split: [['block'], ['main'], ['sub'], ['main', 'sub']],
    strip: [['block'], ['main'], ['sub'], ['main', 'sub']],
    incomplete: [['trt']],
    crossed: [...(x1 ? [['x1']] : []), ...(x2 ? [['x2']] : [])],
    symmetry: [...blocks, ['trt'], ['dayf'], ['trt', 'dayf']],
    autoregressive: [...blocks, ['trt'], ['dayf'], ['trt', 'dayf']],
  };
  const levels = (terms: Term[]): RandomPart => ({ kind: 'levels', terms, notBelowZero });
  const random: Record<Kind, RandomPart> = {
    split: levels([['block', 'main']]),
    strip: levels([
      ['block', 'main'],
      ['block', 'sub'],
    ]),
    incomplete: levels([['block']]),
    crossed: levels([['row'], ['col']]),
    symmetry: levels([['subject']]),
    autoregressive: { kind: 'over-days', subject: 'subject', day: dates, structure: 'autoregressive' },
  };
  const found = fitMixedModel(data, terms[one.kind], random[one.kind], levelOrder);
  if (!found) throw new Error(`no fit ${JSON.stringify(one.variances)}`);
  return found;
}

const worst = { estimate: 0, standardError: 0, df: 0, p: 0, f: 0, variance: 0 };
const note = (what: keyof typeof worst, got: number, want: number, relative = false): void => {
  const error = Math.abs(got - want) / (relative ? Math.max(1e-9, Math.abs(want)) : 1);
  if (!(error <= worst[what])) worst[what] = error;
};
const total = new Map<string, number>();

function compare(one: Case): void {
  const got = fit(one);
  total.set(one.kind, (total.get(one.kind) ?? 0) + 1);
  // Standard deviation of one plot, all its variances together.
  const scale = Math.sqrt(
    one.variances['variance'] ?? Object.values(one.variances).reduce((sum, value) => sum + value, 0),
  );
  for (const table of one.means) {
    const of = list(table.of);
    const weights = table.levels.map((level) =>
      marginalMeanWeights(got.fixed, Object.fromEntries(level.split('|').map((name, i) => [of[i]!, name]))),
    );
    weights.forEach((w, i) => {
      const e = got.estimate(w)!;
      note('estimate', e.value / scale, table.mean[i]! / scale);
      note('standardError', e.standardError, numbers(table.se)[i]!, true);
      note('df', e.df, numbers(table.df)[i]!, true);
    });
    let at = 0;
    for (let i = 0; i < weights.length; i++) {
      for (let j = i + 1; j < weights.length && at < numbers(table.difference).length; j++, at++) {
        const e = got.estimate(weights[i]!.map((value, k) => value - weights[j]![k]!))!;
        note('estimate', e.value / scale, numbers(table.difference)[at]! / scale);
        note('df', e.df, numbers(table.ddf)[at]!, true);
        note('p', tTwoSidedP(e.value / e.standardError, e.df), numbers(table.dp)[at]!);
      }
    }
  }
  for (const test of one.tests) {
    const t = got.test(effectContrasts(got.fixed, list(test.of)))!;
    expect(t.df1).toBe(test.df1);
    note('f', t.f, test.f, true);
    note('df', t.df2, test.df2, true);
    note('p', t.p, test.p);
  }
  one.slopes?.forEach((slope, i) => {
    const column = got.fixed.columns.findIndex((c) => c.term === i);
    const e = got.estimate(got.fixed.columns.map((_, j) => (j === column ? 1 : 0)))!;
    note('estimate', e.value / scale, slope.value / scale);
    note('standardError', e.standardError, slope.se, true);
    note('df', e.df, slope.df, true);
  });
}

describe('mixed models agree with R', () => {
  test.each(['split', 'strip', 'incomplete', 'crossed', 'symmetry', 'autoregressive'] as const)(
    '%s: estimates within 1e-6 of the plot SD, df within 1e-3 of their size, p within 1e-4',
    (kind) => {
      Object.keys(worst).forEach((key) => (worst[key as keyof typeof worst] = 0));
      const own = cases.filter((one) => one.kind === kind);
      own.forEach(compare);
      if (process.env['SHOW']) console.log(kind, own.length, JSON.stringify(worst));
      expect(own.length).toBeGreaterThan(20);
      expect(worst.estimate).toBeLessThan(1e-6);
      expect(worst.df).toBeLessThan(1e-3);
      expect(worst.p).toBeLessThan(1e-4);
    },
  );
  test('holds 200 random data sets and more', () => expect(cases.length).toBeGreaterThanOrEqual(200));
});

describe('a complete split plot', () => {
  test('has the F of its two errors, with and without variance between main plots (Gomez & Gomez 1984, 3.4; identity)', () => {
    for (const one of cases.filter((c) => c.kind === 'split')) {
      const { block, main, sub, y } = one.data as { block: string[]; main: string[]; sub: string[]; y: number[] };
      const strata = splitPlotAnova(y, block, main, sub);
      if (!strata.ok) continue;
      const got = fit(one, false);
      for (const [term, row] of [
        [['main'], 'main'],
        [['sub'], 'sub'],
        [['main', 'sub'], 'main × sub'],
      ] as const) {
        const test = got.test(effectContrasts(got.fixed, term))!;
        const want = strata.table.rows.find((r) => r.source === row)!;
        expect(test.f / want.f!).toBeCloseTo(1, 6);
        expect(test.df2).toBeCloseTo(
          term.length === 1 && term[0] === 'main' ? strata.wholePlotDf : strata.subPlotDf,
          4,
        );
      }
    }
  });
});
