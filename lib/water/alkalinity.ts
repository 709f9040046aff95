import { expectInRange, expectNotNegative, refused, type Refusal } from '@/lib/expect';
import { CACO3_MG_PER_MEQ } from '@/lib/units/concentration';
import { STRONG_IONS, type StrongIon, SYSTEMS, type SystemName } from './constants';
import { hydrogenMolPerL, hydroxideMolPerL, protonation } from './speciation';

/** What a water report or a test strip says. */
export interface Water {
  /** 4 to 11. */
  readonly pH: number;
  /** 0 to 2000 mg/L as CaCO3. */
  readonly alkalinityMgPerLCaCO3: number;
  /** Calcium and magnesium, mg/L as CaCO3; left out, the alkalinity is taken as all calcium bicarbonate. */
  readonly hardnessMgPerLCaCO3?: number | undefined;
}

/** What is dissolved: totals of each proton system and of each strong ion, mol/L. */
export interface Solution {
  readonly totals: Readonly<Partial<Record<SystemName, number>>>;
  readonly strong: Readonly<Partial<Record<StrongIon, number>>>;
}

/** Alkalinity in eq/L. */
export function alkalinityEqPerL(alkalinityMgPerLCaCO3: number): number {
  return alkalinityMgPerLCaCO3 / CACO3_MG_PER_MEQ / 1000;
}

/** Alkalinity in mg/L as CaCO3. */
function alkalinityFromEqPerL(eqPerL: number): number {
  return eqPerL * 1000 * CACO3_MG_PER_MEQ;
}

/** Ionic strength of a calcium bicarbonate water of this alkalinity, mol/L: ½(4·A/2 + A) = 1.5 A. */
export function bicarbonateIonicStrengthMolPerL(alkalinityMgPerLCaCO3: number): number {
  return 1.5 * alkalinityEqPerL(alkalinityMgPerLCaCO3);
}

/**
 * Ionic strength of a water, mol/L: of calcium bicarbonate by its alkalinity, and of calcium chloride for what hardness
 * is more (½(4·e/2 + e) = 1.5 e again, so the larger of the two counts). Sulfate in its place would come to a third
 * more.
 */
export function waterIonicStrengthMolPerL(water: Water): number {
  return bicarbonateIonicStrengthMolPerL(Math.max(water.alkalinityMgPerLCaCO3, water.hardnessMgPerLCaCO3 ?? 0));
}

/**
 * Total carbonate of a water, mol/L, from its pH and alkalinity: A = [HCO3−] + 2[CO3²−] + [OH−] − [H+].
 * Refuses a pair that can't be, such as pH 9 with no alkalinity.
 * @throws RangeError outside pH 4 to 11 or 0 to 2000 mg/L
 */
function totalCarbonateMolPerL(water: Water, ionicStrengthMolPerL: number): number | Refusal {
  const pH = expectInRange('water pH', water.pH, 4, 11, '');
  const alkalinity = expectInRange('alkalinity', water.alkalinityMgPerLCaCO3, 0, 2000, 'mg/L as CaCO3');
  const carbonateEqPerL =
    alkalinityEqPerL(alkalinity) -
    hydroxideMolPerL(pH, ionicStrengthMolPerL) +
    hydrogenMolPerL(pH, ionicStrengthMolPerL);
  // A test strip reads to 5 mg/L at best: below that a small shortfall means no carbonate, not an impossible water.
  if (carbonateEqPerL < -alkalinityEqPerL(5)) {
    return refused(
      'alkalinityMgPerLCaCO3',
      `Alkalinity: expected at least ${Math.ceil(alkalinityFromEqPerL(alkalinityEqPerL(alkalinity) - carbonateEqPerL))} mg/L as CaCO3 for water of pH ${pH}, got ${alkalinity}.`,
    );
  }
  const { meanCharge } = protonation(SYSTEMS.carbonate, pH, ionicStrengthMolPerL);
  return Math.max(0, carbonateEqPerL) / -meanCharge;
}

/**
 * A water as a solution: its carbonate, and the strong ions that its alkalinity and hardness stand for. Hardness is
 * taken as calcium; alkalinity above it as sodium, hardness above the alkalinity as chloride (this sets ionic strength
 * only).
 */
export function waterSolution(water: Water, ionicStrengthMolPerL: number): Solution | Refusal {
  const carbonate = totalCarbonateMolPerL(water, ionicStrengthMolPerL);
  if (typeof carbonate !== 'number') return carbonate;
  const hydroxide = hydroxideMolPerL(water.pH, ionicStrengthMolPerL) - hydrogenMolPerL(water.pH, ionicStrengthMolPerL);
  // With no carbonate left to hold it, the charge that keeps the stated pH is the hydroxide's own.
  const alkalinity = carbonate === 0 ? hydroxide : alkalinityEqPerL(water.alkalinityMgPerLCaCO3);
  const hardness = alkalinityEqPerL(
    expectNotNegative(
      'hardness',
      water.hardnessMgPerLCaCO3 ?? Math.max(0, alkalinityFromEqPerL(alkalinity)),
      'mg/L as CaCO3',
    ),
  );
  const difference = alkalinity - hardness;
  return {
    totals: { carbonate },
    strong: { calcium: hardness / 2, ...(difference >= 0 ? { sodium: difference } : { chloride: -difference }) },
  };
}

/** Net charge of the strong ions, eq/L; cations count plus. */
export function strongChargeEqPerL(solution: Solution): number {
  let charge = 0;
  for (const [ion, molPerL] of Object.entries(solution.strong)) charge += STRONG_IONS[ion as StrongIon] * molPerL;
  return charge;
}

/**
 * Carbonate alkalinity left at a pH when no CO2 has come or gone, mg/L as CaCO3; below 0 once free acid is in excess.
 */
export function carbonateAlkalinityAtPH(totalCarbonate: number, pH: number, ionicStrengthMolPerL: number): number {
  const { meanCharge } = protonation(SYSTEMS.carbonate, pH, ionicStrengthMolPerL);
  return alkalinityFromEqPerL(
    -meanCharge * totalCarbonate +
      hydroxideMolPerL(pH, ionicStrengthMolPerL) -
      hydrogenMolPerL(pH, ionicStrengthMolPerL),
  );
}
