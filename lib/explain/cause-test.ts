import type { CauseId } from '@/lib/explain/causes';
import { designProblems, type TrialDesign } from '@/lib/trial/design';
import type { TrialFactor } from '@/lib/trial/marks-on-plots';

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
