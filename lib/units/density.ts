import { type Amount, type Factors, toCanonical, unitsOf } from './amount';
import { POUND_KG, US_GALLON_L } from './exact';

const KG_PER_L_PER = {
  'kg/L': 1,
  'g/mL': 1,
  'lb/us-gal': POUND_KG / US_GALLON_L,
  'specific-gravity': 1,
} as const;

export type DensityUnit = keyof typeof KG_PER_L_PER;
/**
 * A density. Specific gravity is taken against water at 4 °C (1.000 kg/L); against water at 20 °C it would be 0.2 %
 * less.
 */
export type Density = Amount<DensityUnit>;
const FACTORS: Factors<DensityUnit> = KG_PER_L_PER;
/** Every density unit a person may pick. */
export const DENSITY_UNITS: readonly DensityUnit[] = unitsOf(FACTORS);

/** The density in kg/L. @throws RangeError for a number that isn't finite or a unit that isn't one of density. */
export function toKgPerL(amount: Density): number {
  return toCanonical('density', amount, FACTORS);
}
