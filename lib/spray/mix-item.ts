import type { CompositionPart } from './composition';
import type { MixingKind } from './mixing-order';
import { type GuaranteedAnalysis, NO_NUTRIENTS, nutrientsIn, type PerElement, sumNutrients } from './nutrients';
import type { AreaDose, Measured } from './product-rate';

/** A product with its dose, as the checks and the mix sheet see it. */
export interface MixItem extends Measured {
  readonly analysis: GuaranteedAnalysis;
  /** Null when nobody has said what it is made of. */
  readonly composition: readonly CompositionPart[] | null;
  readonly mixingKind: MixingKind;
  readonly dose: AreaDose;
}

/**
 * Nutrients on the ground, kg/ha; `complete` is false when a product with a guaranteed analysis has no known weight.
 */
export function nutrientsOfMix(items: readonly MixItem[]): {
  readonly kgPerHa: PerElement;
  readonly complete: boolean;
} {
  let complete = true;
  const list = items.map((item) => {
    if (item.dose.massKgPerHa !== null) return nutrientsIn(item.analysis, item.dose.massKgPerHa);
    if (Object.values(item.analysis).some((percent) => typeof percent === 'number' && percent > 0)) complete = false;
    return NO_NUTRIENTS;
  });
  return { kgPerHa: sumNutrients(list), complete };
}

/** Whether any of the product is a substance whose name holds the word. */
export function holdsSubstance(item: MixItem, word: string): boolean {
  return (
    item.composition?.some(({ substance, massShare }) => massShare > 0 && substance.toLowerCase().includes(word)) ??
    false
  );
}

/** A dose that is more than nothing. */
export function isUsed(item: MixItem): boolean {
  return (item.dose.massKgPerHa ?? 0) > 0 || (item.dose.volumeLPerHa ?? 0) > 0;
}

/** Iron chelates told apart, the weakest first; 'unsaid' is a chelate nobody named. */
export const CHELATES = ['EDTA', 'HEDTA', 'DTPA', 'EDDHA'] as const;
export type Chelate = (typeof CHELATES)[number] | 'unsaid';

/** The chelate a name speaks of: 'HEDTA' and 'HEEDTA' hold 'EDTA' as letters, but not as a word. */
function chelateIn(text: string): Chelate | null {
  const words = text
    .toUpperCase()
    .split(/[^A-Z]+/)
    .map((word) => (word === 'HEEDTA' ? 'HEDTA' : word));
  return (
    CHELATES.find(
      (chelate) => words.includes(chelate) || words.includes(`FE${chelate}`) || words.includes(`FE${chelate}NA`),
    ) ?? null
  );
}

/**
 * What holds a product's iron when it is a chelate: named in its composition, else in its name; null for a plain salt
 * or no iron.
 */
export function chelateOf(item: MixItem): Chelate | null {
  if ((item.analysis.fePercent ?? 0) <= 0) return null;
  const named = [
    ...(item.composition ?? []).filter((part) => part.massShare > 0).map((part) => part.substance),
    item.name,
  ]
    .map(chelateIn)
    .find((found) => found !== null);
  return named ?? (item.mixingKind === 'chelate' ? 'unsaid' : null);
}

/**
 * How a product's iron is held: by a chelate, as a plain salt, or not at all. Unsaid counts as a salt, the touchier of
 * the two.
 */
export function ironOf(item: MixItem): 'salt' | 'chelate' | 'none' {
  if ((item.analysis.fePercent ?? 0) <= 0) return 'none';
  return chelateOf(item) === null ? 'salt' : 'chelate';
}
