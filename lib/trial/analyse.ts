import { adjustedAnova, splitPlotAnova, type AnovaTable } from '@/lib/stats/anova';
import { adjustedMeans, dunnettAgainst, lettersFor, protectedLsd, standardErrorOfDifference, tukeyHsd, type Comparison, type MeansTable } from '@/lib/stats/compare-means';
import type { LetterOrder } from '@/lib/stats/compact-letters';
import { errorMeanSquare, fitLinearModel, type LinearFit, type Term } from '@/lib/stats/linear-model';
import { normalQuantile } from '@/lib/stats/normal';
import { friedman, kruskalWallis, midRanks, type RankTest } from '@/lib/stats/rank-tests';
import { nonAdditivity, residualOutliers } from '@/lib/stats/residual-checks';
import { tQuantile } from '@/lib/stats/student-t';
import { levene } from '@/lib/stats/variance-tests';
import type { Layout } from '@/lib/trial/design';
import { costPerUnitResponse, summariseCurve, type CurveSummary } from '@/lib/trial/response-curve';

/** What is analysed: the value itself, its change since the baseline, or that change minus the check's. */
export type Measure = 'index' | 'change' | 'change-against-check';

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
  /** The plot's value before the spray; needed for the two change measures. */
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
}

/** A treatment's adjusted mean with its 95% interval, the plots behind it, and its letters. */
export interface TreatmentMean {
  readonly treatment: string;
  readonly plots: number;
  readonly mean: number;
  readonly low: number;
  readonly high: number;
  readonly letters: string;
}

/** Means and comparisons of one factor. */
export interface FactorResult {
  readonly factor: 'treatment' | 'main plots' | 'subplots';
  readonly f: number;
  readonly p: number;
  readonly means: readonly TreatmentMean[];
  readonly pairs: readonly Comparison[];
  readonly againstCheck: readonly Comparison[] | null;
}

/** One thing looked at before believing the table. */
export interface AssumptionNote {
  readonly about: 'equal spread' | 'outliers' | 'additivity' | 'few plots';
  readonly verdict: 'nothing seen' | 'caution' | 'cannot tell';
  readonly text: string;
}

/** A residual for the pictures: against the fitted value, and against its normal score. */
export interface ResidualPoint {
  readonly plot: string;
  readonly fitted: number;
  readonly residual: number;
  readonly normalScore: number;
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
      readonly table: AnovaTable;
      readonly factors: readonly FactorResult[];
      /** Error standard deviation of a plot, in the unit of the measure. */
      readonly plotSd: number;
      readonly errorDf: number;
      readonly rankTest: (RankTest & { readonly name: 'Friedman' | 'Kruskal-Wallis' }) | null;
      readonly assumptions: readonly AssumptionNote[];
      readonly residuals: readonly ResidualPoint[];
    })
  | (Common & {
      readonly kind: 'strips-only';
      readonly strips: readonly { readonly plot: string; readonly treatment: string; readonly value: number; readonly ownInterval: readonly [number, number] | null }[];
    })
  | (Common & { readonly kind: 'none' });

/** What an unreplicated comparison can and cannot say. */
export const UNREPLICATED_SENTENCE =
  'Each treatment lies on one strip only. The interval tells how well this strip was measured, not what the treatment would do elsewhere: soil, shade or mowing may differ from strip to strip as much as this. The many pixels of a photo are not replicates. No test is given; lay at least two, better four, blocks to get one.';

