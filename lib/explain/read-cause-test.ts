import type { CauseId } from '@/lib/explain/causes';
import type { MarksAnalysis } from '@/lib/trial/marks-on-plots';
import { pWord } from '@/lib/trial/wording';
import { CAUSE_FACTORS, type CauseTestPlan } from './cause-test';

/** What one tested factor says of causes: the strongest evidence the finder can have. */
export interface TestedFactor {
  readonly trialId: string;
  readonly trialName: string;
  readonly factor: string;
  readonly causes: readonly CauseId[];
  /** for: taking it away took the mark away; against: it stayed all the same; open: not told. */
  readonly verdict: 'for' | 'against' | 'open';
  /** True when the exact test shows it; a mark that merely stayed is weaker evidence. */
  readonly shown: boolean;
  readonly text: string;
  /** What the test cannot say. */
  readonly limits: string;
}

const LIMITS = 'one small trial on one piece of ground, in one weather: what it shows may fail elsewhere';

/**
 * Reads the marks of a cause's trial, factor by factor. A factor speaks for its causes when the mark is significantly
 * rarer with it changed; against them when the mark came back as often with it changed (on half of the plots at least,
 * both ways); else it is open.
 */
export function readCauseTest(
  plan: Pick<CauseTestPlan, 'factors' | 'fraction'>,
  trial: { readonly id: string; readonly name: string },
  day: number,
  marks: MarksAnalysis,
  alpha = 0.05,
): TestedFactor[] {
  return plan.factors.flatMap((id, j): TestedFactor[] => {
    const factor = CAUSE_FACTORS.find((one) => one.id === id);
    const test = marks.factors[j];
    const [as, changed] = test?.counts ?? [];
    if (!factor || !test || !as || !changed || as.plots === 0 || changed.plots === 0) return [];
    const counts = `on day ${day} marks lay on ${as.marked} of ${as.plots} strips ‘${factor.levels[0]}’ and on ${changed.marked} of ${changed.plots} ‘${factor.levels[1]}’`;
    const common = {
      shown: false,
      trialId: trial.id,
      trialName: trial.name,
      factor: factor.name,
      causes: factor.causes,
      limits:
        plan.fraction === 'half'
          ? `${LIMITS}; half of the combinations cannot tell it from the other two acting together`
          : LIMITS,
    };
    const p = test.presence?.p ?? 1;
    const shares = [as.marked / as.plots, changed.marked / changed.plots] as const;
    if (as.marked + changed.marked === 0)
      return [{ ...common, verdict: 'open', text: `tried: ${counts}; the mark did not come back, so nothing is told` }];
    if (p < alpha && shares[0] > shares[1])
      return [{ ...common, shown: true, verdict: 'for', text: `tried: ${counts} (exact, ${pWord(p)})` }];
    if (p < alpha)
      return [
        {
          ...common,
          shown: true,
          verdict: 'against',
          text: `tried: ${counts}: more with it changed (exact, ${pWord(p)})`,
        },
      ];
    if (shares[0] >= 0.5 && shares[1] >= 0.5 && shares[1] >= shares[0] - 0.15)
      return [{ ...common, verdict: 'against', text: `tried: ${counts}: changing it did not take the mark away` }];
    const atBest = test.presence?.smallestP ?? null;
    return [
      {
        ...common,
        verdict: 'open',
        text: `tried: ${counts} (exact, ${pWord(p)}${atBest !== null && atBest >= alpha ? `; so few marks could not have shown more than ${pWord(atBest)}` : ''}): not told`,
      },
    ];
  });
}
