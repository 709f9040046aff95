// Datasets that R 4.2.2 and MASS ship, computed there; script and versions in r-datasets.R.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { adjustedAnova, sequentialAnova, splitPlotAnova, type AnovaRow } from '@/lib/stats/anova';
import { compactLetters } from '@/lib/stats/compact-letters';
import { adjustedMeans, dunnettAgainst, lettersFor, tukeyHsd } from '@/lib/stats/compare-means';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { rankTest } from '@/lib/stats/rank-tests';
import { regress } from '@/lib/stats/regression';
import { studentizedRangeUpperP } from '@/lib/stats/studentized-range';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

interface Table {
  source: string[];
  df: number[];
  ss: number[];
  f: (number | 'NA')[];
  p: (number | 'NA')[];
}
type Test = { statistic: number; p: number };
type Pairs = { pairs: string[]; difference: number[]; p: number[] };
type Strata = Omit<Table, 'source'>;
interface Reference {
  npk: {
    data: { block: string[]; N: string[]; P: string[]; K: string[]; yield: number[] };
    full: Table;
    additive: Table;
  };
  warpbreaks: {
    data: { breaks: number[]; wool: string[]; tension: string[] };
    full: Table;
    tukey: Pairs;
    letters: string[];
  };
  InsectSprays: {
    data: { count: number[]; spray: string[] };
    raw: Table;
    root: Table;
    tukeyRoot: Pairs;
    lettersRaw: string[];
    lettersRoot: string[];
    dunnettRoot: number[];
    kruskal: Test;
  };
  PlantGrowth: {
    data: { weight: number[]; group: string[] };
    table: Table;
    tukey: Pairs;
    letters: string[];
    dunnett: number[];
    kruskal: Test;
  };
  oats: {
    data: { block: string[]; variety: string[]; nitrogen: string[]; yield: number[] };
    whole: Strata;
    sub: Strata;
  };
  warpUnbalanced: {
    rowsDropped: number[];
    typeTwo: { ss: number[]; f: number[]; p: number[] };
  };
  stackloss: {
    data: Record<string, number[]>;
    coef: number[];
    se: number[];
    p: number[];
    low: number[];
    high: number[];
    sigma: number;
    r2: number;
    f: number;
    hat: number[];
    cook: number[];
    vif: number[];
    confidence: number[];
    prediction: number[];
  };
  sleep: { first: number[]; second: number[] };
  RoundingTimes: { data: number[][] } & Test;
  letters: { means: number[]; pairs: number[][]; letters: string[] }[];
  ptukey: { q: number[]; k: number[]; df: number[]; p: number[] };
}
const r = JSON.parse(readFileSync(new URL('r-datasets.json', import.meta.url), 'utf8')) as Reference;
const farthest = (got: readonly number[], want: readonly number[]): number =>
  got.length === want.length ? Math.max(...got.map((value, i) => Math.abs(value - want[i]!))) : Infinity;
const relative = (got: readonly number[], want: readonly number[]): number =>
  got.length === want.length ? Math.max(...got.map((value, i) => Math.abs(value / want[i]! - 1))) : Infinity;
const numbers = (list: readonly (number | 'NA')[]): number[] => list.filter((value): value is number => value !== 'NA');

/** Largest relative distance of SS and F, and absolute of p, from R's table. */
function distance(rows: readonly AnovaRow[], table: Table): number {
  const tested = rows.slice(0, -1).filter((row) => row.df > 0);
  return Math.max(
    relative(
      rows.filter((row) => row.df > 0).map((row) => row.ss),
      table.ss,
    ),
    relative(
      tested.map((row) => row.f!),
      numbers(table.f),
    ),
    farthest(
      tested.map((row) => row.p!),
      numbers(table.p),
    ),
  );
}

const oneBlock = (groups: readonly (readonly number[])[]) =>
  rankTest([groups.flatMap((group, treatment) => group.map((value) => ({ treatment, value })))], groups.length)!;