const list = (items: readonly string[]): string => (items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)!}`);
const shown = (value: number): string => String(Number(value.toPrecision(3)));
const pWord = (p: number): string => (p < 0.0001 ? 'p < 0.0001' : `p = ${p.toPrecision(2)}`);

interface Usable extends PlotValue {
  readonly response: number;
}

const cellOf = (one: Usable): string => JSON.stringify([one.treatment, one.subTreatment ?? null]);

function sort(values: readonly PlotValue[], measure: Measure): { usable: Usable[]; leftOut: LeftOut[] } {
  const usable: Usable[] = [];
  const leftOut: LeftOut[] = [];
  for (const one of values) {
    const { plot, day, value, baseline = null } = one;
    const out = (reason: string): void => void leftOut.push({ plot, day, reason });
    if (one.excludedBecause) out(one.excludedBecause);
    else if (value === null) out('no value on this day');
    else if (!Number.isFinite(value)) throw new RangeError(`value: expected a finite number or null for plot ${plot}, got ${value}`);
    else if (measure !== 'index' && baseline === null) out('no value from before the spray to compare with');
    else usable.push({ ...one, response: measure === 'index' ? value : value - baseline! });
  }
  return { usable, leftOut };
}

function judge(factor: FactorResult['factor'], table: MeansTable, f: number, p: number, plan: AnalysisPlan): FactorResult {
  const alpha = plan.alpha ?? 0.05;
  const pairs = plan.comparison === 'tukey' ? tukeyHsd(table, alpha) : protectedLsd(table, p, alpha);
  const letters = lettersFor(table, pairs, plan.letterOrder ?? 'highest-first');
  const check = plan.check !== null && table.levels.includes(plan.check) ? table.levels.indexOf(plan.check) : -1;
  const relative = plan.measure === 'change-against-check' && check >= 0;
  const t = tQuantile(0.975, table.df);
  return {
    factor,
    f,
    p,
    pairs,
    againstCheck: check >= 0 ? dunnettAgainst(table, plan.check!, 'two', alpha) : null,
    means: table.levels.map((treatment, i) => {
      // Against the check the block's own check cancels, so the interval is that of the difference; the check itself is 0.
      const mean = table.means[i]! - (relative ? table.means[check]! : 0);
      const error = relative ? (i === check ? 0 : standardErrorOfDifference(table, i, check)) : Math.sqrt(table.covariance[i]![i]!);
      return { treatment, plots: table.n[i]!, mean, low: mean - t * error, high: mean + t * error, letters: letters[i]! };
    }),
  };
}

function lookAt(fit: LinearFit, usable: readonly Usable[], byBlock: boolean): AssumptionNote[] {
  const notes: AssumptionNote[] = [];
  const treatments = fit.levels['treatment']!;
  const groups = treatments.map((level) => fit.residuals.filter((_, i) => usable[i]!.treatment === level));
  const spread = groups.every((group) => group.length >= 3) ? levene(groups) : null;
  if (spread === null) {
    notes.push({ about: 'equal spread', verdict: 'cannot tell', text: 'Fewer than three plots in some treatment: whether all scatter alike cannot be told.' });
  } else if (spread.p < 0.05) {
    notes.push({ about: 'equal spread', verdict: 'caution', text: `Some treatments scatter more than others (Levene on residuals, ${pWord(spread.p)}): the common error is too small for those and too large for the rest.` });
  } else notes.push({ about: 'equal spread', verdict: 'nothing seen', text: `The treatments scatter about alike (Levene on residuals, ${pWord(spread.p)}).` });

  const outliers = residualOutliers(fit);
  if (outliers.length > 0) {
    notes.push({ about: 'outliers', verdict: 'caution', text: `Plot ${list(outliers.map((one) => usable[one.index]!.plot))} does not fit the rest (${pWord(outliers[0]!.p)} after allowing for all plots). Look at its photo; leave it out only for a reason you can see there.` });
  } else notes.push({ about: 'outliers', verdict: 'nothing seen', text: 'No plot stands out from the rest.' });

  const additive = byBlock ? nonAdditivity(fit) : null;
  if (additive !== null && additive.p < 0.05) {
    notes.push({ about: 'additivity', verdict: 'caution', text: `The effect seems larger where the turf was already greener or paler (Tukey's one degree of freedom, ${pWord(additive.p)}).` });
  } else if (additive !== null) notes.push({ about: 'additivity', verdict: 'nothing seen', text: `The effect does not change with the level of the block (Tukey's one degree of freedom, ${pWord(additive.p)}).` });

  const single = treatments.filter((level) => usable.filter((one) => one.treatment === level).length === 1);
  if (single.length > 0) {
    notes.push({ about: 'few plots', verdict: 'caution', text: `${list(single)} ${single.length === 1 ? 'has' : 'have'} one plot left: the interval leans wholly on the scatter of the other treatments.` });
  }
  if (fit.residualDf < 6) {
    notes.push({ about: 'few plots', verdict: 'caution', text: `Only ${fit.residualDf} degrees of freedom for the error: a missing difference here says little.` });
  }
  return notes;
}

