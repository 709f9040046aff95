import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { ACRE_M2, HECTARE_M2, SQUARE_FOOT_M2, THOUSAND_SQUARE_FEET_M2, YARD_M } from './exact';

const M2_PER = {
  m2: 1,
  '100m2': 100,
  ha: HECTARE_M2,
  ft2: SQUARE_FOOT_M2,
  yd2: YARD_M * YARD_M,
  '1000ft2': THOUSAND_SQUARE_FEET_M2,
  acre: ACRE_M2,
} as const;

export type AreaUnit = keyof typeof M2_PER;
/** An area in any of the listed units. */
export type Area = Amount<AreaUnit>;
const FACTORS: Factors<AreaUnit> = M2_PER;
/** Every area unit a person may pick. */
export const AREA_UNITS: readonly AreaUnit[] = unitsOf(FACTORS);

/** The area in m2. @throws RangeError for a number that isn't finite or a unit that isn't one of area. */
export function toM2(amount: Area): number {
  return toCanonical('area', amount, FACTORS);
}

/** An area given in m2, in the unit asked for. @throws RangeError as `toM2`. */
export function fromM2(areaM2: number, unit: AreaUnit): Area {
  return fromCanonical('area', areaM2, unit, FACTORS);
}
