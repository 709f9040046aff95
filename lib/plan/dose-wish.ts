import { refused, type Refusal } from '@/lib/expect';
import { doseForNutrient } from '@/lib/spray/fix-the-nutrient';
import type { NutrientBasis } from '@/lib/spray/nutrients';
import { type AreaDose, doseFromRate } from '@/lib/spray/product-rate';
import { DRY_AREA_RATE_UNITS, type DryAreaRateUnit, type Rate } from '@/lib/units/rate';
import type { PlanProduct } from './plan-product';

/** How a product's amount is set: by the label's rate, by a nutrient it is to bring, or by the pH it is to reach. */
export type DoseWish =
  | { readonly kind: 'rate'; readonly rate: Rate }
  | { readonly kind: 'nutrient'; readonly basis: NutrientBasis; readonly kgPerHa: number }
  | { readonly kind: 'target-ph' };

/** Units a nutrient may be fixed in: weight on an area. */
export const AREA_DOSE_UNITS: readonly DryAreaRateUnit[] = DRY_AREA_RATE_UNITS;

/** Product on an area for a wish that stands by itself; `target-ph` waits for the rest of the mix. */
export function doseOfWish(
  product: PlanProduct,
  wish: Exclude<DoseWish, { kind: 'target-ph' }>,
  carrierLPerHa: number,
): AreaDose | Refusal {
  if (wish.kind === 'rate') return doseFromRate(product, wish.rate, carrierLPerHa);
  const dose = doseForNutrient(product, wish.basis, wish.kgPerHa);
  if ('kind' in dose || dose.massKgPerHa === null || dose.massKgPerHa <= 1e6) return dose;
  return refused('nutrient', `Nutrient rate: expected one that takes at most 1000 t/ha of ${product.name}, got more.`);
}
