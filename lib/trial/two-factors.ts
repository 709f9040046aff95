import { effectContrasts, splitPlotAnova, type AnovaTable, type MixedTable } from '@/lib/stats/anova';
import { dunnettAgainst, meanIntervals, tukeyHsd, type Comparison } from '@/lib/stats/compare-means';
import { fitLinearModel, type Term } from '@/lib/stats/linear-model';
import { fitMixedModel, type MixedFit } from '@/lib/stats/mixed-model';
import type { Analysis, AnalysisPlan, LeftOut } from '@/lib/trial/analyse';
import { lookAt } from '@/lib/trial/assumptions';
import { mixedMeans } from '@/lib/trial/mixed-means';
import { precisionOf } from '@/lib/trial/precision';
import { doesNotScatter, residualPoints } from '@/lib/trial/residual-points';
import type { Usable } from '@/lib/trial/usable';
import { judgeFactor, verdictSentences, type FactorResult } from '@/lib/trial/verdict';
import { pWord, shown } from '@/lib/trial/wording';

/** Mean of one combination of both factors. */
export interface CellMean {
  readonly main: string;
  readonly sub: string;
  readonly plots: number;
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

/**
 * One factor compared within one level of the other; against the check by Dunnett where it is among them, else all
 * pairs by Tukey.
 */
export interface SimpleEffects {
  readonly within: string;
  readonly method: 'Dunnett' | 'Tukey';
  readonly pairs: readonly Comparison[];
}

const TERMS: readonly Term[] = [['block'], ['treatment'], ['sub'], ['treatment', 'sub']];

/**
 * Split plots and strip plots by restricted maximum likelihood: blocks fixed, main plots (or both kinds of strips)
 * random within them. A variance may fall below 0, so that complete layouts give exactly the F tests of their error
 * strata.
 * @see Gomez & Gomez 1984, 3.4 and 3.5; negative variances and the level of tests: Stroup 2013, Generalized Linear
 *   Mixed Models, 6.4
 */
export function analyseTwoFactors(
  usable: readonly Usable[],
  leftOut: readonly LeftOut[],
  missing: readonly string[],
  plan: AnalysisPlan,
): Analysis {
  const none = (sentence: string): Analysis => ({ kind: 'none', leftOut, sentences: [sentence, ...missing] });
  const strip = plan.layout === 'strip-plot';
  const response = usable.map((one) => one.response);
  const factors = {
    block: usable.map((one) => one.block),
    treatment: usable.map((one) => one.treatment),
    sub: usable.map((one) => one.subTreatment!),
  };
  const adjusted = plan.measure === 'adjusted-for-baseline';
  const covariates = adjusted ? { baseline: usable.map((one) => one.baseline!) } : {};
  const data = { response, factors, covariates };
  const order = plan.treatmentOrder ?? [];
  const levelOrder = { treatment: order, sub: order };
  const fixed: Term[] = [...(adjusted ? [['baseline']] : []), ...TERMS];
  const random: Term[] = strip
    ? [
        ['block', 'treatment'],
        ['block', 'sub'],
      ]
    : [['block', 'treatment']];
  const strata = fitLinearModel(data, [...fixed, ...random], levelOrder);
  if (doesNotScatter(strata))
    return none(
      'The plots of a combination do not scatter at all within their main plots, so one of the errors is zero and no test means anything. Check whether values were copied.',
    );
  const mixed =
    fitMixedModel(data, fixed, { kind: 'levels', terms: random, ...(strip ? { within: 'block' } : {}) }, levelOrder) ??
    fitMixedModel(data, fixed, { kind: 'levels', terms: random, notBelowZero: true }, levelOrder);
  if (mixed === null)
    return none(
      'No test: with the plots that are left the errors of the two factors cannot be told apart. More blocks are needed.',
    );
  const test = (term: Term) => mixed.test(effectContrasts(mixed.fixed, term));
  const [mainTest, subTest, both] = [test(['treatment']), test(['sub']), test(['treatment', 'sub'])];
  if (!mainTest || !subTest) return none('With the plots that are left, the factors cannot be told from blocks.');

  const levels = mixed.fixed.levels;
  const count = (cell: Record<string, string>): number =>
    usable.filter(
      (one) =>
        (cell['treatment'] ?? one.treatment) === one.treatment &&
        (cell['sub'] ?? one.subTreatment) === one.subTreatment,
    ).length;
  const tableOf = (cells: readonly { name: string; cell: Record<string, string> }[]) =>
    mixedMeans(
      mixed,
      cells.map((one) => ({ ...one, plots: count(one.cell) })),
    );
  const main = tableOf(levels['treatment']!.map((name) => ({ name, cell: { treatment: name } })));
  const sub = tableOf(levels['sub']!.map((name) => ({ name, cell: { sub: name } })));
  const names: [FactorResult['factor'], FactorResult['factor']] = strip
    ? ['strips along', 'strips across']
    : ['main plots', 'subplots'];
  const results = [
    judgeFactor(names[0], main.table, mainTest.f, mainTest.p, plan),
    judgeFactor(names[1], sub.table, subTest.f, subTest.p, plan),
  ];
  const together =
    both === null
      ? 'Some combination is missing altogether, so whether one factor depends on the other cannot be told.'
      : both.p < (plan.alpha ?? 0.05)
        ? `The effect of one factor depends on the other (interaction F = ${shown(both.f)}, ${pWord(both.p)}): read the combinations, not the averages below.`
        : `The two factors act independently as far as can be seen (interaction ${pWord(both.p)}).`;
  const complete =
    leftOut.length === 0 && !adjusted && !strip
      ? splitPlotAnova(response, factors.block, factors.treatment, factors.sub)
      : null;
  const anova: AnovaTable | MixedTable = complete?.ok
    ? complete.table
    : kenwardRogerTable(mixed, names, [mainTest, subTest, both]);
  const { cells, simple } = combinations(mixed, usable, plan, names);
  const grandMean = response.reduce((sum, value) => sum + value, 0) / response.length;
  const plotSd = Math.sqrt(mixed.parameters[0]!.value);
  return {
    kind: 'tested',
    leftOut,
    sentences: [together, ...results.flatMap((one) => verdictSentences(one, plan)), ...missing],
    method: `Restricted maximum likelihood with ${strip ? 'both kinds of strips' : 'main plots'} random within blocks; Kenward-Roger degrees of freedom${complete?.ok ? ', which in this complete layout are those of the two errors' : ''}.`,
    table: anova,
    factors: results,
    plotSd,
    errorDf: Math.round(subTest.df2),
    precision: precisionOf(sub.table, { plotSd, grandMean, isDifference: plan.measure.startsWith('change') }),
    variances: mixed.parameters.map(({ name, value }) => ({
      name: name.replace('treatment', names[0]).replace('sub', names[1]),
      value,
    })),
    cells,
    simpleEffects: simple,
    rankTest: null,
    assumptions: lookAt(strata, usable, { byBlock: false, additivity: false }),
    residuals: residualPoints(strata, usable),
  };
}

function kenwardRogerTable(
  mixed: MixedFit,
  names: readonly string[],
  tests: readonly ReturnType<MixedFit['test']>[],
): MixedTable {
  const block = mixed.test(effectContrasts(mixed.fixed, ['block']));
  const named = [
    ['block', block],
    [names[0]!, tests[0]!],
    [names[1]!, tests[1]!],
    [`${names[0]!} × ${names[1]!}`, tests[2]!],
  ] as const;
  return {
    kind: 'mixed model',
    rows: named.flatMap(([source, test]) =>
      test ? [{ source, df1: test.df1, df2: test.df2, f: test.f, p: test.p }] : [],
    ),
  };
}

/** Means of the combinations, and each factor compared within the levels of the other. */
function combinations(
  mixed: MixedFit,
  usable: readonly Usable[],
  plan: AnalysisPlan,
  names: readonly string[],
): { cells: CellMean[]; simple: SimpleEffects[] } {
  const [mains, subs] = [mixed.fixed.levels['treatment']!, mixed.fixed.levels['sub']!];
  const plotsOf = (main: string, sub: string): number =>
    usable.filter((one) => one.treatment === main && one.subTreatment === sub).length;
  const cells = mains.flatMap((main) => {
    const { table } = mixedMeans(
      mixed,
      subs.map((sub) => ({ name: sub, cell: { treatment: main, sub }, plots: plotsOf(main, sub) })),
    );
    const intervals = meanIntervals(table);
    return table.levels.map((sub, i): CellMean => ({
      main,
      sub,
      plots: table.n[i]!,
      mean: table.means[i]!,
      low: intervals[i]!.low,
      high: intervals[i]!.high,
    }));
  });
  const within = (
    of: readonly string[],
    cell: (name: string) => Record<string, string>,
    label: string,
  ): SimpleEffects[] => {
    const { table } = mixedMeans(
      mixed,
      of.map((name) => ({ name, cell: cell(name), plots: 1 })),
    );
    if (table.levels.length < 2) return [];
    const check = plan.check !== null && table.levels.includes(plan.check) ? plan.check : null;
    return [
      {
        within: label,
        method: check === null ? 'Tukey' : 'Dunnett',
        pairs:
          check === null
            ? tukeyHsd(table, plan.alpha ?? 0.05)
            : dunnettAgainst(table, check, 'two', plan.alpha ?? 0.05),
      },
    ];
  };
  return {
    cells,
    simple: [
      ...mains.flatMap((main) => within(subs, (sub) => ({ treatment: main, sub }), `${names[1]!} within ${main}`)),
      ...subs.flatMap((sub) => within(mains, (main) => ({ treatment: main, sub }), `${names[0]!} within ${sub}`)),
    ],
  };
}