function residualPoints(fit: LinearFit, usable: readonly Usable[]): ResidualPoint[] {
  const { ranks } = midRanks(fit.residuals);
  const n = usable.length;
  // Blom 1958 plotting positions.
  return usable.map((one, i) => ({ plot: one.plot, fitted: fit.fitted[i]!, residual: fit.residuals[i]!, normalScore: normalQuantile((ranks[i]! - 0.375) / (n + 0.25)) }));
}

function rank(usable: readonly Usable[], layout: Layout): (RankTest & { name: 'Friedman' | 'Kruskal-Wallis' }) | null {
  const treatments = [...new Set(usable.map((one) => one.treatment))];
  if (layout === 'randomised-blocks' || layout === 'paired-strips') {
    const blocks = [...new Set(usable.map((one) => one.block))];
    const test = friedman(blocks.map((block) => treatments.map((t) => usable.find((one) => one.block === block && one.treatment === t)?.response ?? null)));
    if (test) return { ...test, name: 'Friedman' };
    return null;
  }
  const test = kruskalWallis(treatments.map((t) => usable.filter((one) => one.treatment === t).map((one) => one.response)));
  return test ? { ...test, name: 'Kruskal-Wallis' } : null;
}

function rankSentence(test: RankTest & { name: string }, plan: AnalysisPlan): string {
  const verdict = test.p < (plan.alpha ?? 0.05) ? 'the treatments differ' : 'no difference is shown';
  return `By ranks, which is the safer reading for ratings: ${verdict} (${test.name}, chi-square ${shown(test.statistic)} with ${test.df} df, ${pWord(test.p)}).`;
}

function verdictSentences(result: FactorResult, plan: AnalysisPlan): string[] {
  const alpha = plan.alpha ?? 0.05;
  const sentences: string[] = [];
  if (result.p < alpha) sentences.push(`The ${result.factor === 'treatment' ? 'treatments' : result.factor} differ (F = ${shown(result.f)}, ${pWord(result.p)}).`);
  else sentences.push(`No difference between the ${result.factor === 'treatment' ? 'treatments' : result.factor} is shown (F = ${shown(result.f)}, ${pWord(result.p)}). That is not proof that they are alike.`);
  const above = result.againstCheck?.filter((one) => one.significant) ?? [];
  if (result.againstCheck !== null && result.againstCheck.length > 0) {
    sentences.push(
      above.length === 0
        ? `None differs from the check (Dunnett, ${Math.round((1 - alpha) * 100)}%).`
        : `${above.map((one) => `${one.a} lies ${shown(Math.abs(one.difference))} ${one.difference > 0 ? 'above' : 'below'} the check (${pWord(one.p)})`).join('; ')} (Dunnett).`,
    );
  }
  return sentences;
}

/**
 * Analyses the values of one day (or one summary a plot): the linear model of the layout, its table, adjusted means with
 * 95% intervals, letters, Dunnett against the check, and what must be said beside them.
 * With a change against the check the model is fitted to the plots' own changes: the check of the block cancels in every
 * comparison, and its scatter stays in the error, where subtracting it beforehand would hide it.
 * @throws RangeError for a value that is not finite, or one plot given twice
 */
