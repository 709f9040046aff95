import type { CauseId } from '@/lib/explain/causes';
import { designProblems, type TrialDesign } from '@/lib/trial/design';
import type { MarksAnalysis, TrialFactor } from '@/lib/trial/marks-on-plots';
import { pWord } from '@/lib/trial/wording';

/** What a test of a cause can change in a spray; level 0 sprays as it was sprayed, level 1 changes this one thing. */
export type CauseFactorId = 'carrier' | 'iron' | 'surfactant' | 'hour' | 'strength';

export interface CauseFactor {
  readonly id: CauseFactorId;
  readonly name: string;
  readonly levels: readonly [string, string];
  /** Causes (as the finder calls them) that would be taken away by level 1. */
  readonly causes: readonly CauseId[];
}

/** Every factor that a small trial can hold, the one that speaks to most causes first. */
// prettier-ignore
export const CAUSE_FACTORS: readonly CauseFactor[] = [
  { id: 'carrier', name: 'carrier volume', levels: ['carrier as sprayed', 'twice the carrier'], causes: ['iron-on-leaf', 'strong-solution', 'dried-too-fast'] },
  { id: 'iron', name: 'iron', levels: ['iron as sprayed', 'half the iron'], causes: ['iron-on-leaf', 'too-much-iron', 'iron-too-soon'] },
  { id: 'surfactant', name: 'surfactant', levels: ['with surfactant', 'without surfactant'], causes: ['surfactant-with-ammonium'] },
  { id: 'hour', name: 'hour', levels: ['same hour', 'an hour before sunset'], causes: ['iron-on-leaf', 'dried-too-fast', 'heat'] },
  { id: 'strength', name: 'fertiliser salt', levels: ['salts as sprayed', 'half the salts'], causes: ['strong-solution', 'surfactant-with-ammonium'] },
];

/** What the spray held, which says what can be changed in it. */
export interface CausedSpray {
  readonly hasIron: boolean;
  readonly hasSurfactant: boolean;
  readonly hasOtherSalts: boolean;
  readonly carrierKnown: boolean;
  /** Hours of sun that were left; null where unknown. */
  readonly sunLeftHours: number | null;
}

/** The factors that can be tried on such a spray. */
export function possibleFactors(spray: CausedSpray): CauseFactor[] {
  return CAUSE_FACTORS.filter(({ id }) =>
    id === 'carrier'
      ? spray.carrierKnown
      : id === 'iron'
        ? spray.hasIron
        : id === 'surfactant'
          ? spray.hasSurfactant
          : id === 'strength'
            ? spray.hasOtherSalts
            : spray.sunLeftHours === null || spray.sunLeftHours > 1.25,
  );
}

/**
 * The factors to begin with: those that speak to the likeliest causes, two as a rule, three where the causes ask for
 * it.
 */
export function suggestedFactors(
  possible: readonly CauseFactor[],
  causes: readonly { readonly cause: string; readonly strength: string }[],
): CauseFactorId[] {
  const weight = (factor: CauseFactor): number =>
    causes.reduce(
      (sum, one) =>
        sum +
        (factor.causes.some((cause) => cause === one.cause)
          ? one.strength === 'likely'
            ? 3
            : one.strength === 'possible'
              ? 1
              : 0
          : 0),
      0,
    );
  const ranked = possible
    .map((factor) => ({ id: factor.id, weight: weight(factor) }))
    .filter((one) => one.weight > 0)
    .sort((a, b) => b.weight - a.weight);
  return ranked.slice(0, 2).map((one) => one.id);
}

/** One combination: the level of each factor, in their order. */
export interface Combination {
  readonly name: string;
  readonly levels: readonly (0 | 1)[];
}

/**
 * All combinations of two or three factors, or the half of three whose changes add up to an even number: each pair of
 * levels meets once, but a factor is not told apart from the other two acting together.
 * @see Box, Hunter & Hunter 2005, Statistics for Experimenters, chapters 5 and 6
 */
export function combinationsOf(factors: readonly CauseFactor[], fraction: 'full' | 'half'): Combination[] {
  const all = Array.from({ length: 2 ** factors.length }, (_, i) => factors.map((__, j) => ((i >> j) & 1) as 0 | 1));
  const kept =
    fraction === 'half' && factors.length === 3
      ? all.filter((levels) => levels.reduce<number>((sum, level) => sum + level, 0) % 2 === 0)
      : all;
  return kept.map((levels) => {
    const changed = factors.filter((_, j) => levels[j] === 1).map((factor) => factor.levels[1]);
    return {
      levels,
      name: changed.length === 0 ? 'As sprayed' : changed.join(', ').replace(/^./, (c) => c.toUpperCase()),
    };
  });
}

/** The unsprayed strip of such a trial. */
export const UNSPRAYED = 'Unsprayed';

/** The design: every combination and an unsprayed strip once in each block. */
export function causeDesign(combinations: readonly Combination[], blocks: number): TrialDesign {
  return {
    layout: 'randomised-blocks',
    treatments: [UNSPRAYED, ...combinations.map((one) => one.name)],
    check: UNSPRAYED,
    blocks,
  };
}

