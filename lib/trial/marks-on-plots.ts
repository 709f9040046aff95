import { rankTest, type RankTest } from '@/lib/stats/rank-tests';
import { hasTwoFactors, type Layout } from '@/lib/trial/design';
import { holm } from '@/lib/trial/repeated-days';
import { listed, pWord } from '@/lib/trial/wording';

/** Marks of one plot on one day: the share of its area that is marked (0 when it was looked at and has none). */
export interface PlotMarks {
  readonly plot: string;
  readonly block: string;
  readonly treatment: string;
  /** 0 to 1; null when the plot was not photographed. */
  readonly areaShare: number | null;
  readonly excludedBecause?: string | null;
}

/** A factor of a trial: which of its two levels each treatment carries. */
export interface TrialFactor {
  readonly name: string;
  readonly levels: readonly [string, string];
  readonly levelOf: Readonly<Record<string, 0 | 1>>;
}

/** Marked plots of one treatment or level. */
export interface MarkCount {
  readonly name: string;
  readonly plots: number;
  readonly marked: number;
  /** Mean share of the area, 0 to 1. */
  readonly meanAreaShare: number;
}

/** One question asked of the marks: how often they are there, and how large they are, both by exact orders. */
export interface MarkTest {
  readonly about: string;
  readonly counts: readonly MarkCount[];
  /** Null where all plots are alike. */
  readonly presence: RankTest | null;
  readonly area: RankTest | null;
}

export interface MarksAnalysis {
  readonly treatments: MarkTest;
  /** One test a factor, each within blocks and within the levels of the others. */
  readonly factors: readonly MarkTest[];
  /** Each treatment against the check: exact p of presence, adjusted by Holm. */
  readonly againstCheck: readonly { readonly treatment: string; readonly p: number }[];
  readonly sentences: readonly string[];
}

interface Looked extends PlotMarks {
  readonly areaShare: number;
}

const countOf = (name: string, plots: readonly Looked[]): MarkCount => ({
  name,
  plots: plots.length,
  marked: plots.filter((one) => one.areaShare > 0).length,
  meanAreaShare: plots.length === 0 ? 0 : plots.reduce((sum, one) => sum + one.areaShare, 0) / plots.length,
});

/** Presence and area ranked within strata; groups are numbered from 0. */
function testOf(
  about: string,
  names: readonly string[],
  plots: readonly Looked[],
  stratumOf: (one: Looked) => string,
  groupOf: (one: Looked) => number,
): MarkTest {
  const strata = [...new Set(plots.map(stratumOf))].map((stratum) => plots.filter((one) => stratumOf(one) === stratum));
  const ranked = (value: (one: Looked) => number): RankTest | null =>
    rankTest(
      strata.map((own) => own.map((one) => ({ treatment: groupOf(one), value: value(one) }))),
      names.length,
    );
  return {
    about,
    counts: names.map((name, i) =>
      countOf(
        name,
        plots.filter((one) => groupOf(one) === i),
      ),
    ),
    presence: ranked((one) => (one.areaShare > 0 ? 1 : 0)),
    area: ranked((one) => one.areaShare),
  };
}

function sentenceOf(test: MarkTest, alpha: number): string {
  const counts = test.counts.map((one) => `${one.name} on ${one.marked} of ${one.plots}`).join(', ');
  const { presence } = test;
  if (presence === null) return `${test.about}: marks ${counts}. All plots are alike, so nothing can be told apart.`;
  const atBest =
    presence.smallestP !== null && presence.smallestP >= alpha
      ? ` So few plots could not have shown one in any case (smallest possible p ${presence.smallestP.toPrecision(2)}).`
      : '';
  return `${test.about}: marks ${counts}; ${presence.p < alpha ? 'they differ' : 'no difference is shown'} (exact test of presence, ${pWord(presence.p)}).${atBest}`;
}