export function analyseValues(values: readonly PlotValue[], plan: AnalysisPlan): Analysis {
  const { usable, leftOut } = sort(values, plan.measure);
  const twice = values.find((one, i) => values.findIndex((other) => other.plot === one.plot) !== i);
  if (twice) throw new RangeError(`values: expected one value a plot, got plot ${twice.plot} twice`);
  const missing = leftOut.length === 0 ? [] : [`${leftOut.length} of ${values.length} plots do not count: ${leftOut.map((one) => `${one.plot} (${one.reason})`).join('; ')}.`];
  const treatments = [...new Set(usable.map((one) => one.treatment))];
  if (treatments.length < 2) return { kind: 'none', leftOut, sentences: ['Fewer than two treatments have a value, so there is nothing to compare.', ...missing] };
  if (plan.measure === 'change-against-check' && (plan.check === null || (plan.layout !== 'split-plot' && !treatments.includes(plan.check)))) {
    return { kind: 'none', leftOut, sentences: ['No check strip has a value, so a change against the check cannot be given.', ...missing] };
  }
  if (new Set(usable.map(cellOf)).size === usable.length) {
    const check = plan.measure === 'change-against-check' ? usable.find((one) => one.treatment === plan.check) : undefined;
    return {
      kind: 'strips-only',
      leftOut,
      sentences: [UNREPLICATED_SENTENCE, ...missing],
      strips: usable.map((one) => ({ plot: one.plot, treatment: one.treatment, value: one.response - (check?.response ?? 0), ownInterval: one.ownInterval ?? null })),
    };
  }
  if (plan.layout === 'split-plot') return analyseSplitPlot(usable, leftOut, missing, plan);

  const factors: Record<string, string[]> = { block: usable.map((one) => one.block), treatment: usable.map((one) => one.treatment) };
  const terms: Term[] = [['block']];
  if (plan.layout === 'latin-square') {
    if (usable.some((one) => one.column === undefined || one.column === null)) throw new RangeError('column: expected the place within the row for every plot of a Latin square, got none');
    factors['column'] = usable.map((one) => one.column!);
    terms.push(['column']);
  }
  terms.push(['treatment']);
  const fit = fitLinearModel({ response: usable.map((one) => one.response), factors }, terms, plan.treatmentOrder ? { treatment: plan.treatmentOrder } : {});
  const means = adjustedMeans(fit, 'treatment');
  const ms = errorMeanSquare(fit);
  if (means === null || ms === null) {
    return { kind: 'none', leftOut, sentences: ['After blocks and treatments no plot is left over to judge the scatter by: no test can be made. More blocks are needed.', ...missing] };
  }
  const centre = fit.fitted.reduce((sum, value) => sum + value, 0) / fit.fitted.length;
  const size = fit.data.response.reduce((sum, value) => sum + (value - centre) ** 2, 0) + centre ** 2;
  if (fit.residualSs <= 1e-22 * size || size === 0) {
    const byRank = plan.scale === 'ordinal' ? rank(usable, plan.layout) : null;
    return {
      kind: 'none',
      leftOut,
      sentences: [...(byRank ? [rankSentence(byRank, plan)] : []), 'The plots of a treatment do not scatter at all, so the error is zero and no F test means anything. Check whether values were copied.', ...missing],
    };
  }
  const table = adjustedAnova(fit);
  const row = table.rows.find((one) => one.source === 'treatment')!;
  if (row.f === null || row.p === null) return { kind: 'none', leftOut, sentences: ['With the plots that are left, treatments cannot be told from blocks.', ...missing] };
  const untold = [...means.notEstimable];
  const result = judge('treatment', means.table, row.f, row.p, plan);
  const rankTest = rank(usable, plan.layout);
  const sentences = verdictSentences(result, plan);
  if (plan.scale === 'ordinal' && rankTest) {
    sentences.unshift(rankSentence(rankTest, plan));
  }
  if (untold.length > 0) sentences.push(`No mean can be given for ${list(untold)}: the plots left do not tie it to the others.`);
  if (leftOut.length > 0) sentences.push('Means are adjusted: each treatment is put in all blocks alike, as if no plot were missing.');
  return {
    kind: 'tested',
    leftOut,
    sentences: [...sentences, ...missing],
    table,
    factors: [result],
    plotSd: Math.sqrt(ms),
    errorDf: fit.residualDf,
    rankTest,
    assumptions: lookAt(fit, usable, true),
    residuals: residualPoints(fit, usable),
  };
}

