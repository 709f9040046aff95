import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { ATOMIC_WEIGHT } from './atomic-weight';
import { OUNCE_KG, POUND_KG, US_GALLON_L } from './exact';

/** `ppm` is mg per L, which holds in dilute water; `% w/v` is g per 100 mL. */
const MG_PER_L_PER = {
  'mg/L': 1,
  ppm: 1,
  'g/L': 1000,
  '% w/v': 10_000,
  'oz/us-gal': (OUNCE_KG * 1e6) / US_GALLON_L,
  'lb/us-gal': (POUND_KG * 1e6) / US_GALLON_L,
} as const;

export type ConcentrationUnit = keyof typeof MG_PER_L_PER;
/** Mass of something in a volume of solution. */
export type Concentration = Amount<ConcentrationUnit>;
const CONCENTRATION: Factors<ConcentrationUnit> = MG_PER_L_PER;

/**
 * A concentration given in mg/L, in the unit asked for.
 * @throws RangeError for a number that isn't finite or a foreign unit
 */
export function fromMgPerL(concentrationMgPerL: number, unit: ConcentrationUnit): Concentration {
  return fromCanonical('concentration', concentrationMgPerL, unit, CONCENTRATION);
}

/** Molar masses for the two bases in which alkalinity and hardness are printed, g/mol. */
const CACO3_G_PER_MOL = ATOMIC_WEIGHT.Ca + ATOMIC_WEIGHT.C + 3 * ATOMIC_WEIGHT.O;
const HCO3_G_PER_MOL = ATOMIC_WEIGHT.H + ATOMIC_WEIGHT.C + 3 * ATOMIC_WEIGHT.O;
const CAO_G_PER_MOL = ATOMIC_WEIGHT.Ca + ATOMIC_WEIGHT.O;
/** mg/L as CaCO3 in one milliequivalent per litre: half a mole of CaCO3 per mole of charge. */
export const CACO3_MG_PER_MEQ = CACO3_G_PER_MOL / 2;

/**
 * Alkalinity and hardness share their scales. A German degree is 10 mg/L of CaO, a French degree 10 mg/L of CaCO3,
 * a grain per US gallon one grain (1/7000 lb) of CaCO3.
 */
const MG_PER_L_CACO3_PER = {
  'mg/L CaCO3': 1,
  'meq/L': CACO3_MG_PER_MEQ,
  'mg/L HCO3': CACO3_MG_PER_MEQ / HCO3_G_PER_MOL,
  'german-degree': (10 * CACO3_G_PER_MOL) / CAO_G_PER_MOL,
  'french-degree': 10,
  'grain/us-gal': (POUND_KG * 1e6) / 7000 / US_GALLON_L,
} as const;

export type AlkalinityUnit = keyof typeof MG_PER_L_CACO3_PER;
/** Alkalinity or hardness, with its basis in the unit. */
export type Alkalinity = Amount<AlkalinityUnit>;
const ALKALINITY: Factors<AlkalinityUnit> = MG_PER_L_CACO3_PER;
/** Every alkalinity or hardness unit a person may pick. */
export const ALKALINITY_UNITS: readonly AlkalinityUnit[] = unitsOf(ALKALINITY);

/** Alkalinity or hardness in mg/L as CaCO3. @throws RangeError for a number that isn't finite or a foreign unit. */
export function toMgPerLCaCO3(amount: Alkalinity): number {
  return toCanonical('alkalinity', amount, ALKALINITY);
}
