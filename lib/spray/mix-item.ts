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

/** Nutrients on the ground, kg/ha; `complete` is false when a product with a guaranteed analysis has no known weight. */
export function nutrientsOfMix(items: readonly MixItem[]): { readonly kgPerHa: PerElement; readonly complete: boolean } {
  let complete = true;
  const list = items.map((item) => {
    if (item.dose.massKgPerHa !== null) return nutrientsIn(item.analysis, item.dose.massKgPerHa);
    if (Object.values(item.analysis).some((percent) => typeof percent === 'number' && percent > 0)) complete = false;
    return NO_NUTRIENTS;
  });
  return { kgPerHa: sumNutrients(list), complete };
}

/** Whether any of the product is a substance whose name holds the word. */
export function holds(item: MixItem, word: string): boolean {
  return item.composition?.some(({ substance, massShare }) => massShare > 0 && substance.toLowerCase().includes(word)) ?? false;
}

/** A dose that is more than nothing. */
export function isUsed(item: MixItem): boolean {
  return (item.dose.massKgPerHa ?? 0) > 0 || (item.dose.volumeLPerHa ?? 0) > 0;
}

/** How a product's iron is held: by a chelate, as a plain salt, or not at all. Unsaid counts as a salt, the touchier of the two. */
export function ironOf(item: MixItem): 'salt' | 'chelate' | 'none' {
  if ((item.analysis.fePercent ?? 0) <= 0) return 'none';
  const chelated = item.mixingKind === 'chelate' || ['edta', 'dtpa', 'eddha', 'hedta'].some((word) => holds(item, word));
  return chelated ? 'chelate' : 'salt';
}
