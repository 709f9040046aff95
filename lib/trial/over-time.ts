import { analyseValues, type Analysis, type AnalysisPlan, type PlotValue } from '@/lib/trial/analyse';
import { overDays, type OverDaysResult } from '@/lib/trial/repeated-days';
import { costPerUnitResponse, summariseCurve, type CurveSummary } from '@/lib/trial/response-curve';
import { sortValues } from '@/lib/trial/usable';

/** One treatment over time. */
export interface TreatmentCurve {
  readonly treatment: string;
  readonly points: readonly {
    readonly day: number;
    readonly response: number;
    readonly low: number | null;
    readonly high: number | null;
  }[];
  readonly summary: CurveSummary | null;
  /** Money per index × day, or null without gain or price. */
  readonly costPerUnit: number | null;
}

interface PlotSummary {
  readonly own: PlotValue;
  readonly curve: CurveSummary | null;
  readonly why: string | null;
}

function summaryValue(
  own: PlotValue,
  day: number,
  value: number | null,
  why: string | null,
  plan: AnalysisPlan,
): PlotValue {
  return {
    ...own,
    day,
    value,
    baseline: plan.measure === 'adjusted-for-baseline' ? (own.baseline ?? null) : 0,
    ownInterval: null,
    excludedBecause: why,
  };
}

/**
 * Each plot's peak. A peak is not additive, so against the check each day's change of the block's own check is taken
 * off first; the check itself is then 0 throughout and takes no part in the comparison.
 */
function peakValues(
  values: readonly PlotValue[],
  plan: AnalysisPlan,
  summaries: readonly PlotSummary[],
  day: number,
): PlotValue[] {
  if (plan.measure !== 'change-against-check')
    return summaries.map(({ own, curve, why }) => summaryValue(own, day, curve?.peak ?? null, why, plan));
  const { usable } = sortValues(values, plan.measure);
  // Without blocks, or with blocks that may lack the check, all checks of the day stand for it.
  const wide = plan.layout === 'completely-randomised' || plan.layout === 'incomplete-blocks';
  return summaries
    .filter(({ own }) => own.treatment !== plan.check && own.subTreatment !== plan.check)
    .map(({ own, why }) => {
      const differences = usable
        .filter((one) => one.plot === own.plot)
        .flatMap((one) => {
          const checks = usable.filter(
            (other) =>
              (wide || other.block === one.block) &&
              other.day === one.day &&
              (other.treatment === plan.check || other.subTreatment === plan.check),
          );
          return checks.length === 0
            ? []
            : [one.response - checks.reduce((sum, check) => sum + check.response, 0) / checks.length];
        });
      return summaryValue(own, day, differences.length === 0 ? null : Math.max(...differences), why, plan);
    });
}

/** A trial over all its days. */
export interface TrialAnalysis {
  readonly byDay: readonly { readonly day: number; readonly analysis: Analysis }[];
  /**
   * Area under each plot's curve and each plot's peak, analysed as one value a plot (summary measures). The check has
   * no peak against itself.
   */
  readonly area: Analysis;
  readonly peak: Analysis;
  readonly curves: readonly TreatmentCurve[];
  /** All days together, and what looking on several days means; null where fewer than two days were tested. */
  readonly together: OverDaysResult | null;
}

/**
 * Per date, and over time by summary measures: each plot's curve becomes one number (area under it, its peak), and
 * those are analysed like one day, so that repeated photos of a plot do not count as replicates. A plot whose curve
 * lacks the first or last day is left out of the summaries, with that reason.
 * @param costPerArea money per area of each treatment, for cost per unit of response
 * @param threshold response that counts as above the check (index units)
 * @see Matthews, Altman, Campbell & Royston 1990, BMJ 300:230 (summary measures)
 */
export function analyseTrial(
  values: readonly PlotValue[],
  plan: AnalysisPlan,
  costPerArea: Readonly<Record<string, number>> = {},
  threshold = 0,
): TrialAnalysis {
  const days = [...new Set(values.map((one) => one.day))].sort((a, b) => a - b);
  const byDay = days.map((day) => ({
    day,
    analysis: analyseValues(
      values.filter((one) => one.day === day),
      plan,
    ),
  }));
  const plots = [...new Set(values.map((one) => one.plot))];
  const summaries = plots.map((plot) => {
    const own = values.filter((one) => one.plot === plot);
    const { usable } = sortValues(own, plan.measure);
    const points = usable.map((one) => ({ day: one.day, response: one.response }));
    if (plan.measure.startsWith('change') && points.length > 0 && !points.some((point) => point.day <= 0))
      points.push({ day: 0, response: 0 });
    const curve = summariseCurve(points, threshold);
    const last = days.at(-1)!;
    const first = !plan.measure.startsWith('change') ? days[0]! : Math.min(0, days[0]!);
    const why =
      own.some((one) => one.excludedBecause) && points.length === 0
        ? own.find((one) => one.excludedBecause)!.excludedBecause!
        : curve === null || curve.lastDay !== last || curve.firstDay !== first
          ? `its curve lacks ${curve === null ? 'enough days' : curve.lastDay !== last ? `day ${last}` : `day ${first}`}`
          : null;
    return { own: own[0]!, curve, why };
  });
  const summaryPlan: AnalysisPlan = {
    ...plan,
    scale: 'interval',
    margin: null,
    measure:
      plan.measure === 'change-against-check' || plan.measure === 'adjusted-for-baseline' ? plan.measure : 'index',
  };
  const tooFew: Analysis = {
    kind: 'none',
    leftOut: [],
    sentences: ['Two days at least are needed to speak of a curve.'],
  };
  const oneDay = days.length < 2 && !plan.measure.startsWith('change');
  const area = oneDay
    ? tooFew
    : analyseValues(
        summaries.map(({ own, curve, why }) => summaryValue(own, days.at(-1)!, curve?.area ?? null, why, plan)),
        summaryPlan,
      );
  const peak = oneDay
    ? tooFew
    : analyseValues(peakValues(values, plan, summaries, days.at(-1)!), {
        ...summaryPlan,
        measure: plan.measure === 'adjusted-for-baseline' ? plan.measure : 'index',
      });
  const treatments = [...new Set([...(plan.treatmentOrder ?? []), ...values.map((one) => one.treatment)])].filter((t) =>
    values.some((one) => one.treatment === t),
  );
  const curves = treatments.map((treatment): TreatmentCurve => {
    const points = byDay.flatMap(({ day, analysis }) => {
      if (analysis.kind === 'tested') {
        const mean = analysis.factors[0]!.means.find((one) => one.treatment === treatment);
        return mean ? [{ day, response: mean.mean, low: mean.low, high: mean.high }] : [];
      }
      if (analysis.kind === 'none') return [];
      const strips = analysis.strips.filter((one) => one.treatment === treatment);
      const only = strips.length === 1 ? strips[0]!.ownInterval : null;
      return strips.length === 0
        ? []
        : [
            {
              day,
              response: strips.reduce((sum, one) => sum + one.value, 0) / strips.length,
              low: only?.[0] ?? null,
              high: only?.[1] ?? null,
            },
          ];
    });
    const start =
      plan.measure.startsWith('change') && points.length > 0 && !points.some((point) => point.day <= 0)
        ? [{ day: 0, response: 0 }]
        : [];
    const summary = summariseCurve([...start, ...points], threshold);
    const cost = costPerArea[treatment];
    return {
      treatment,
      points,
      summary,
      costPerUnit: summary !== null && cost !== undefined ? costPerUnitResponse(cost, summary.area) : null,
    };
  });
  return { byDay, area, peak, curves, together: overDays(values, plan, byDay) };
}
