import { expectNotNegative, expectPositive, refused, type Refusal } from '@/lib/expect';
import type { ProductAmount } from './product-rate';

/** A pack as it is bought: its price in the reader's money, and its size by weight or by volume. */
export type Pack =
  | { readonly price: number; readonly massKg: number }
  | { readonly price: number; readonly volumeL: number };

/**
 * Price of an amount, in the money of the pack.
 * @throws RangeError for a negative price or a pack of no size
 * @returns the price; or a refusal at `densityKgPerL` when pack and amount are on different bases without a density
 */
export function costOf(amount: ProductAmount, pack: Pack, densityKgPerL: number | null): number | Refusal {
  const price = expectNotNegative('price', pack.price, '');
  const density = densityKgPerL === null ? null : expectPositive('density', densityKgPerL, 'kg/L');
  if ('massKg' in pack) {
    const massKg = amount.massKg ?? (amount.volumeL !== null && density !== null ? amount.volumeL * density : null);
    return massKg === null
      ? noDensity('weight', 'volume')
      : (massKg / expectPositive('pack', pack.massKg, 'kg')) * price;
  }
  const volumeL = amount.volumeL ?? (amount.massKg !== null && density !== null ? amount.massKg / density : null);
  return volumeL === null
    ? noDensity('volume', 'weight')
    : (volumeL / expectPositive('pack', pack.volumeL, 'L')) * price;
}

function noDensity(pack: string, amount: string): Refusal {
  return refused(
    'densityKgPerL',
    `Density: expected one, since the pack is priced by ${pack} and the amount is by ${amount}.`,
  );
}
