import { adjustedAnova, effectContrasts, type AnovaTable, type MixedTable } from '@/lib/stats/anova';
import { adjustedMeans } from '@/lib/stats/compare-means';
import type { LetterOrder } from '@/lib/stats/compact-letters';
import { errorMeanSquare, fitLinearModel, type LinearFit, type Term } from '@/lib/stats/linear-model';
import { fitMixedModel } from '@/lib/stats/mixed-model';
import type { RankTest } from '@/lib/stats/rank-tests';
import { lookAt, type AssumptionNote } from '@/lib/trial/assumptions';
import { byRanks, rankSentence } from '@/lib/trial/by-ranks';
import { hasTwoFactors, type Layout } from '@/lib/trial/design';
import { mixedMeans } from '@/lib/trial/mixed-means';
import { blockingOf, precisionOf, type Precision } from '@/lib/trial/precision';
import { analyseTwoFactors, type CellMean, type SimpleEffects } from '@/lib/trial/two-factors';
import { doesNotScatter, residualPoints, type ResidualPoint } from '@/lib/trial/residual-points';
import { sortValues, type Usable } from '@/lib/trial/usable';
import { judgeFactor, verdictSentences, type FactorResult } from '@/lib/trial/verdict';
import { listed } from '@/lib/trial/wording';

/**
 * What is analysed: the value itself, its change since the baseline, that change minus the check's, or the value with
 * the baseline as covariate.
 */
export type Measure = 'index' | 'change' | 'change-against-check' | 'adjusted-for-baseline';

/** One plot on one day: the mean over its area in one photo (or a rating), however many pixels lie behind it. */
export interface PlotValue {
  readonly plot: string;
  readonly block: string;
  /** Place within the row; needed for a Latin square. */
  readonly column?: string | null;
  readonly treatment: string;
  readonly subTreatment?: string | null;
  /** Days since the first spray. */
  readonly day: number;
  /** Null when the photo or rating is missing. */
  readonly value: number | null;
  /** The plot's value before the spray; needed for all measures but the value itself. */
  readonly baseline?: number | null;
  /** 95% interval of this strip alone, from within its photo; in the unit of the measure. */
  readonly ownInterval?: readonly [number, number] | null;
  /** Reason why this value must not count; kept and shown. */
  readonly excludedBecause?: string | null;
}

/** How to analyse. */
export interface AnalysisPlan {
  readonly layout: Layout;
  readonly measure: Measure;
  readonly check: string | null;
  /** 'ordinal' adds the rank test and reads it first. */
  readonly scale: 'interval' | 'ordinal';
  readonly comparison: 'tukey' | 'lsd';
  readonly alpha?: number;
  readonly letterOrder?: LetterOrder;
  readonly treatmentOrder?: readonly string[];
  /** Largest difference from the check that still counts as none, in the unit of the measure; null asks nothing. */
  readonly margin?: number | null;
  /** Rate of each treatment that is one rate of the same thing, the check 0. */
  readonly rates?: { readonly unit: string; readonly of: Readonly<Record<string, number>> } | null;
}

/** A value that did not count, and why. */
export interface LeftOut {
  readonly plot: string;
  readonly day: number;
  readonly reason: string;
}

interface Common {
  readonly leftOut: readonly LeftOut[];
  /** What to say, most important first. */
  readonly sentences: readonly string[];
}

/** The answer: a tested table, strips shown without a test, or nothing and why. */
export type Analysis =
  | (Common & {
      readonly kind: 'tested';
      readonly table: AnovaTable | MixedTable;
      readonly factors: readonly FactorResult[];
      /** How the table came about. */
      readonly method: string;
      /** Error standard deviation of a plot, in the unit of the measure. */
      readonly plotSd: number;
      readonly errorDf: number;
      readonly precision: Precision;
      /** Variance of each random part; null where there is none but the error. */
      readonly variances: readonly { readonly name: string; readonly value: number }[] | null;
      /** Means of both factors together and comparisons of one within the other; null with one factor. */
      readonly cells: readonly CellMean[] | null;
      readonly simpleEffects: readonly SimpleEffects[] | null;
      /** For ratings. */
      readonly rankTest: RankTest | null;
      readonly assumptions: readonly AssumptionNote[];
      readonly residuals: readonly ResidualPoint[];
    })
  | (Common & {
      readonly kind: 'strips-only';
      readonly strips: readonly {
        readonly plot: string;
        readonly treatment: string;
        readonly value: number;
        readonly ownInterval: readonly [number, number] | null;
      }[];
    })
  | (Common & { readonly kind: 'none' });

/** What an unreplicated comparison can and cannot say. */
export const UNREPLICATED_SENTENCE =
  'Each treatment lies on one strip only. The interval tells how well this strip was measured, not what the treatment would do elsewhere: soil, shade or mowing may differ from strip to strip as much as this. The many pixels of a photo are not replicates. No test is given; lay at least two, better four, blocks to get one.';

const cellOf = (one: Usable): string => JSON.stringify([one.treatment, one.subTreatment ?? null]);