/** The factors as an analysis takes them. */
export function trialFactors(factors: readonly CauseFactor[], combinations: readonly Combination[]): TrialFactor[] {
  return factors.map((factor, j) => ({
    name: factor.name,
    levels: factor.levels,
    levelOf: Object.fromEntries(combinations.map((one) => [one.name, one.levels[j]!])),
  }));
}

/**
 * The order to spray in: those of the earlier hour first; within it the one with more water and less in it first, so
 * that what stays in the sprayer never strengthens the next, and a surfactant last. Common practice, no source.
 */
export function sprayOrder(factors: readonly CauseFactor[], combinations: readonly Combination[]): string[] {
  const level = (one: Combination, id: CauseFactorId): number => {
    const j = factors.findIndex((factor) => factor.id === id);
    return j < 0 ? 0 : one.levels[j]!;
  };
  const load = (one: Combination): number =>
    3 * (1 - level(one, 'surfactant')) +
    (1 - level(one, 'iron')) +
    (1 - level(one, 'strength')) +
    (1 - level(one, 'carrier'));
  return combinations
    .toSorted((a, b) => level(a, 'hour') - level(b, 'hour') || load(a) - load(b))
    .map((one) => one.name);
}

/** Days to photograph: the day after, the day the mark showed and two days about it, and two weeks. */
export function causePhotoDays(daysAfterSpray: number): number[] {
  const seen = Math.min(21, Math.max(1, Math.round(daysAfterSpray)));
  return [...new Set([1, seen, seen + 2, 14])].sort((a, b) => a - b);
}

/**
 * How often (0 to 1) the exact test of presence finds a factor, when marks show on `withShare` of the plots as sprayed
 * and on `withoutShare` of those with the cause taken away: over every outcome of the pairs that lie within blocks.
 * Exported for the simulation of trials, which holds it to the share of runs that find a cause.
 */
export function presencePower(pairs: number, withShare: number, withoutShare: number, alpha = 0.05): number {
  const onlyWith = withShare * (1 - withoutShare);
  const onlyWithout = withoutShare * (1 - withShare);
  const neither = 1 - onlyWith - onlyWithout;
  const logFactorial = Array.from({ length: pairs + 1 }, () => 0);
  for (let i = 2; i <= pairs; i++) logFactorial[i] = logFactorial[i - 1]! + Math.log(i);
  const log = (share: number, count: number): number => (count === 0 ? 0 : count * Math.log(share));
  let power = 0;
  for (let a = 0; a <= pairs; a++) {
    for (let b = 0; a + b <= pairs; b++) {
      const share = Math.exp(
        logFactorial[pairs]! -
          logFactorial[a]! -
          logFactorial[b]! -
          logFactorial[pairs - a - b]! +
          log(onlyWith, a) +
          log(onlyWithout, b) +
          log(neither, pairs - a - b),
      );
      if (!(share > 1e-12)) continue;
      // Two-sided exact test of a against b (the sign test within pairs).
      let tail = 0;
      for (let i = 0; i <= a + b; i++) {
        if (Math.abs(2 * i - a - b) >= Math.abs(a - b))
          tail += Math.exp(logFactorial[a + b]! - logFactorial[i]! - logFactorial[a + b - i]! - (a + b) * Math.LN2);
      }
      if (tail < alpha + 1e-12 && a + b > 0) power += share;
    }
  }
  return power;
}

/**
 * Shares that are planned for: as sprayed it mostly comes back, with the cause taken away it mostly does not. Our own
 * choice, no source.
 */
export const PLANNED_SHARES = { with: 0.85, without: 0.1 } as const;

/**
 * Pairs within blocks by which a factor is told: one a block for each combination of the others; a half fraction has
 * none, and counts blocks.
 */
function pairsPerBlock(factors: number, fraction: 'full' | 'half'): number {
  return fraction === 'half' && factors === 3 ? 2 : 2 ** (factors - 1);
}

/** The fewest blocks (2 to 12) whose exact test of presence finds a factor 8 times in 10, and what they reach. */
export function causeBlocks(
  factors: number,
  fraction: 'full' | 'half',
): { readonly blocks: number; readonly power: number }[] {
  return Array.from({ length: 7 }, (_, i) => i + 2).map((blocks) => ({
    blocks,
    power: presencePower(blocks * pairsPerBlock(factors, fraction), PLANNED_SHARES.with, PLANNED_SHARES.without),
  }));
}

/** What a trial tests, as it is kept with the trial. */
export interface CauseTestPlan {
  readonly kind: string;
  readonly plotId: string;
  readonly plotName: string;
  readonly fraction: 'full' | 'half';
  readonly factors: readonly CauseFactorId[];
  readonly combinations: readonly Combination[];
  /** Names of the combinations in the order to spray. */
  readonly order: readonly string[];
  /** Hours to wait for the later hour, where the hour is a factor. */
  readonly hoursLater: number | null;
}

/** Everything wrong with the choice of factors, one sentence each. */
export function causeTestProblems(
  factors: readonly CauseFactor[],
  fraction: 'full' | 'half',
  blocks: number,
): string[] {
  if (factors.length < 1 || factors.length > 3) return [`factors: expected 1 to 3, got ${factors.length}`];
  if (fraction === 'half' && factors.length !== 3)
    return [`half of the combinations: expected 3 factors, got ${factors.length}`];
  return designProblems(causeDesign(combinationsOf(factors, fraction), blocks));
}

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