describe('npk', () => {
  const { block, N, P, K, yield: response } = r.npk.data;
  const data = { response, factors: { block, N, P, K } };
  test('sequential table of block + N × P × K, where N × P × K is confounded with blocks', () => {
    const fit = fitLinearModel(data, [
      ['block'],
      ['N'],
      ['P'],
      ['K'],
      ['N', 'P'],
      ['N', 'K'],
      ['P', 'K'],
      ['N', 'P', 'K'],
    ]);
    expect(fit.sequential[7]!.df).toBe(0);
    expect(fit.residualDf).toBe(12);
    expect(distance(sequentialAnova(fit).rows, r.npk.full)).toBeLessThan(1e-7);
    expect(sequentialAnova(fit).rows[1]!.p).toBeCloseTo(0.00437, 5);
  });
  test('table and N means of block + N + K', () => {
    const fit = fitLinearModel(data, [['block'], ['N'], ['K']]);
    expect(distance(sequentialAnova(fit).rows, r.npk.additive)).toBeLessThan(1e-7);
    expect(adjustedMeans(fit, 'N')!.table.means.map((mean) => Number(mean.toFixed(2)))).toEqual([52.07, 57.68]);
  });
});

describe('warpbreaks', () => {
  const { breaks, wool, tension } = r.warpbreaks.data;
  const data = { response: breaks, factors: { wool, tension } };
  test('table of wool × tension', () => {
    expect(
      distance(
        sequentialAnova(fitLinearModel(data, [['wool'], ['tension'], ['wool', 'tension']])).rows,
        r.warpbreaks.full,
      ),
    ).toBeLessThan(1e-7);
  });
  test("Tukey's p and letters of tension in the additive model", () => {
    const { table } = adjustedMeans(fitLinearModel(data, [['wool'], ['tension']]), 'tension')!;
    const pairs = tukeyHsd(table);
    expect(pairs.map((one) => `${one.a}-${one.b}`)).toEqual(r.warpbreaks.tukey.pairs);
    expect(
      farthest(
        pairs.map((one) => one.p),
        r.warpbreaks.tukey.p,
      ),
    ).toBeLessThan(1e-7);
    expect(pairs[0]!.p).toBeCloseTo(0.03363, 5);
    expect(lettersFor(table, pairs, 'as-given')).toEqual(r.warpbreaks.letters);
    expect(lettersFor(table, pairs, 'highest-first')).toEqual(['a', 'b', 'b']);
    expect(lettersFor(table, pairs, 'lowest-first')).toEqual(['b', 'a', 'a']);
  });
  test('type II with seven values missing (car::Anova)', () => {
    const keep = breaks.map((_, i) => !r.warpUnbalanced.rowsDropped.includes(i + 1));
    const only = <T>(list: readonly T[]): T[] => list.filter((_, i) => keep[i]);
    const fit = fitLinearModel({ response: only(breaks), factors: { wool: only(wool), tension: only(tension) } }, [
      ['wool'],
      ['tension'],
      ['wool', 'tension'],
    ]);
    const second = adjustedAnova(fit).rows.slice(0, 3);
    expect(
      relative(
        second.map((row) => row.ss),
        r.warpUnbalanced.typeTwo.ss,
      ),
    ).toBeLessThan(1e-8);
    expect(
      farthest(
        second.map((row) => row.p!),
        r.warpUnbalanced.typeTwo.p,
      ),
    ).toBeLessThan(1e-7);
  });
});

describe('InsectSprays', () => {
  const { count, spray } = r.InsectSprays.data;
  const fitOf = (response: number[]) => fitLinearModel({ response, factors: { spray } }, [['spray']]);
  const groups = [...new Set(spray)].map((level) => count.filter((_, i) => spray[i] === level));
  test('tables of counts and of their roots', () => {
    expect(distance(sequentialAnova(fitOf(count)).rows, r.InsectSprays.raw)).toBeLessThan(1e-7);
    expect(distance(sequentialAnova(fitOf(count.map(Math.sqrt))).rows, r.InsectSprays.root)).toBeLessThan(1e-7);
  });
  test("Tukey's p, letters and Dunnett's p", () => {
    const { table } = adjustedMeans(fitOf(count.map(Math.sqrt)), 'spray')!;
    const pairs = tukeyHsd(table);
    expect(
      farthest(
        pairs.map((one) => one.p),
        r.InsectSprays.tukeyRoot.p,
      ),
    ).toBeLessThan(1e-6);
    expect(lettersFor(table, pairs, 'as-given')).toEqual(r.InsectSprays.lettersRoot);
    expect(
      farthest(
        dunnettAgainst(table, 'A').map((one) => one.p),
        r.InsectSprays.dunnettRoot,
      ),
    ).toBeLessThan(1e-5);
    const raw = adjustedMeans(fitOf(count), 'spray')!.table;
    expect(lettersFor(raw, tukeyHsd(raw), 'as-given')).toEqual(r.InsectSprays.lettersRaw);
  });
  test('Kruskal-Wallis', () => {
    const test = oneBlock(groups);
    expect(test.statistic).toBeCloseTo(r.InsectSprays.kruskal.statistic, 8);
    expect(test.chiSquareP! / 1.51e-10).toBeCloseTo(1, 2);
  });
});