const NO_SCATTER =
  'The plots of a treatment do not scatter at all, so the error is zero and no F test means anything. Check whether values were copied.';

/**
 * Analyses the values of one day (or one summary a plot): the linear or mixed model of the layout, its table, adjusted
 * means with 95% intervals, letters, Dunnett against the check, and what must be said beside them. With a change
 * against the check the model is fitted to the plots' own changes: the check of the block cancels in every comparison,
 * and its scatter stays in the error, where subtracting it beforehand would hide it.
 * @throws RangeError for a value that is not finite, or one plot given twice
 */
export function analyseValues(values: readonly PlotValue[], plan: AnalysisPlan): Analysis {
  const { usable, leftOut } = sortValues(values, plan.measure);
  const twice = values.find((one, i) => values.findIndex((other) => other.plot === one.plot) !== i);
  if (twice) throw new RangeError(`values: expected one value a plot, got plot ${twice.plot} twice`);
  const missing =
    leftOut.length === 0
      ? []
      : [
          ...goneSentences(values, usable, plan.check),
          `${leftOut.length} of ${values.length} plots do not count: ${leftOut.map((one) => `${one.plot} (${one.reason})`).join('; ')}.`,
        ];
  const none = (...sentences: string[]): Analysis => ({ kind: 'none', leftOut, sentences: [...sentences, ...missing] });
  const treatments = [...new Set(usable.map((one) => one.treatment))];
  const twoFactors = hasTwoFactors(plan.layout);
  if (treatments.length < 2) return none('Fewer than two treatments have a value, so there is nothing to compare.');
  if (
    plan.measure === 'change-against-check' &&
    (plan.check === null || (!twoFactors && !treatments.includes(plan.check)))
  ) {
    return none('No check strip has a value, so a change against the check cannot be given.');
  }
  if (new Set(usable.map(cellOf)).size === usable.length) {
    const check =
      plan.measure === 'change-against-check' ? usable.find((one) => one.treatment === plan.check) : undefined;
    return {
      kind: 'strips-only',
      leftOut,
      sentences: [UNREPLICATED_SENTENCE, ...missing],
      strips: usable.map((one) => ({
        plot: one.plot,
        treatment: one.treatment,
        value: one.response - (check?.response ?? 0),
        ownInterval: one.ownInterval ?? null,
      })),
    };
  }
  if (twoFactors) {
    if (usable.some((one) => one.subTreatment === undefined || one.subTreatment === null))
      throw new RangeError('subTreatment: expected one for every plot of a layout of two factors, got none');
    return analyseTwoFactors(usable, leftOut, missing, plan);
  }

  const withBlocks = plan.layout !== 'completely-randomised';
  const factors: Record<string, string[]> = {
    block: usable.map((one) => one.block),
    treatment: usable.map((one) => one.treatment),
  };
  const covariates = plan.measure === 'adjusted-for-baseline' ? { baseline: usable.map((one) => one.baseline!) } : {};
  const terms: Term[] = [
    ...(plan.measure === 'adjusted-for-baseline' ? [['baseline']] : []),
    ...(withBlocks ? [['block']] : []),
  ];
  if (plan.layout === 'latin-square') {
    if (usable.some((one) => one.column === undefined || one.column === null))
      throw new RangeError('column: expected the place within the row for every plot of a Latin square, got none');
    factors['column'] = usable.map((one) => one.column!);
    terms.push(['column']);
  }
  terms.push(['treatment']);
  const levelOrder = plan.treatmentOrder ? { treatment: plan.treatmentOrder } : {};
  const data = { response: usable.map((one) => one.response), factors, covariates };
  const fit = fitLinearModel(data, terms, levelOrder);
  const ranked = plan.scale === 'ordinal' ? byRanks(usable, plan.layout) : null;
  const rankSays =
    ranked === null
      ? []
      : ranked.ok
        ? [rankSentence(ranked.test, plan.alpha ?? 0.05), ...ranked.notes]
        : [ranked.reason];
  const means = adjustedMeans(fit, 'treatment');
  const ms = errorMeanSquare(fit);
  if (means === null || ms === null) {
    return none(
      ...rankSays,
      'After blocks and treatments no plot is left over to judge the scatter by: no test can be made. More blocks are needed.',
    );
  }
  if (doesNotScatter(fit)) return none(...rankSays, NO_SCATTER);

  const plain = adjustedAnova(fit);
  const row = plain.rows.find((one) => one.source === 'treatment')!;
  const common = { plan, usable, fit };
  const mixed = plan.layout === 'incomplete-blocks' ? betweenBlocksToo(common, data, levelOrder) : null;
  if (mixed === null && (row.f === null || row.p === null))
    return none(...rankSays, 'With the plots that are left, treatments cannot be told from blocks.');
  const table = mixed?.means ?? means.table;
  const [f, p] = mixed ? [mixed.f, mixed.p] : [row.f!, row.p!];
  const result = judgeFactor('treatment', table, f, p, plan);
  const untold = mixed?.notEstimable ?? means.notEstimable;
  const sentences = [...rankSays, ...verdictSentences(result, plan)];
  if (untold.length > 0)
    sentences.push(`No mean can be given for ${listed(untold)}: the plots left do not tie it to the others.`);
  if (leftOut.length > 0 && withBlocks)
    sentences.push('Means are adjusted: each treatment is put in all blocks alike, as if no plot were missing.');
  const doubled = withBlocks && plan.layout !== 'latin-square' ? laidTwice(usable) : [];
  if (doubled.length > 0)
    sentences.push(
      `Laid more than once in a block: ${listed(doubled)}. Each such plot counts as a plot of its own, and the scatter between them is part of the error.`,
    );
  const grandMean = data.response.reduce((sum, value) => sum + value, 0) / usable.length;
  const plotSd = Math.sqrt(mixed?.residual ?? ms);
  return {
    kind: 'tested',
    leftOut,
    sentences: [...sentences, ...missing],
    method: mixed
      ? 'Restricted maximum likelihood with blocks random, which also uses what differs between blocks; Kenward-Roger degrees of freedom.'
      : plan.measure === 'adjusted-for-baseline'
        ? 'Least squares with the value before the spray as covariate: means are those at its average.'
        : 'Least squares; with plots missing each line is tested after the others.',
    table: mixed?.anova ?? plain,
    factors: [result],
    plotSd,
    errorDf: mixed ? Math.round(mixed.df2) : fit.residualDf,
    precision: precisionOf(
      table,
      { plotSd, grandMean, isDifference: plan.measure.startsWith('change') },
      leftOut.length === 0 && !mixed && plan.measure !== 'adjusted-for-baseline' && doubled.length === 0
        ? blockingOf(plain, fit.levels, usable.length)
        : [],
    ),
    variances: mixed?.variances ?? null,
    cells: null,
    simpleEffects: null,
    rankTest: ranked?.ok ? ranked.test : null,
    assumptions: lookAt(fit, usable, {
      byBlock: withBlocks,
      additivity: withBlocks && plan.measure !== 'adjusted-for-baseline',
    }),
    residuals: residualPoints(fit, usable),
  };
}

