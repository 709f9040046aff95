import { detectableDifference, type ComparisonSet } from '@/lib/stats/power';
import { errorDf, type TrialDesign } from '@/lib/trial/design';

/** What a design can tell of one comparison: the error of a difference and how it will be judged. */
export interface Sight {
  /** Which treatments the figures are for. */
  readonly of: string;
  /** Standard error of a difference for a scatter of 1 between plots of a block. */
  readonly standardErrorPerSd: number;
  readonly df: number;
  readonly treatments: number;
  readonly verdict: ComparisonSet;
  /** What had to be assumed, or null. */
  readonly assumed: string | null;
}

const MAIN_ASSUMED =
  'It is assumed that main plots differ among each other as much as plots within one do; a trial of yours will tell.';

/**
 * How well a design sees differences, factor by factor; empty where it leaves nothing to judge the scatter by.
 * Incomplete blocks count within blocks, at the efficiency no design of that size can pass, so slightly too well where
 * it is not balanced.
 * @see Gomez & Gomez 1984, chapters 2 to 4; efficiency of incomplete blocks: Cochran & Cox 1957, 9.1
 */
export function sightOf(design: TrialDesign): Sight[] {
  const k = design.treatments.length;
  const b = design.blocks;
  const subs = design.subTreatments ?? [];
  const s = subs.length;
  const verdictFor = (levels: readonly string[]): ComparisonSet =>
    design.check !== null && levels.includes(design.check) ? 'against the check' : 'all pairs';
  const verdict = verdictFor(design.treatments);
  const whole = (standardErrorPerSd: number, df: number): Sight[] =>
    df < 1 ? [] : [{ of: 'the treatments', standardErrorPerSd, df, treatments: k, verdict, assumed: null }];
  if (design.layout === 'latin-square') return whole(Math.sqrt(2 / k), errorDf(design));
  if (design.layout === 'incomplete-blocks') {
    const size = design.blockSize ?? 0;
    const efficiency = (k * (size - 1)) / (size * (k - 1));
    return whole(Math.sqrt((2 * k) / (b * size * efficiency)), errorDf(design));
  }
  if (design.layout === 'split-plot' || design.layout === 'strip-plot') {
    const strip = design.layout === 'strip-plot';
    const mainDf = (k - 1) * (b - 1);
    const subDf = strip ? (s - 1) * (b - 1) : errorDf(design);
    if (mainDf < 1 || subDf < 1) return [];
    return [
      {
        of: strip ? 'the strips along' : 'the main plots',
        standardErrorPerSd: Math.sqrt((2 / b) * (1 + 1 / s)),
        df: mainDf,
        treatments: k,
        verdict,
        assumed: MAIN_ASSUMED,
      },
      {
        of: strip ? 'the strips across' : 'the subplots',
        standardErrorPerSd: Math.sqrt((2 / b) * (strip ? 1 + 1 / k : 1 / k)),
        df: subDf,
        treatments: s,
        verdict: verdictFor(subs),
        assumed: strip ? MAIN_ASSUMED : null,
      },
    ];
  }
  return whole(Math.sqrt(2 / b), errorDf(design));
}

/** The true difference that such a design calls a difference 8 times in 10, at the 5% level; in the unit of `sd`. */
export function differenceSeen(sight: Sight, sd: number, power = 0.8): number {
  return detectableDifference({ ...sight, standardError: sight.standardErrorPerSd * sd, power });
}