describe('PlantGrowth', () => {
  const { weight, group } = r.PlantGrowth.data;
  const { table } = adjustedMeans(fitLinearModel({ response: weight, factors: { group } }, [['group']]), 'group')!;
  const groups = [...new Set(group)].map((level) => weight.filter((_, i) => group[i] === level));
  test("table, Tukey's p, letters, Dunnett's p .3227 and .1535", () => {
    expect(
      distance(
        sequentialAnova(fitLinearModel({ response: weight, factors: { group } }, [['group']])).rows,
        r.PlantGrowth.table,
      ),
    ).toBeLessThan(1e-7);
    const pairs = tukeyHsd(table);
    expect(
      farthest(
        pairs.map((one) => one.p),
        r.PlantGrowth.tukey.p,
      ),
    ).toBeLessThan(1e-6);
    expect(lettersFor(table, pairs, 'as-given')).toEqual(r.PlantGrowth.letters);
    const dunnett = dunnettAgainst(table, 'ctrl').map((one) => one.p);
    expect(farthest(dunnett, r.PlantGrowth.dunnett)).toBeLessThan(1e-5);
    expect(farthest(dunnett, [0.3227, 0.1535])).toBeLessThan(1e-4);
  });
  test('Kruskal-Wallis', () => {
    expect(oneBlock(groups).chiSquareP).toBeCloseTo(r.PlantGrowth.kruskal.p, 9);
  });
});

describe('oats (Yates 1935), a split plot', () => {
  const { block, variety, nitrogen, yield: response } = r.oats.data;
  test('has varieties F 1.485 against the main-plot error and nitrogen F 37.69 against the subplot error', () => {
    const strata = splitPlotAnova(response, block, variety, nitrogen);
    if (!strata.ok) throw new Error(strata.reason);
    const row = (source: string) => strata.table.rows.find((one) => one.source === source)!;
    expect(
      relative(
        [row('main').f!, row('sub').f!, row('main × sub').f!],
        [...numbers(r.oats.whole.f), ...numbers(r.oats.sub.f)],
      ),
    ).toBeLessThan(1e-8);
    expect(
      farthest(
        [row('main').p!, row('sub').p!, row('main × sub').p!],
        [...numbers(r.oats.whole.p), ...numbers(r.oats.sub.p)],
      ),
    ).toBeLessThan(1e-7);
    expect([strata.wholePlotDf, strata.subPlotDf]).toEqual([10, 45]);
  });
  test('is refused with a reason when a plot is missing', () => {
    const cut = <T>(list: readonly T[]): T[] => list.slice(1);
    expect(splitPlotAnova(cut(response), cut(block), cut(variety), cut(nitrogen))).toMatchObject({
      ok: false,
      reason: expect.stringContaining('1 of 72 plots are missing'),
    });
  });
});

