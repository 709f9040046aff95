import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { INCH_M, MILLIMETRE_OF_MERCURY_KPA, POUND_KG, STANDARD_GRAVITY_M_PER_S2 } from './exact';

/** One pound-force per square inch: the pound times standard gravity over a square inch, in kPa. */
const PSI_KPA = (POUND_KG * STANDARD_GRAVITY_M_PER_S2) / (INCH_M * INCH_M) / 1000;
const KPA_PER = {
  kPa: 1,
  hPa: 0.1,
  bar: 100,
  psi: PSI_KPA,
  mmHg: MILLIMETRE_OF_MERCURY_KPA,
  inHg: MILLIMETRE_OF_MERCURY_KPA * 25.4,
} as const;

export type PressureUnit = keyof typeof KPA_PER;
/** A pressure, of air or of a sprayer; hPa equals the millibar. */
export type Pressure = Amount<PressureUnit>;
const FACTORS: Factors<PressureUnit> = KPA_PER;
/** Every pressure unit a person may pick. */
export const PRESSURE_UNITS: readonly PressureUnit[] = unitsOf(FACTORS);

/** The pressure in kPa. @throws RangeError for a number that isn't finite or a unit that isn't one of pressure. */
export function toKPa(amount: Pressure): number {
  return toCanonical('pressure', amount, FACTORS);
}

/** A pressure given in kPa, in the unit asked for. @throws RangeError as `toKPa`. */
export function fromKPa(pressureKPa: number, unit: PressureUnit): Pressure {
  return fromCanonical('pressure', pressureKPa, unit, FACTORS);
}