/** Treatments of which no plot is left: they would vanish from the table without a word. */
function goneSentences(values: readonly PlotValue[], usable: readonly Usable[], check: string | null): string[] {
  const namesIn = (list: readonly Pick<PlotValue, 'treatment' | 'subTreatment'>[]) =>
    new Set(list.flatMap((one) => [one.treatment, ...(one.subTreatment ? [one.subTreatment] : [])]));
  const left = namesIn(usable);
  const gone = [...namesIn(values)].filter((name) => !left.has(name));
  const others = gone.filter((name) => name !== check);
  return [
    ...(others.length === gone.length ? [] : ['No plot of the check counts, so nothing can be compared with it.']),
    ...(others.length === 0
      ? []
      : [`No plot of ${listed(others)} counts, so nothing is said of ${others.length === 1 ? 'it' : 'them'}.`]),
  ];
}

/** Treatments that lie more than once in some block. */
function laidTwice(usable: readonly Usable[]): string[] {
  const seen = new Set<string>();
  const doubled = new Set<string>();
  for (const one of usable) {
    const key = JSON.stringify([one.block, one.treatment]);
    if (seen.has(key)) doubled.add(one.treatment);
    seen.add(key);
  }
  return [...doubled];
}

interface BetweenBlocks {
  readonly f: number;
  readonly p: number;
  readonly df2: number;
  readonly residual: number;
  readonly means: ReturnType<typeof mixedMeans>['table'];
  readonly notEstimable: readonly string[];
  readonly variances: readonly { readonly name: string; readonly value: number }[];
  readonly anova: MixedTable;
}

/** Incomplete blocks with blocks random; null where that has no fit, and the comparison within blocks stands. */
function betweenBlocksToo(
  { plan, usable, fit }: { plan: AnalysisPlan; usable: readonly Usable[]; fit: LinearFit },
  data: LinearFit['data'],
  levelOrder: Record<string, readonly string[]>,
): BetweenBlocks | null {
  const terms: Term[] = [...(plan.measure === 'adjusted-for-baseline' ? [['baseline']] : []), ['treatment']];
  const mixed =
    fitMixedModel(data, terms, { kind: 'levels', terms: [['block']] }, levelOrder) ??
    fitMixedModel(data, terms, { kind: 'levels', terms: [['block']], notBelowZero: true }, levelOrder);
  const test = mixed?.test(effectContrasts(mixed.fixed, ['treatment'])) ?? null;
  if (!mixed || !test) return null;
  const levels = fit.levels['treatment']!;
  const { table, notEstimable } = mixedMeans(
    mixed,
    levels.map((level) => ({
      name: level,
      cell: { treatment: level },
      plots: usable.filter((one) => one.treatment === level).length,
    })),
  );
  return {
    f: test.f,
    p: test.p,
    df2: test.df2,
    residual: mixed.parameters[0]!.value,
    means: table,
    notEstimable,
    variances: mixed.parameters,
    anova: { kind: 'mixed model', rows: [{ source: 'treatment', df1: test.df1, df2: test.df2, f: test.f, p: test.p }] },
  };
}