function analyseSplitPlot(usable: readonly Usable[], leftOut: readonly LeftOut[], missing: readonly string[], plan: AnalysisPlan): Analysis {
  if (usable.some((one) => one.subTreatment === undefined || one.subTreatment === null)) throw new RangeError('subTreatment: expected one for every plot of a split plot, got none');
  const response = usable.map((one) => one.response);
  const [block, main, sub] = [usable.map((one) => one.block), usable.map((one) => one.treatment), usable.map((one) => one.subTreatment!)];
  const strata = splitPlotAnova(response, block, main, sub);
  if (!strata.ok) return { kind: 'none', leftOut, sentences: [`No split-plot test: ${strata.reason}.`, ...missing] };
  if (!(strata.wholePlotMs > 0) || !(strata.subPlotMs > 0)) return { kind: 'none', leftOut, sentences: ['One of the two errors is zero, so no test means anything. Check whether values were copied.', ...missing] };
  const row = (source: string) => strata.table.rows.find((one) => one.source === source)!;
  const tableOf = (values: readonly string[], ms: number, df: number): MeansTable => {
    const levels = [...new Set([...(plan.treatmentOrder ?? []).filter((level) => values.includes(level)), ...values])];
    const groups = levels.map((level) => response.filter((_, i) => values[i] === level));
    return {
      levels,
      means: groups.map((group) => group.reduce((sum, value) => sum + value, 0) / group.length),
      covariance: levels.map((_, i) => levels.map((__, j) => (i === j ? ms / groups[i]!.length : 0))),
      df,
      n: groups.map((group) => group.length),
    };
  };
  const factors = [
    judge('main plots', tableOf(main, strata.wholePlotMs, strata.wholePlotDf), row('main').f!, row('main').p!, plan),
    judge('subplots', tableOf(sub, strata.subPlotMs, strata.subPlotDf), row('sub').f!, row('sub').p!, plan),
  ];
  const both = row('main × sub');
  const together =
    both.p! < (plan.alpha ?? 0.05)
      ? `The effect of one factor depends on the other (interaction F = ${shown(both.f!)}, ${pWord(both.p!)}): read the cells, not the averages below.`
      : `The two factors act independently as far as can be seen (interaction ${pWord(both.p!)}).`;
  const fit = fitLinearModel({ response, factors: { block, treatment: main, sub } }, [['block'], ['treatment'], ['block', 'treatment'], ['sub'], ['treatment', 'sub']]);
  return {
    kind: 'tested',
    leftOut,
    sentences: [together, ...factors.flatMap((one) => verdictSentences(one, plan)), ...missing],
    table: strata.table,
    factors,
    plotSd: Math.sqrt(strata.subPlotMs),
    errorDf: strata.subPlotDf,
    rankTest: null,
    assumptions: lookAt(fit, usable, false),
    residuals: residualPoints(fit, usable),
  };
}

/** One treatment over time. */
export interface TreatmentCurve {
  readonly treatment: string;
  readonly points: readonly { readonly day: number; readonly response: number; readonly low: number | null; readonly high: number | null }[];
  readonly summary: CurveSummary | null;
  /** Money per index × day, or null without gain or price. */
  readonly costPerUnit: number | null;
}

interface PlotSummary {
  readonly own: PlotValue;
  readonly curve: CurveSummary | null;
  readonly why: string | null;
}

function summaryValue(own: PlotValue, day: number, value: number | null, why: string | null): PlotValue {
  return { ...own, day, value, baseline: 0, ownInterval: null, excludedBecause: why };
}

/**
 * Each plot's peak. A peak is not additive, so against the check each day's change of the block's own check is taken off
 * first; the check itself is then 0 throughout and takes no part in the comparison.
 */
function peakValues(values: readonly PlotValue[], plan: AnalysisPlan, summaries: readonly PlotSummary[], day: number): PlotValue[] {
  if (plan.measure !== 'change-against-check') return summaries.map(({ own, curve, why }) => summaryValue(own, day, curve?.peak ?? null, why));
  const { usable } = sort(values, plan.measure);
  return summaries
    .filter(({ own }) => own.treatment !== plan.check && own.subTreatment !== plan.check)
    .map(({ own, why }) => {
      const differences = usable
        .filter((one) => one.plot === own.plot)
        .flatMap((one) => {
          const checks = usable.filter((other) => other.block === one.block && other.day === one.day && (other.treatment === plan.check || other.subTreatment === plan.check));
          return checks.length === 0 ? [] : [one.response - checks.reduce((sum, check) => sum + check.response, 0) / checks.length];
        });
      return summaryValue(own, day, differences.length === 0 ? null : Math.max(...differences), why);
    });
}

