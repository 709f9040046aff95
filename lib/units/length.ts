import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { FOOT_M, INCH_M, MILE_M, YARD_M } from './exact';

const M_PER = { m: 1, cm: 0.01, mm: 0.001, in: INCH_M, ft: FOOT_M, yd: YARD_M, km: 1000, mi: MILE_M } as const;

export type LengthUnit = keyof typeof M_PER;
/** A length in any of the listed units. */
export type Length = Amount<LengthUnit>;
const FACTORS: Factors<LengthUnit> = M_PER;
/** Every length unit a person may pick. */
export const LENGTH_UNITS: readonly LengthUnit[] = unitsOf(FACTORS);

/** The length in m. @throws RangeError for a number that isn't finite or a unit that isn't one of length. */
export function toM(amount: Length): number {
  return toCanonical('length', amount, FACTORS);
}

/** A length given in m, in the unit asked for. @throws RangeError as `toM`. */
export function fromM(lengthM: number, unit: LengthUnit): Length {
  return fromCanonical('length', lengthM, unit, FACTORS);
}
