import { type Amount, type Factors, toCanonical, unitsOf } from './amount';

/** 1 W/m² held for an hour is 0.0036 MJ/m²; a langley is a (thermochemical) calorie of 4.184 J on 1 cm². */
const W_PER_M2_PER = { 'W/m2': 1, 'MJ/m2/h': 1e6 / 3600, 'kJ/m2/h': 1e3 / 3600, 'langley/min': 41_840 / 60 } as const;

export type IrradianceUnit = keyof typeof W_PER_M2_PER;
/** Power of sunlight on an area. */
export type Irradiance = Amount<IrradianceUnit>;
const FACTORS: Factors<IrradianceUnit> = W_PER_M2_PER;
/** Every irradiance unit a logger may write. */
export const IRRADIANCE_UNITS: readonly IrradianceUnit[] = unitsOf(FACTORS);

/** The irradiance in W/m². @throws RangeError for a number that isn't finite or a unit that isn't one of irradiance. */
export function toWPerM2(amount: Irradiance): number {
  return toCanonical('irradiance', amount, FACTORS);
}