/** A trial over all its days. */
export interface TrialAnalysis {
  readonly byDay: readonly { readonly day: number; readonly analysis: Analysis }[];
  /** Area under each plot's curve and each plot's peak, analysed as one value a plot (summary measures). The check has no peak against itself. */
  readonly area: Analysis;
  readonly peak: Analysis;
  readonly curves: readonly TreatmentCurve[];
}

/**
 * Per date, and over time by summary measures: each plot's curve becomes one number (area under it, its peak), and those
 * are analysed like one day, so that repeated photos of a plot do not count as replicates.
 * A plot whose curve lacks the first or last day is left out of the summaries, with that reason.
 * @param costPerArea money per area of each treatment, for cost per unit of response
 * @param threshold response that counts as above the check (index units)
 * @see Matthews, Altman, Campbell & Royston 1990, BMJ 300:230 (summary measures)
 */
export function analyseTrial(values: readonly PlotValue[], plan: AnalysisPlan, costPerArea: Readonly<Record<string, number>> = {}, threshold = 0): TrialAnalysis {
  const days = [...new Set(values.map((one) => one.day))].sort((a, b) => a - b);
  const byDay = days.map((day) => ({ day, analysis: analyseValues(values.filter((one) => one.day === day), plan) }));
  const plots = [...new Set(values.map((one) => one.plot))];
  const summaries = plots.map((plot) => {
    const own = values.filter((one) => one.plot === plot);
    const { usable } = sort(own, plan.measure);
    const points = usable.map((one) => ({ day: one.day, response: one.response }));
    if (plan.measure !== 'index' && points.length > 0 && !points.some((point) => point.day <= 0)) points.push({ day: 0, response: 0 });
    const curve = summariseCurve(points, threshold);
    const last = days.at(-1)!;
    const first = plan.measure === 'index' ? days[0]! : Math.min(0, days[0]!);
    const why =
      own.some((one) => one.excludedBecause) && points.length === 0
        ? own.find((one) => one.excludedBecause)!.excludedBecause!
        : curve === null || curve.lastDay !== last || curve.firstDay !== first
          ? `its curve lacks ${curve === null ? 'enough days' : curve.lastDay !== last ? `day ${last}` : `day ${first}`}`
          : null;
    return { own: own[0]!, curve, why };
  });
  const summaryPlan: AnalysisPlan = { ...plan, scale: 'interval', measure: plan.measure === 'change-against-check' ? 'change-against-check' : 'index' };
  const tooFew: Analysis = { kind: 'none', leftOut: [], sentences: ['Two days at least are needed to speak of a curve.'] };
  const oneDay = days.length < 2 && plan.measure === 'index';
  const area = oneDay
    ? tooFew
    : analyseValues(summaries.map(({ own, curve, why }) => summaryValue(own, days.at(-1)!, curve?.area ?? null, why)), summaryPlan);
  const peak = oneDay ? tooFew : analyseValues(peakValues(values, plan, summaries, days.at(-1)!), { ...summaryPlan, measure: 'index' });
  const treatments = [...new Set([...(plan.treatmentOrder ?? []), ...values.map((one) => one.treatment)])].filter((t) => values.some((one) => one.treatment === t));
  const curves = treatments.map((treatment): TreatmentCurve => {
    const points = byDay.flatMap(({ day, analysis }) => {
      if (analysis.kind === 'tested') {
        const mean = analysis.factors[0]!.means.find((one) => one.treatment === treatment);
        return mean ? [{ day, response: mean.mean, low: mean.low, high: mean.high }] : [];
      }
      if (analysis.kind === 'none') return [];
      const strips = analysis.strips.filter((one) => one.treatment === treatment);
      const only = strips.length === 1 ? strips[0]!.ownInterval : null;
      return strips.length === 0 ? [] : [{ day, response: strips.reduce((sum, one) => sum + one.value, 0) / strips.length, low: only?.[0] ?? null, high: only?.[1] ?? null }];
    });
    const start = plan.measure !== 'index' && points.length > 0 && !points.some((point) => point.day <= 0) ? [{ day: 0, response: 0 }] : [];
    const summary = summariseCurve([...start, ...points], threshold);
    const cost = costPerArea[treatment];
    return { treatment, points, summary, costPerUnit: summary !== null && cost !== undefined ? costPerUnitResponse(cost, summary.area) : null };
  });
  return { byDay, area, peak, curves };
}
