import { expectPositive, refused, type Refusal } from '@/lib/expect';
import {
  isDryAreaRate,
  isDryTankRate,
  isLiquidAreaRate,
  isLiquidTankRate,
  type Rate,
  toGPerL,
  toKgPerHa,
  toLPerHa,
  toMlPerL,
} from '@/lib/units/rate';

/** What a rate needs to know of a product. */
export interface Measured {
  readonly name: string;
  readonly form: 'liquid' | 'dry';
  /** kg/L; of a dry product its bulk density. Null when nobody has said. */
  readonly densityKgPerL: number | null;
}

/** Product on an area. Of the two, the one that isn't known without a density is null; never both. */
export interface AreaDose {
  readonly massKgPerHa: number | null;
  readonly volumeLPerHa: number | null;
}

/** A mass or volume of product, both where a density gives both. */
export interface ProductAmount {
  readonly massKg: number | null;
  readonly volumeL: number | null;
}

/**
 * A label's rate as product on an area.
 * @param rate by weight or volume, per area or per tank volume; a tank rate is turned by the carrier volume
 * @param carrierLPerHa above 0, finished mix on the ground
 * @throws RangeError for a carrier volume of 0 or less or a density of 0 or less
 * @returns the dose; or a refusal at `rate` (negative) or `densityKgPerL` (weight of a liquid, or volume of a dry
 *   product, without one)
 */
export function doseFromRate(product: Measured, rate: Rate, carrierLPerHa: number): AreaDose | Refusal {
  expectPositive('carrier volume', carrierLPerHa, 'L/ha');
  if (!Number.isFinite(rate.value) || rate.value < 0)
    return refused('rate', `Rate of ${product.name}: expected 0 or more, got ${rate.value}.`);
  const density = product.densityKgPerL === null ? null : expectPositive('density', product.densityKgPerL, 'kg/L');
  if (isLiquidAreaRate(rate) || isLiquidTankRate(rate)) {
    const volumeLPerHa = isLiquidAreaRate(rate) ? toLPerHa(rate) : (toMlPerL(rate) / 1000) * carrierLPerHa;
    if (product.form === 'dry' && density === null) {
      return refused(
        'densityKgPerL',
        `Density of ${product.name}: expected one, since a dry product is measured by volume; weigh it instead, or give its bulk density.`,
      );
    }
    return { volumeLPerHa, massKgPerHa: density === null ? null : volumeLPerHa * density };
  }
  if (isDryAreaRate(rate) || isDryTankRate(rate)) {
    const massKgPerHa = isDryAreaRate(rate) ? toKgPerHa(rate) : (toGPerL(rate) / 1000) * carrierLPerHa;
    if (product.form === 'liquid' && density === null) {
      return refused(
        'densityKgPerL',
        `Density of ${product.name}: expected one, since its rate is a weight and the product is a liquid.`,
      );
    }
    return { massKgPerHa, volumeLPerHa: density === null ? null : massKgPerHa / density };
  }
  return refused(
    'rate',
    `Rate unit of ${product.name}: expected a weight or volume per area or per tank volume, got '${(rate as Rate).unit}'.`,
  );
}

/** Product for an area of ground. @throws RangeError for an area of 0 or less */
export function amountForArea(dose: AreaDose, areaM2: number): ProductAmount {
  const hectares = expectPositive('area', areaM2, 'm2') / 10_000;
  return {
    massKg: dose.massKgPerHa === null ? null : dose.massKgPerHa * hectares,
    volumeL: dose.volumeLPerHa === null ? null : dose.volumeLPerHa * hectares,
  };
}
