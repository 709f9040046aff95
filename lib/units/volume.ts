import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { US_FLUID_OUNCE_L, US_GALLON_L } from './exact';

/**
 * US customary liquid measure: 1 gal = 4 qt = 8 pt = 16 cup = 128 fl oz = 256 tbsp = 768 tsp (NIST Handbook 44 appendix
 * C).
 */
const L_PER = {
  mL: 0.001,
  L: 1,
  'us-tsp': US_FLUID_OUNCE_L / 6,
  'us-tbsp': US_FLUID_OUNCE_L / 2,
  'us-fl-oz': US_FLUID_OUNCE_L,
  'us-cup': US_GALLON_L / 16,
  'us-pt': US_GALLON_L / 8,
  'us-qt': US_GALLON_L / 4,
  'us-gal': US_GALLON_L,
} as const;

export type VolumeUnit = keyof typeof L_PER;
/** A volume in any of the listed units; every customary one is US liquid measure. */
export type Volume = Amount<VolumeUnit>;
const FACTORS: Factors<VolumeUnit> = L_PER;
/** Every volume unit a person may pick. */
export const VOLUME_UNITS: readonly VolumeUnit[] = unitsOf(FACTORS);

/** The volume in L. @throws RangeError for a number that isn't finite or a unit that isn't one of volume. */
export function toL(amount: Volume): number {
  return toCanonical('volume', amount, FACTORS);
}

/** A volume given in L, in the unit asked for. @throws RangeError as `toL`. */
export function fromL(volumeL: number, unit: VolumeUnit): Volume {
  return fromCanonical('volume', volumeL, unit, FACTORS);
}
