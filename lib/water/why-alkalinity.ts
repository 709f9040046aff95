import { doseForWater } from './acid-dose';
import { ACIDS, type AcidProduct } from './acids';
import { significant } from '@/lib/units/display';
import { quantity } from '@/lib/units/quantity';

/** Two made-up waters of one pH, to show what pH leaves out. */
const LOW_MG_PER_L = 50;
const HIGH_MG_PER_L = 200;

/**
 * The sentence why alkalinity, not pH, sets the dose, with the numbers for this pH and this acid.
 * @param waterPH 6.5 to 9.5
 * @param targetPH below `waterPH`
 * @returns one or two sentences; without the numbers when the acid isn't needed or can't do it
 */
export function whyAlkalinity(
  waterPH: number,
  targetPH: number,
  acid: AcidProduct = ACIDS['citric acid, anhydrous'],
): string {
  const principle =
    'pH says where the water starts; alkalinity says how much acid it swallows on the way down, so it is alkalinity that sets the dose.';
  const [low, high] = [LOW_MG_PER_L, HIGH_MG_PER_L].map((alkalinityMgPerLCaCO3) =>
    doseForWater({ pH: waterPH, alkalinityMgPerLCaCO3 }, targetPH, acid, 1),
  );
  if (low?.kind !== 'dose' || high?.kind !== 'dose') return principle;
  return `${principle} Two waters of pH ${waterPH}: to reach pH ${targetPH}, the one of ${quantity('alkalinity', HIGH_MG_PER_L)} takes ${significant(high.amount.massKg / low.amount.massKg, 2)} times the ${acid.name} that the one of ${quantity('alkalinity', LOW_MG_PER_L)} takes.`;
}
