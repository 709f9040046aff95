import { judgeResiduals } from '@/lib/stats/residual-null';
import { nonAdditivity } from '@/lib/stats/residual-checks';
import type { LinearFit } from '@/lib/stats/linear-model';
import { pitmanMorgan } from '@/lib/stats/variance-tests';
import { listed, pWord } from '@/lib/trial/wording';

/** One thing looked at before believing the table. */
export interface AssumptionNote {
  readonly about: 'equal spread' | 'outliers' | 'additivity' | 'few plots';
  readonly verdict: 'nothing seen' | 'caution' | 'cannot tell';
  readonly text: string;
}

interface LookedAt {
  readonly plot: string;
  readonly block: string;
  readonly treatment: string;
  readonly response: number;
}

/** Pairs of the two treatments' values, or null where the trial is not made of complete pairs. */
function pairsOf(usable: readonly LookedAt[], treatments: readonly string[]): [number, number][] | null {
  if (treatments.length !== 2) return null;
  const pairs: [number, number][] = [];
  for (const block of new Set(usable.map((one) => one.block))) {
    const own = treatments.map((treatment) =>
      usable.filter((one) => one.block === block && one.treatment === treatment),
    );
    if (own.some((list) => list.length > 1)) return null;
    if (own.every((list) => list.length === 1)) pairs.push([own[0]![0]!.response, own[1]![0]!.response]);
  }
  return pairs;
}

function equalSpread(
  judged: { readonly p: number } | null,
  enough: boolean,
  usable: readonly LookedAt[],
  treatments: readonly string[],
  byBlock: boolean,
): AssumptionNote {
  const about = 'equal spread' as const;
  const say = (p: number, how: string): AssumptionNote =>
    p < 0.05
      ? {
          about,
          verdict: 'caution',
          text: `Some treatments scatter more than others (${how}, ${pWord(p)}): the common error is too small for those and too large for the rest.`,
        }
      : { about, verdict: 'nothing seen', text: `The treatments scatter about alike (${how}, ${pWord(p)}).` };
  const pairs = byBlock ? pairsOf(usable, treatments) : null;
  if (pairs !== null) {
    const test = pitmanMorgan(pairs);
    if (test) return say(test.p, 'Pitman and Morgan on the pairs, which sees little');
    return {
      about,
      verdict: 'cannot tell',
      text: 'With two treatments in pairs the residuals of one mirror those of the other: whether both scatter alike cannot be told from so few pairs.',
    };
  }
  if (!enough)
    return {
      about,
      verdict: 'cannot tell',
      text: 'Fewer than three plots in some treatment: whether all scatter alike cannot be told.',
    };
  if (judged === null)
    return {
      about,
      verdict: 'cannot tell',
      text: 'This layout ties the residuals of the treatments to each other: whether all scatter alike cannot be told.',
    };
  return say(judged.p, 'Levene on residuals, judged by this layout');
}

/** Equal spread, outliers, additivity and few plots of a linear model whose factor `treatment` is looked at. */
export function lookAt(
  fit: LinearFit,
  usable: readonly LookedAt[],
  { byBlock, additivity }: { byBlock: boolean; additivity: boolean },
): AssumptionNote[] {
  const treatments = fit.levels['treatment']!;
  const groups = treatments.map((level) => usable.flatMap((one, i) => (one.treatment === level ? [i] : [])));
  const judged = judgeResiduals(fit, groups);
  const notes = [
    equalSpread(
      judged.spread,
      groups.every((group) => group.length >= 3),
      usable,
      treatments,
      byBlock,
    ),
  ];

  const { farthest } = judged;
  if (farthest === null)
    notes.push({ about: 'outliers', verdict: 'cannot tell', text: 'Too few plots to tell whether one stands out.' });
  else if (farthest.p < 0.05) {
    // In pairs both plots of a block stand out alike.
    const away = Math.abs(fit.residuals[farthest.index]!);
    const same = usable
      .filter(
        (one, i) =>
          one.block === usable[farthest.index]!.block && Math.abs(Math.abs(fit.residuals[i]!) - away) <= 1e-9 * away,
      )
      .map((one) => one.plot);
    const [which, where] =
      same.length > 1
        ? [`Plots ${listed(same)} do not fit the rest, one of them or both`, 'their photos']
        : [`Plot ${usable[farthest.index]!.plot} does not fit the rest`, 'its photo'];
    notes.push({
      about: 'outliers',
      verdict: 'caution',
      text: `${which} (${pWord(farthest.p)} after allowing for all plots). Look at ${where}; leave one out only for a reason you can see there.`,
    });
  } else notes.push({ about: 'outliers', verdict: 'nothing seen', text: 'No plot stands out from the rest.' });

  const additive = additivity ? nonAdditivity(fit) : null;
  if (additive !== null && additive.p < 0.05) {
    notes.push({
      about: 'additivity',
      verdict: 'caution',
      text: `The effect seems larger where the turf was already greener or paler (Tukey's one degree of freedom, ${pWord(additive.p)}).`,
    });
  } else if (additive !== null)
    notes.push({
      about: 'additivity',
      verdict: 'nothing seen',
      text: `The effect does not change with the level of the block (Tukey's one degree of freedom, ${pWord(additive.p)}).`,
    });

  const single = treatments.filter((level) => usable.filter((one) => one.treatment === level).length === 1);
  if (single.length > 0) {
    notes.push({
      about: 'few plots',
      verdict: 'caution',
      text: `${listed(single)} ${single.length === 1 ? 'has' : 'have'} one plot left: the interval leans wholly on the scatter of the other treatments.`,
    });
  }
  if (fit.residualDf < 6) {
    notes.push({
      about: 'few plots',
      verdict: 'caution',
      text: `Only ${fit.residualDf} degrees of freedom for the error: a missing difference here says little.`,
    });
  }
  return notes;
}
