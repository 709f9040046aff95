import { fUpperP } from '@/lib/stats/f-distribution';
import {
  errorMeanSquare,
  fitLinearModel,
  marginalMeanWeights,
  termName,
  type LinearFit,
  type Term,
} from '@/lib/stats/linear-model';

/**
 * One line of an analysis of variance table. F and p are null on an error line or where there is nothing to test with.
 */
export interface AnovaRow {
  readonly source: string;
  readonly df: number;
  readonly ss: number;
  readonly ms: number | null;
  readonly f: number | null;
  readonly p: number | null;
  /** The error line this one is tested against. */
  readonly testedAgainst: string | null;
}

/** The table, top to bottom; the last line is the (last) error. */
export interface AnovaTable {
  readonly kind: 'sequential' | 'each after the others' | 'split-plot strata';
  readonly rows: readonly AnovaRow[];
}

/** Tests of a mixed model: it has no sums of squares, and each F its own degrees of freedom below. */
export interface MixedTable {
  readonly kind: 'mixed model';
  readonly rows: readonly {
    readonly source: string;
    readonly df1: number;
    readonly df2: number;
    readonly f: number;
    readonly p: number;
  }[];
}

function testRow(
  source: string,
  df: number,
  ss: number,
  errorName: string,
  errorDf: number,
  errorMs: number | null,
): AnovaRow {
  const ms = df > 0 ? ss / df : null;
  const testable = ms !== null && errorMs !== null && errorMs > 0;
  const f = testable ? ms / errorMs : null;
  return {
    source,
    df,
    ss,
    ms,
    f,
    p: f === null ? null : fUpperP(f, df, errorDf),
    testedAgainst: testable ? errorName : null,
  };
}

function errorRow(source: string, df: number, ss: number): AnovaRow {
  return { source, df, ss, ms: df > 0 ? ss / df : null, f: null, p: null, testedAgainst: null };
}

/**
 * Each term after those before it (type I): put blocks first, and with missing plots the treatments still get their
 * due. No report prints it: NIST, R and textbooks print their tables so, and by it the linear model meets them.
 */
export function sequentialAnova(fit: LinearFit): AnovaTable {
  const ms = errorMeanSquare(fit);
  const rows = fit.terms.map((term, t) =>
    testRow(termName(term), fit.sequential[t]!.df, fit.sequential[t]!.ss, 'error', fit.residualDf, ms),
  );
  return { kind: 'sequential', rows: [...rows, errorRow('error', fit.residualDf, fit.residualSs)] };
}

/**
 * Each term after all others that do not contain it (type II). For blocks + treatments with missing plots this is
 * the adjusted F of the textbook; with complete data it equals the sequential table.
 */
export function adjustedAnova(fit: LinearFit): AnovaTable {
  const ms = errorMeanSquare(fit);
  const rows = fit.terms.map((term) => {
    const others = fit.terms.filter((other) => other !== term && !term.every((name) => other.includes(name)));
    const last = fitLinearModel(fit.data, [...others, term], fit.levels).sequential.at(-1)!;
    return testRow(termName(term), last.df, last.ss, 'error', fit.residualDf, ms);
  });
  return { kind: 'each after the others', rows: [...rows, errorRow('error', fit.residualDf, fit.residualSs)] };
}

/** Contrasts that say "no effect of this term": differences of equal-weight cell means, crossed over its factors. */
export function effectContrasts(fit: LinearFit, term: Term): number[][] {
  const cells: { cell: Record<string, string>; sign: number }[][] = term.reduce<
    { cell: Record<string, string>; sign: number }[][]
  >(
    (sets, factor) => {
      const [first, ...rest] = fit.levels[factor]!;
      return sets.flatMap((set) =>
        rest.map((level) =>
          set.flatMap(({ cell, sign }) => [
            { cell: { ...cell, [factor]: level }, sign },
            { cell: { ...cell, [factor]: first! }, sign: -sign },
          ]),
        ),
      );
    },
    [[{ cell: {}, sign: 1 }]],
  );
  return cells.map((set) => {
    const total = fit.columns.map(() => 0);
    for (const { cell, sign } of set)
      marginalMeanWeights(fit, cell).forEach((weight, j) => (total[j] = total[j]! + sign * weight));
    return total;
  });
}

/** A split-plot table, or the reason there is none. */
export type SplitPlotResult =
  | {
      readonly ok: true;
      readonly table: AnovaTable;
      readonly wholePlotMs: number;
      readonly wholePlotDf: number;
      readonly subPlotMs: number;
      readonly subPlotDf: number;
      readonly blocks: number;
    }
  | { readonly ok: false; readonly reason: string };

/**
 * Split plot in randomised blocks: main-plot factor tested against block × main, subplot factor and the
 * interaction against the remainder. Only for complete data (each block × main × sub cell exactly once);
 * otherwise the two error strata mix and the answer says so instead of guessing.
 * @see Gomez & Gomez 1984, section 3.4
 */
export function splitPlotAnova(
  response: readonly number[],
  block: readonly string[],
  main: readonly string[],
  sub: readonly string[],
): SplitPlotResult {
  const fit = fitLinearModel({ response, factors: { block, main, sub } }, [
    ['block'],
    ['main'],
    ['block', 'main'],
    ['sub'],
    ['main', 'sub'],
  ]);
  const [b, a, s] = [fit.levels['block']!.length, fit.levels['main']!.length, fit.levels['sub']!.length];
  const cells = new Set(response.map((_, i) => JSON.stringify([block[i], main[i], sub[i]])));
  if (cells.size !== response.length)
    return { ok: false, reason: 'a plot appears twice: each block × main plot × subplot must have one value' };
  if (cells.size !== b * a * s) {
    return {
      ok: false,
      reason: `${b * a * s - cells.size} of ${b * a * s} plots are missing: the main-plot and subplot errors mix, so no exact split-plot test exists`,
    };
  }
  if (b < 2 || a < 2 || s < 2)
    return {
      ok: false,
      reason: `a split plot needs at least 2 blocks, 2 main plots and 2 subplots; here are ${b}, ${a} and ${s}`,
    };
  const [seqBlock, seqMain, seqWhole, seqSub, seqBoth] = fit.sequential as [
    LinearFit['sequential'][number],
    LinearFit['sequential'][number],
    LinearFit['sequential'][number],
    LinearFit['sequential'][number],
    LinearFit['sequential'][number],
  ];
  const wholePlotMs = seqWhole.ss / seqWhole.df;
  const subPlotMs = fit.residualSs / fit.residualDf;
  return {
    ok: true,
    wholePlotMs,
    wholePlotDf: seqWhole.df,
    subPlotMs,
    subPlotDf: fit.residualDf,
    blocks: b,
    table: {
      kind: 'split-plot strata',
      rows: [
        testRow('block', seqBlock.df, seqBlock.ss, 'main-plot error', seqWhole.df, wholePlotMs),
        testRow('main', seqMain.df, seqMain.ss, 'main-plot error', seqWhole.df, wholePlotMs),
        errorRow('main-plot error', seqWhole.df, seqWhole.ss),
        testRow('sub', seqSub.df, seqSub.ss, 'subplot error', fit.residualDf, subPlotMs),
        testRow('main × sub', seqBoth.df, seqBoth.ss, 'subplot error', fit.residualDf, subPlotMs),
        errorRow('subplot error', fit.residualDf, fit.residualSs),
      ],
    },
  };
}
