import {
  alikeTo,
  dunnettAgainst,
  lettersFor,
  meanIntervals,
  protectedLsd,
  tukeyHsd,
  type Comparison,
  type Equivalence,
  type MeansTable,
} from '@/lib/stats/compare-means';
import { rateResponse, type RateResponse } from '@/lib/stats/rate-response';
import type { AnalysisPlan } from '@/lib/trial/analyse';
import { listed, pWord, shown } from '@/lib/trial/wording';

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
  readonly factor: 'treatment' | 'main plots' | 'subplots' | 'strips along' | 'strips across';
  readonly f: number;
  readonly p: number;
  readonly means: readonly TreatmentMean[];
  readonly pairs: readonly Comparison[];
  /** Differences from the check, p and interval both by Dunnett. */
  readonly againstCheck: readonly Comparison[] | null;
  /** Held against the margin of the plan, where it has one. */
  readonly alike: readonly Equivalence[] | null;
  readonly rateResponse: RateResponse | null;
}

/** Means, letters and comparisons of one factor from its table of adjusted means. */
export function judgeFactor(
  factor: FactorResult['factor'],
  table: MeansTable,
  f: number,
  p: number,
  plan: AnalysisPlan,
): FactorResult {
  const alpha = plan.alpha ?? 0.05;
  const pairs = plan.comparison === 'tukey' ? tukeyHsd(table, alpha) : protectedLsd(table, p, alpha);
  const letters = lettersFor(table, pairs, plan.letterOrder ?? 'highest-first');
  const check = plan.check !== null && table.levels.includes(plan.check) ? plan.check : null;
  const againstCheck = check === null ? null : dunnettAgainst(table, check, 'two', alpha);
  const relative = plan.measure === 'change-against-check' && check !== null;
  const own = meanIntervals(table);
  const checkMean = check === null ? 0 : table.means[table.levels.indexOf(check)]!;
  return {
    factor,
    f,
    p,
    pairs,
    againstCheck,
    alike: check !== null && plan.margin ? alikeTo(table, check, plan.margin, alpha) : null,
    rateResponse: plan.rates ? rateResponse(table, plan.rates.of) : null,
    means: table.levels.map((treatment, i) => {
      const common = { treatment, plots: table.n[i]!, letters: letters[i]! };
      if (!relative) return { ...common, mean: table.means[i]!, low: own[i]!.low, high: own[i]!.high };
      // Against the check the block's own check cancels, so the interval is Dunnett's of the difference; the check
      // itself is 0.
      const difference = againstCheck!.find((one) => one.a === treatment);
      return difference
        ? { ...common, mean: difference.difference, low: difference.low, high: difference.high }
        : { ...common, mean: table.means[i]! - checkMean, low: 0, high: 0 };
    }),
  };
}

const WORDS: Record<FactorResult['factor'], string> = {
  treatment: 'treatments',
  'main plots': 'main plots',
  subplots: 'subplots',
  'strips along': 'strips along',
  'strips across': 'strips across',
};

/** The verdicts in sentences: do they differ, from the check, within the margin, along the rate. */
export function verdictSentences(result: FactorResult, plan: AnalysisPlan): string[] {
  const alpha = plan.alpha ?? 0.05;
  const what = WORDS[result.factor];
  const sentences: string[] = [];
  const f = `(F = ${shown(result.f)}, ${pWord(result.p)})`;
  const above = result.againstCheck?.filter((one) => one.significant) ?? [];
  if (result.p < alpha) sentences.push(`The ${what} differ ${f}.`);
  else if (above.length > 0)
    sentences.push(
      `Taken all together, no difference between the ${what} is shown ${f}; the comparisons with the check are a test of their own.`,
    );
  else sentences.push(`No difference between the ${what} is shown ${f}. That is not proof that they are alike.`);
  if (result.againstCheck !== null && result.againstCheck.length > 0) {
    const several = result.againstCheck.length > 1;
    sentences.push(
      above.length === 0
        ? several
          ? `None differs from the check (Dunnett, ${Math.round((1 - alpha) * 100)}%).`
          : `${result.againstCheck[0]!.a} does not differ from the check (${pWord(result.againstCheck[0]!.p)}).`
        : `${above.map((one) => `${one.a} lies ${shown(Math.abs(one.difference))} ${one.difference > 0 ? 'above' : 'below'} the check (${pWord(one.p)})`).join('; ')} (Dunnett).`,
    );
  }
  if (result.alike !== null && plan.margin) {
    const alike = result.alike.filter((one) => one.alike).map((one) => one.a);
    const open = result.alike.filter((one) => !one.alike).map((one) => one.a);
    if (alike.length > 0)
      sentences.push(
        `Shown to differ from the check by no more than ${shown(plan.margin)}: ${listed(alike)} (two one-sided tests, all treatments at once).`,
      );
    if (open.length > 0) sentences.push(`Not shown to be within ${shown(plan.margin)} of the check: ${listed(open)}.`);
  }
  const rate = result.rateResponse;
  if (rate !== null && plan.rates) {
    const { linear, quadratic, lackOfFit } = rate;
    const unit = plan.rates.unit;
    sentences.push(
      linear.p < alpha
        ? `The response ${linear.value > 0 ? 'rises' : 'falls'} with the rate: ${shown(linear.value)} for each ${unit} (95 % interval ${shown(linear.low)} to ${shown(linear.high)}, ${pWord(linear.p)}).`
        : `The response is not shown to rise or fall with the rate (${pWord(linear.p)}).`,
    );
    if (quadratic !== null && quadratic.p < alpha) {
      sentences.push(
        `It bends ${quadratic.value < 0 ? 'down' : 'up'} (${pWord(quadratic.p)})${rate.turnsAt === null ? ', without turning within the rates tried' : `, turning at about ${shown(rate.turnsAt)} ${unit}`}.`,
      );
    }
    if (lackOfFit !== null && lackOfFit.p < alpha)
      sentences.push(`Neither line nor bend describes the rates well (${pWord(lackOfFit.p)}): read the means.`);
  }
  return sentences;
}