/**
 * Marks as a measure: on how many plots of each treatment they are (an exact test over the orders that the draw could
 * have laid within blocks, Cochran's Q with complete blocks, Fisher's test without blocks) and how much of the plot
 * they take. A factor of a factorial trial is tested within each block and each level of the other factors, so that
 * these cannot pass for it.
 * @see Agresti 2013, Categorical Data Analysis, 3.5 and 11.1 (exact conditional tests)
 */
export function analyseMarks(
  values: readonly PlotMarks[],
  plan: {
    readonly layout: Layout;
    readonly check: string | null;
    readonly treatmentOrder?: readonly string[];
    readonly factors?: readonly TrialFactor[];
    readonly alpha?: number;
  },
): MarksAnalysis {
  const alpha = plan.alpha ?? 0.05;
  const looked = values.filter((one): one is Looked => one.areaShare !== null && !one.excludedBecause);
  const missing = values.filter((one) => one.areaShare === null || one.excludedBecause);
  const seen = [...new Set(looked.map((one) => one.treatment))];
  const treatments = [
    ...(plan.treatmentOrder ?? []).filter((t) => seen.includes(t)),
    ...seen.filter((t) => !(plan.treatmentOrder ?? []).includes(t)),
  ];
  const withoutBlocks = plan.layout === 'completely-randomised';
  const blockOf = (one: Looked): string => (withoutBlocks ? 'all' : one.block);
  const whole = testOf('Treatments', treatments, looked, blockOf, (one) => treatments.indexOf(one.treatment));
  const note =
    missing.length === 0
      ? []
      : [`Not looked at: ${missing.map((one) => `${one.plot} (${one.excludedBecause ?? 'no photo'})`).join(', ')}.`];
  if (hasTwoFactors(plan.layout) || plan.layout === 'latin-square') {
    return {
      treatments: { ...whole, presence: null, area: null },
      factors: [],
      againstCheck: [],
      sentences: [
        `Marks ${whole.counts.map((one) => `on ${one.marked} of ${one.plots} of ${one.name}`).join(', ')}. For this layout there is no exact test of marks here.`,
        ...note,
      ],
    };
  }
  const factors = (plan.factors ?? []).map((factor) => {
    const own = looked.filter((one) => factor.levelOf[one.treatment] !== undefined);
    const others = (plan.factors ?? []).filter((other) => other !== factor);
    const stratum = (one: Looked): string =>
      JSON.stringify([blockOf(one), ...others.map((other) => other.levelOf[one.treatment] ?? null)]);
    const groupOf = (one: Looked): number => factor.levelOf[one.treatment]!;
    const within = testOf(factor.name, factor.levels, own, stratum, groupOf);
    // In a half fraction the other factors fix this one: only blocks are left to compare within.
    return within.presence === null && within.area === null && others.length > 1
      ? testOf(
          `${factor.name} (a half fraction: not told apart from two others acting together)`,
          factor.levels,
          own,
          blockOf,
          groupOf,
        )
      : within;
  });
  const check = plan.check !== null && treatments.includes(plan.check) ? plan.check : null;
  const against = check === null ? [] : treatments.filter((t) => t !== check);
  const plain = against.map((treatment) => {
    const own = looked.filter((one) => one.treatment === treatment || one.treatment === check);
    return (
      testOf(treatment, [check!, treatment], own, blockOf, (one) => (one.treatment === check ? 0 : 1)).presence?.p ?? 1
    );
  });
  const adjusted = holm(plain);
  const againstCheck = against.map((treatment, i) => ({ treatment, p: adjusted[i]! }));
  const clear = againstCheck.filter((one) => one.p < alpha);
  return {
    treatments: whole,
    factors,
    againstCheck,
    sentences: [
      ...factors.map((one) => sentenceOf(one, alpha)),
      sentenceOf(whole, alpha),
      ...(clear.length > 0
        ? [`Marked unlike the check: ${listed(clear.map((one) => `${one.treatment} (${pWord(one.p)})`))}.`]
        : []),
      ...note,
    ],
  };
}
