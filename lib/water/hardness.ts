import { expectNotNegative } from '@/lib/expect';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';

const CACO3_G_PER_MOL = ATOMIC_WEIGHT.Ca + ATOMIC_WEIGHT.C + 3 * ATOMIC_WEIGHT.O;

/**
 * Hardness of a water from its calcium and magnesium, mg/L as CaCO3 (2.497 Ca + 4.118 Mg).
 * @throws RangeError for a negative concentration
 * @see Standard Methods for the Examination of Water and Wastewater, 2340 B
 */
export function hardnessMgPerLCaCO3(calciumMgPerL: number, magnesiumMgPerL: number): number {
  return (
    (expectNotNegative('calcium', calciumMgPerL, 'mg/L') / ATOMIC_WEIGHT.Ca +
      expectNotNegative('magnesium', magnesiumMgPerL, 'mg/L') / ATOMIC_WEIGHT.Mg) *
    CACO3_G_PER_MOL
  );
}

export type HardnessClass = 'soft' | 'moderately hard' | 'hard' | 'very hard';

/** The US Geological Survey's classes: up to 60, 120 and 180 mg/L as CaCO3 (limits from memory). */
export function hardnessClass(hardness: number): HardnessClass {
  expectNotNegative('hardness', hardness, 'mg/L as CaCO3');
  if (hardness <= 60) return 'soft';
  if (hardness <= 120) return 'moderately hard';
  return hardness <= 180 ? 'hard' : 'very hard';
}
