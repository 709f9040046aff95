import { expectNotNegative, expectPositive, refused, type Refusal } from '@/lib/expect';
import { type GuaranteedAnalysis, type NutrientBasis, shareOnBasis } from './nutrients';
import type { AreaDose, Measured } from './product-rate';

/**
 * The product dose that gives a nutrient rate: rate divided by the nutrient's share.
 * @param nutrientKgPerHa 0 or more, on the basis named
 * @throws RangeError for a negative rate
 * @returns the dose; or a refusal at `nutrient` (the product holds none) or `densityKgPerL` (a liquid without one)
 * @example 1 lb N/1000 ft2 (48.82 kg/ha) of 28 % N is 3.57 lb of product per 1000 ft2
 */
export function doseForNutrient(
  product: Measured & { readonly analysis: GuaranteedAnalysis },
  basis: NutrientBasis,
  nutrientKgPerHa: number,
): AreaDose | Refusal {
  expectNotNegative(`${basis} rate`, nutrientKgPerHa, 'kg/ha');
  const share = shareOnBasis(product.analysis, basis);
  if (share === 0) return refused('nutrient', `Nutrient: expected one that ${product.name} holds, got ${basis}.`);
  if (product.form === 'liquid' && product.densityKgPerL === null) {
    return refused(
      'densityKgPerL',
      `Density of ${product.name}: expected one, since its ${basis} is guaranteed by weight and the product is a liquid.`,
    );
  }
  const massKgPerHa = nutrientKgPerHa / share;
  return {
    massKgPerHa,
    volumeLPerHa:
      product.densityKgPerL === null ? null : massKgPerHa / expectPositive('density', product.densityKgPerL, 'kg/L'),
  };
}