describe('stackloss, a multiple regression', () => {
  const { data, ...want } = r.stackloss;
  const xs = { 'Air.Flow': data['Air.Flow']!, 'Water.Temp': data['Water.Temp']!, 'Acid.Conc.': data['Acid.Conc.']! };
  const result = regress(data['stack.loss']!, xs);
  if (!result.ok) throw new Error(result.reason);
  const { fit } = result;
  test('coefficients, standard errors, p and 95% intervals', () => {
    const lines = [fit.intercept, ...fit.slopes];
    expect(
      relative(
        lines.map((one) => one.value),
        want.coef,
      ),
    ).toBeLessThan(1e-8);
    expect(
      relative(
        lines.map((one) => one.standardError),
        want.se,
      ),
    ).toBeLessThan(1e-8);
    expect(
      farthest(
        lines.map((one) => one.p),
        want.p,
      ),
    ).toBeLessThan(1e-7);
    expect(
      relative(
        lines.map((one) => one.low),
        want.low,
      ),
    ).toBeLessThan(1e-7);
    expect(
      relative(
        lines.map((one) => one.high),
        want.high,
      ),
    ).toBeLessThan(1e-7);
  });
  test('residual standard deviation, R squared and F', () => {
    expect(relative([fit.residualSd, fit.rSquared, fit.f], [want.sigma, want.r2, want.f])).toBeLessThan(1e-9);
  });
  test("leverage, Cook's distance and variance inflation", () => {
    expect(
      farthest(
        fit.observations.map((one) => one.leverage),
        want.hat,
      ),
    ).toBeLessThan(1e-9);
    expect(
      farthest(
        fit.observations.map((one) => one.cooksDistance!),
        want.cook,
      ),
    ).toBeLessThan(1e-9);
    expect(
      relative(
        fit.slopes.map((one) => one.vif),
        want.vif,
      ),
    ).toBeLessThan(1e-9);
  });
  test('intervals of a prediction', () => {
    const at = fit.predict({ 'Air.Flow': 60, 'Water.Temp': 20, 'Acid.Conc.': 85 });
    expect(relative([at.value, ...at.meanInterval], want.confidence)).toBeLessThan(1e-8);
    expect(relative([at.value, ...at.newInterval], want.prediction)).toBeLessThan(1e-8);
  });
});

describe('other tests', () => {
  test('sleep paired: t -4.0621, p .002833, interval -2.4599 to -.7001', () => {
    const { first, second } = r.sleep;
    const fit = fitLinearModel(
      {
        response: [...first, ...second],
        factors: {
          person: [...first, ...second].map((_, i) => `${i % 10}`),
          drug: [...first.map(() => '1'), ...second.map(() => '2')],
        },
      },
      [['person'], ['drug']],
    );
    const pair = tukeyHsd(adjustedMeans(fit, 'drug')!.table)[0]!;
    expect(pair.t).toBeCloseTo(-4.0621, 4);
    expect(pair.p).toBeCloseTo(0.002833, 6);
    expect([pair.low, pair.high].map((value) => Number(value.toFixed(4)))).toEqual([-2.4599, -0.7001]);
    expect(tTwoSidedP(pair.t, 9)).toBeCloseTo(0.002833, 6);
    expect(tQuantile(0.975, 9)).toBeCloseTo(2.26215716, 8);
  });
  test('RoundingTimes: Friedman 11.1429 with ties, p .003805', () => {
    const test = rankTest(
      r.RoundingTimes.data.map((row) => row.map((value, treatment) => ({ treatment, value }))),
      3,
    )!;
    expect(test.name).toBe('Friedman');
    expect(test.statistic).toBeCloseTo(r.RoundingTimes.statistic, 9);
    expect(test.statistic).toBeCloseTo(11.1429, 4);
    expect(test.chiSquareP).toBeCloseTo(r.RoundingTimes.p, 9);
  });
  test('letters of 60 random significance patterns as multcompView gives them', () => {
    for (const { means, pairs, letters } of r.letters) {
      const different = new Set(pairs.map(([i, j]) => `${i}-${j}`));
      expect(
        compactLetters(means, (i, j) => different.has(`${Math.min(i, j) + 1}-${Math.max(i, j) + 1}`), 'as-given'),
      ).toEqual(letters);
    }
  });
  test('upper tail of the studentized range against ptukey', () => {
    const { q, k, df, p } = r.ptukey;
    const got = q.map((value, i) => studentizedRangeUpperP(value, k[i]!, df[i]! < 0 ? Infinity : df[i]!));
    // R's ptukey errs by up to 8e-5 at 2 df, where scipy agrees with us to 1e-7 (scipy-distributions.test.ts): hence
    // two gates.
    const worst = (few: boolean): number =>
      Math.max(...got.map((value, i) => ((df[i]! > 0 && df[i]! < 5) === few ? Math.abs(value - p[i]!) : 0)));
    expect(worst(false)).toBeLessThan(1e-6);
    expect(worst(true)).toBeLessThan(1e-4);
  });
});
