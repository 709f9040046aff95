import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { OUNCE_KG, POUND_KG } from './exact';

const KG_PER = { mg: 1e-6, g: 0.001, kg: 1, oz: OUNCE_KG, lb: POUND_KG } as const;

export type MassUnit = keyof typeof KG_PER;
/** A mass in any of the listed units; `oz` is the avoirdupois ounce, a weight, never a fluid ounce. */
export type Mass = Amount<MassUnit>;
const FACTORS: Factors<MassUnit> = KG_PER;
/** Every mass unit a person may pick. */
export const MASS_UNITS: readonly MassUnit[] = unitsOf(FACTORS);

/** The mass in kg. @throws RangeError for a number that isn't finite or a unit that isn't one of mass. */
export function toKg(amount: Mass): number {
  return toCanonical('mass', amount, FACTORS);
}

/** A mass given in kg, in the unit asked for. @throws RangeError as `toKg`. */
export function fromKg(massKg: number, unit: MassUnit): Mass {
  return fromCanonical('mass', massKg, unit, FACTORS);
}
