import { type Amount, factorOf, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { ACRE_M2, HECTARE_M2, THOUSAND_SQUARE_FEET_M2, US_GALLON_L } from './exact';
import { MASS_UNITS, type MassUnit, toKg } from './mass';
import { toL, VOLUME_UNITS, type VolumeUnit } from './volume';

/** The areas labels print rates for, in m². */
const RATE_AREA_M2 = {
  '1000ft2': THOUSAND_SQUARE_FEET_M2,
  acre: ACRE_M2,
  m2: 1,
  '100m2': 100,
  ha: HECTARE_M2,
} as const;
/** The volumes of finished tank mix labels print rates for, in L. */
const TANK_VOLUME_L = { 'us-gal': US_GALLON_L, '100us-gal': 100 * US_GALLON_L, L: 1, '100L': 100 } as const;

export type RateArea = keyof typeof RATE_AREA_M2;
export type RateTankVolume = keyof typeof TANK_VOLUME_L;

/** Volume of product on an area, as `us-fl-oz/1000ft2`. Also the unit of carrier volume. */
export type LiquidAreaRateUnit = `${VolumeUnit}/${RateArea}`;
/**
 * Volume of product in a volume of tank mix, as `us-fl-oz/us-gal`, `mL/L` or, as surfactants' labels say it, `% v/v`.
 */
export type LiquidTankRateUnit = `${VolumeUnit}/${RateTankVolume}` | '% v/v';
/** Weight of product on an area, as `oz/1000ft2` or `kg/ha`. */
export type DryAreaRateUnit = `${MassUnit}/${RateArea}`;
/** Weight of product in a volume of tank mix, as `oz/100us-gal` or `g/L`. */
export type DryTankRateUnit = `${MassUnit}/${RateTankVolume}`;
export type LiquidRateUnit = LiquidAreaRateUnit | LiquidTankRateUnit;
export type DryRateUnit = DryAreaRateUnit | DryTankRateUnit;
export type RateUnit = LiquidRateUnit | DryRateUnit;

export type LiquidAreaRate = Amount<LiquidAreaRateUnit>;
export type LiquidTankRate = Amount<LiquidTankRateUnit>;
export type DryAreaRate = Amount<DryAreaRateUnit>;
export type DryTankRate = Amount<DryTankRateUnit>;
/**
 * A rate by volume. It and `DryRate` are unions that don't mix: a fluid ounce can't be taken for an ounce of weight.
 */
export type LiquidRate = LiquidAreaRate | LiquidTankRate;
/** A rate by weight. */
export type DryRate = DryAreaRate | DryTankRate;
export type Rate = LiquidRate | DryRate;

function crossed<A extends string, B extends string>(
  amounts: readonly A[],
  amountOf: (unit: A) => number,
  pers: Factors<B>,
  perScale: number,
): Factors<`${A}/${B}`> {
  const factors: Record<string, number> = {};
  for (const amount of amounts) {
    for (const per of unitsOf(pers))
      factors[`${amount}/${per}`] = (amountOf(amount) * perScale) / factorOf('rate', per, pers);
  }
  return factors as Record<`${A}/${B}`, number>;
}

const litres = (unit: VolumeUnit) => toL({ value: 1, unit });
const kilograms = (unit: MassUnit) => toKg({ value: 1, unit });
const LIQUID_AREA: Factors<LiquidAreaRateUnit> = crossed(VOLUME_UNITS, litres, RATE_AREA_M2, HECTARE_M2);
const LIQUID_TANK: Factors<LiquidTankRateUnit> = { ...crossed(VOLUME_UNITS, litres, TANK_VOLUME_L, 1000), '% v/v': 10 };
const DRY_AREA: Factors<DryAreaRateUnit> = crossed(MASS_UNITS, kilograms, RATE_AREA_M2, HECTARE_M2);
const DRY_TANK: Factors<DryTankRateUnit> = crossed(MASS_UNITS, kilograms, TANK_VOLUME_L, 1000);

export const LIQUID_AREA_RATE_UNITS: readonly LiquidAreaRateUnit[] = unitsOf(LIQUID_AREA);
const LIQUID_TANK_RATE_UNITS: readonly LiquidTankRateUnit[] = unitsOf(LIQUID_TANK);
export const DRY_AREA_RATE_UNITS: readonly DryAreaRateUnit[] = unitsOf(DRY_AREA);
const DRY_TANK_RATE_UNITS: readonly DryTankRateUnit[] = unitsOf(DRY_TANK);
const LIQUID_RATE_UNITS: readonly LiquidRateUnit[] = [...LIQUID_AREA_RATE_UNITS, ...LIQUID_TANK_RATE_UNITS];
const DRY_RATE_UNITS: readonly DryRateUnit[] = [...DRY_AREA_RATE_UNITS, ...DRY_TANK_RATE_UNITS];
export const RATE_UNITS: readonly RateUnit[] = [...LIQUID_RATE_UNITS, ...DRY_RATE_UNITS];

export function isLiquidAreaRate(rate: Rate): rate is LiquidAreaRate {
  return Object.hasOwn(LIQUID_AREA, rate.unit);
}
export function isLiquidTankRate(rate: Rate): rate is LiquidTankRate {
  return Object.hasOwn(LIQUID_TANK, rate.unit);
}
export function isDryAreaRate(rate: Rate): rate is DryAreaRate {
  return Object.hasOwn(DRY_AREA, rate.unit);
}
export function isDryTankRate(rate: Rate): rate is DryTankRate {
  return Object.hasOwn(DRY_TANK, rate.unit);
}

/** A rate by volume on an area, in L/ha. @throws RangeError for a number that isn't finite or a foreign unit. */
export function toLPerHa(rate: LiquidAreaRate): number {
  return toCanonical('liquid rate', rate, LIQUID_AREA);
}
/** A rate given in L/ha, in the unit asked for. @throws RangeError as `toLPerHa`. */
export function fromLPerHa(rateLPerHa: number, unit: LiquidAreaRateUnit): LiquidAreaRate {
  return fromCanonical('liquid rate', rateLPerHa, unit, LIQUID_AREA);
}
/** A rate by weight on an area, in kg/ha. @throws RangeError as `toLPerHa`. */
export function toKgPerHa(rate: DryAreaRate): number {
  return toCanonical('dry rate', rate, DRY_AREA);
}
/** A rate given in kg/ha, in the unit asked for. @throws RangeError as `toLPerHa`. */
export function fromKgPerHa(rateKgPerHa: number, unit: DryAreaRateUnit): DryAreaRate {
  return fromCanonical('dry rate', rateKgPerHa, unit, DRY_AREA);
}
/** A rate by volume in the tank, in mL of product per L of mix. @throws RangeError as `toLPerHa`. */
export function toMlPerL(rate: LiquidTankRate): number {
  return toCanonical('liquid tank rate', rate, LIQUID_TANK);
}
/** A tank rate given in mL/L, in the unit asked for. @throws RangeError as `toLPerHa`. */
export function fromMlPerL(rateMlPerL: number, unit: LiquidTankRateUnit): LiquidTankRate {
  return fromCanonical('liquid tank rate', rateMlPerL, unit, LIQUID_TANK);
}
/** A rate by weight in the tank, in g of product per L of mix. @throws RangeError as `toLPerHa`. */
export function toGPerL(rate: DryTankRate): number {
  return toCanonical('dry tank rate', rate, DRY_TANK);
}
/** A tank rate given in g/L, in the unit asked for. @throws RangeError as `toLPerHa`. */
export function fromGPerL(rateGPerL: number, unit: DryTankRateUnit): DryTankRate {
  return fromCanonical('dry tank rate', rateGPerL, unit, DRY_TANK);
}
