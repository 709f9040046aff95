import { effectContrasts } from '@/lib/stats/anova';
import { largestT } from '@/lib/stats/max-t';
import { marginalMeanWeights, type Term } from '@/lib/stats/linear-model';
import { fitMixedModel, type MixedFit, type MixedTest } from '@/lib/stats/mixed-model';
import type { OverDays } from '@/lib/stats/variance-sums';
import type { Analysis, AnalysisPlan, PlotValue } from '@/lib/trial/analyse';
import { hasTwoFactors } from '@/lib/trial/design';
import { sortValues } from '@/lib/trial/usable';
import { listed, pWord, shown } from '@/lib/trial/wording';

/** A treatment against the check on one day, allowing for all days and treatments looked at. */
export interface DayComparison {
  readonly day: number;
  readonly treatment: string;
  readonly difference: number;
  readonly low: number;
  readonly high: number;
  readonly p: number;
}

/** All days in one model, or in words why not; and what remains of the days' own verdicts when all are allowed for. */
export interface OverDaysResult {
  readonly model: {
    readonly structure: OverDays;
    /** Correlation of one plot's errors from one day to the next day. */
    readonly correlation: number;
    readonly treatment: MixedTest;
    readonly byDay: MixedTest;
    readonly comparisons: readonly DayComparison[];
  } | null;
  /** The days' F tests with p by Holm over the days. */
  readonly days: readonly { readonly day: number; readonly p: number; readonly holm: number }[];
  readonly sentences: readonly string[];
}

/** Holm's p-values, in the order given. @see Holm 1979, Scand J Statist 6:65 */
export function holm(ps: readonly number[]): number[] {
  const order = ps.map((_, i) => i).sort((a, b) => ps[a]! - ps[b]!);
  const result = ps.map(() => 1);
  let floor = 0;
  order.forEach((i, rank) => {
    floor = Math.max(floor, Math.min(1, (ps.length - rank) * ps[i]!));
    result[i] = floor;
  });
  return result;
}

function fitDays(values: readonly PlotValue[], plan: AnalysisPlan): { fit: MixedFit; structure: OverDays }[] {
  const { usable } = sortValues(values, plan.measure);
  const days = [...new Set(usable.map((one) => one.day))].sort((a, b) => a - b);
  const treatments = [...new Set(usable.map((one) => one.treatment))];
  // Every treatment on every day, or treatment × day has a hole.
  if (
    days.some((day) =>
      treatments.some((treatment) => !usable.some((one) => one.day === day && one.treatment === treatment)),
    )
  )
    return [];
  const sorted = usable.toSorted((a, b) => a.day - b.day);
  const adjusted = plan.measure === 'adjusted-for-baseline';
  const data = {
    response: sorted.map((one) => one.response),
    factors: {
      block: sorted.map((one) => one.block),
      column: sorted.map((one) => one.column ?? ''),
      treatment: sorted.map((one) => one.treatment),
      day: sorted.map((one) => String(one.day)),
      plot: sorted.map((one) => one.plot),
    },
    covariates: adjusted ? { baseline: sorted.map((one) => one.baseline!) } : {},
  };
  const order = { treatment: plan.treatmentOrder ?? [], day: days.map(String) };
  // Light differs from photo to photo, so blocks (and columns) may differ from day to day.
  const ground: Term[] =
    plan.layout === 'completely-randomised'
      ? [['day']]
      : plan.layout === 'latin-square'
        ? [['day'], ['block'], ['column'], ['block', 'day'], ['column', 'day']]
        : [['day'], ['block'], ['block', 'day']];
  const terms: Term[] = [
    ...(adjusted ? [['baseline'], ['baseline', 'day']] : []),
    ...ground,
    ['treatment'],
    ['treatment', 'day'],
  ];
  const fits = (['compound symmetry', 'autoregressive'] as const).flatMap((structure) => {
    const fit = fitMixedModel(
      data,
      terms,
      { kind: 'over-days', subject: 'plot', day: sorted.map((one) => one.day), structure },
      order,
    );
    return fit ? [{ fit, structure }] : [];
  });
  // Both have two parameters: the likelier one is also the one with the smaller AIC.
  return fits.sort((a, b) => b.fit.logLik - a.fit.logLik);
}

/** Differences from the check on all days; p and interval both by the largest |t| of all. */
function againstCheckByDay(fit: MixedFit, check: string, alpha: number): DayComparison[] {
  const { treatment, day } = fit.fixed.levels as { treatment: readonly string[]; day: readonly string[] };
  const asked = day.flatMap((one) =>
    treatment
      .filter((level) => level !== check)
      .map((level) => {
        const [a, b] = [
          marginalMeanWeights(fit.fixed, { treatment: level, day: one }),
          marginalMeanWeights(fit.fixed, { treatment: check, day: one }),
        ];
        return { day: Number(one), treatment: level, weights: a.map((value, j) => value - b[j]!) };
      }),
  );
  const told = asked.flatMap((one) => {
    const estimate = fit.estimate(one.weights);
    return estimate && estimate.standardError > 0 ? [{ ...one, estimate }] : [];
  });
  if (told.length === 0) return [];
  const correlation = told.map((a) =>
    told.map((b) =>
      a === b ? 1 : fit.covariance(a.weights, b.weights) / (a.estimate.standardError * b.estimate.standardError),
    ),
  );
  const least = Math.min(...told.map((one) => one.estimate.df));
  const all = largestT(correlation, Math.max(1, least < 30 ? Math.floor(least + 1e-6) : Math.min(1e6, least)));
  const multiplier = all.quantile(1 - alpha);
  return told.map(({ day: on, treatment: of, estimate }) => {
    const reach = multiplier * estimate.standardError;
    return {
      day: on,
      treatment: of,
      difference: estimate.value,
      low: estimate.value - reach,
      high: estimate.value + reach,
      p: all.pOf(Math.abs(estimate.value / estimate.standardError)),
    };
  });
}

/**
 * All days of a trial in one model: treatment × day fixed, the errors of a plot correlated over days (compound symmetry
 * or autoregressive: the likelier is named, each p is the larger of both), Kenward-Roger degrees of freedom; and the
 * days' own tests with Holm's p. Null where fewer than two days were tested.
 */
export function overDays(
  values: readonly PlotValue[],
  plan: AnalysisPlan,
  byDay: readonly { readonly day: number; readonly analysis: Analysis }[],
): OverDaysResult | null {
  const alpha = plan.alpha ?? 0.05;
  const tested = byDay.flatMap(({ day, analysis }) =>
    analysis.kind === 'tested' ? [{ day, p: analysis.factors[0]!.p }] : [],
  );
  if (tested.length < 2) return null;
  const adjusted = holm(tested.map((one) => one.p));
  const days = tested.map((one, i) => ({ ...one, holm: adjusted[i]! }));
  const [alone, holding] = [days.filter((one) => one.p < alpha), days.filter((one) => one.holm < alpha)];
  const sentences: string[] = [];
  const dayList = (list: readonly { day: number }[]): string =>
    `day${list.length === 1 ? '' : 's'} ${listed(list.map((one) => String(one.day)))}`;
  if (alone.length > holding.length) {
    sentences.push(
      `${days.length} days were looked at, and one in twenty shows a difference by chance alone. Allowing for that (Holm), ${holding.length === 0 ? 'no day holds by itself' : `${dayList(holding)} hold${holding.length === 1 ? 's' : ''}`}; ${dayList(alone.filter((one) => one.holm >= alpha))} alone would not.`,
    );
  } else if (holding.length > 0)
    sentences.push(
      `${days.length} days were looked at; allowing for that (Holm), ${dayList(holding)} still hold${holding.length === 1 ? 's' : ''}.`,
    );
  else sentences.push(`${days.length} days were looked at, and none shows a difference.`);
  const usedDays = values.filter((one) => tested.some((day) => day.day === one.day));
  if (hasTwoFactors(plan.layout)) {
    return {
      model: null,
      days,
      sentences: [
        ...sentences,
        'With two factors all days in one model are not worked out: the area under the curve, one value a plot, is the answer over time.',
      ],
    };
  }
  const fits = fitDays(usedDays, plan);
  const found = fits[0];
  // Which of the two patterns holds cannot be told surely from few plots: each p is the larger of both, or tests speak
  // too often.
  const larger = (term: Term): MixedTest | null =>
    fits.flatMap(({ fit }) => fit.test(effectContrasts(fit.fixed, term)) ?? []).sort((a, b) => b.p - a.p)[0] ?? null;
  const treatment = larger(['treatment']);
  const change = larger(['treatment', 'day']);
  if (!found || !treatment || !change) {
    return {
      model: null,
      days,
      sentences: [
        ...sentences,
        'All days in one model have no fit (a treatment missing on a day, or too few plots): the area under the curve, one value a plot, is the answer over time.',
      ],
    };
  }
  const { fit, structure } = found;
  const [first, second] = fit.parameters.map((one) => one.value) as [number, number];
  const correlation = structure === 'autoregressive' ? second : second / (first + second);
  const check = plan.check !== null && fit.fixed.levels['treatment']!.includes(plan.check) ? plan.check : null;
  const [likelier = [], other] = check === null ? [] : fits.map((one) => againstCheckByDay(one.fit, check, alpha));
  const comparisons = likelier.map((one) => {
    const same = other?.find((two) => two.day === one.day && two.treatment === one.treatment);
    return same && same.p > one.p ? same : one;
  });
  const clear = comparisons.filter((one) => one.p < alpha);
  sentences.unshift(
    `Over all days ${treatment.p < alpha ? 'the treatments differ' : 'no difference between the treatments is shown'} (F = ${shown(treatment.f)}, ${pWord(treatment.p)}), and the difference ${change.p < alpha ? 'changes from day to day' : 'is not shown to change from day to day'} (${pWord(change.p)}).`,
    ...(comparisons.length === 0
      ? []
      : clear.length === 0
        ? ['Allowing for every day and treatment looked at, none differs from the check on any day.']
        : [
            `Allowing for every day and treatment looked at: ${clear.map((one) => `${one.treatment} ${shown(Math.abs(one.difference))} ${one.difference > 0 ? 'above' : 'below'} the check on day ${one.day} (${pWord(one.p)})`).join('; ')}.`,
          ]),
  );
  sentences.push(
    `Photos of one plot are not independent: their errors ${structure === 'autoregressive' ? `fade into each other (autoregressive, ${shown(correlation)} from one day to the next)` : `go together alike however far apart (compound symmetry, ${shown(correlation)})`}, the likelier of two patterns; each p is the larger of both. Kenward-Roger degrees of freedom.`,
  );
  return { model: { structure, correlation, treatment, byDay: change, comparisons }, days, sentences };
}
