import { expectPositive, refused, type Refusal } from '@/lib/expect';
import { DAVIES_LIMIT_MOL_PER_L } from './activity';
import { type AcidAmount, acidAmount, type AcidProduct } from './acids';
import {
  alkalinityEqPerL,
  carbonateAlkalinityAtPH,
  type Solution,
  type Water,
  waterIonicStrengthMolPerL,
  waterSolution,
} from './alkalinity';
import {
  chargeAtPH,
  CLOSED,
  equilibrium,
  type EquilibriumOptions,
  ionicStrengthAtPH,
  settledStrength,
} from './equilibrium';
import { SUBSTANCES, withSubstance } from './substances';

/** A dose of acid that brings a water or a mix to a target pH. */
export interface AcidDose {
  readonly kind: 'dose';
  /** The acid itself, mmol per L of mix. */
  readonly mmolPerL: number;
  /**
   * The acid itself, without the water of a solution, mg per L of mix. Hydrate water counts where the product is a
   * hydrate.
   */
  readonly mgPerL: number;
  /** The product for the whole volume. */
  readonly amount: AcidAmount;
  /** Protons each molecule gives up on the way to the target: 2 for sulfuric, 2.1 to 2.5 for citric near pH 6. */
  readonly protonsPerMolecule: number;
  readonly ionicStrengthMolPerL: number;
  readonly extrapolated: boolean;
}

/** Nothing to do: the water is at or below the target, to 0.01. */
export interface NoDose {
  readonly kind: 'none-needed';
  readonly pH: number;
}

/** Above this an acid is refused as unable to do it, g/L of mix: no spray carries so much. */
const MOST_ACID_G_PER_L = 200;

/**
 * Acid that brings a whole solution to a target pH.
 * @param targetPH 2.5 to 9
 * @param volumeL above 0
 * @throws RangeError for a volume of 0 or less, or a mass share outside 0 to 1
 * @returns a dose; `none-needed`; or a refusal at `targetPH` when the target is above the solution's own pH
 */
export function doseForSolution(
  solution: Solution,
  targetPH: number,
  acid: AcidProduct,
  volumeL: number,
  options: EquilibriumOptions = {},
): AcidDose | NoDose | Refusal {
  expectPositive('volume to treat', volumeL, 'L');
  if (!Number.isFinite(targetPH) || targetPH < 2.5 || targetPH > 9) {
    return refused('targetPH', `Target pH: expected 2.5 to 9, got ${targetPH}.`);
  }
  const start = equilibrium(solution, options);
  if (targetPH > start.pH + 0.01) {
    return refused(
      'targetPH',
      `Target pH: expected at most ${start.pH.toFixed(2)}, the pH before acid, got ${targetPH}: acid can't raise pH.`,
    );
  }
  if (targetPH >= start.pH - 0.01) return { kind: 'none-needed', pH: start.pH };
  const air = options.air ?? CLOSED;
  // At a given pH and ionic strength the charge balance is linear in the dose, so the dose follows without a search.
  const empty: Solution = { totals: {}, strong: {} };
  const perMol = (I: number) =>
    chargeAtPH(withSubstance(empty, acid.substance, 1), targetPH, I) - chargeAtPH(empty, targetPH, I);
  const doseAt = (I: number) => chargeAtPH(solution, targetPH, I, air) / -perMol(I);
  const strengthWith = (I: number) =>
    ionicStrengthAtPH(withSubstance(solution, acid.substance, Math.max(0, doseAt(I))), targetPH, I, air);
  const choice = options.ionicStrength ?? { kind: 'computed' };
  const I = choice.kind === 'fixed' ? choice.molPerL : settledStrength(strengthWith);
  const mol = doseAt(I);
  const gPerL = mol * SUBSTANCES[acid.substance].molarMassGPerMol;
  if (!(perMol(I) < 0) || !Number.isFinite(mol) || gPerL > MOST_ACID_G_PER_L) {
    return refused('targetPH', `Target pH: expected one that ${acid.name} can reach, got ${targetPH}.`);
  }
  return {
    kind: 'dose',
    mmolPerL: mol * 1000,
    mgPerL: gPerL * 1000,
    amount: acidAmount(acid, mol * volumeL),
    protonsPerMolecule: -perMol(I),
    ionicStrengthMolPerL: I,
    extrapolated: I > DAVIES_LIMIT_MOL_PER_L,
  };
}

export interface WaterDose extends AcidDose {
  /**
   * Share of the alkalinity that is neutralised when the target is reached, 0 to 1 (above 1 with free acid in excess).
   */
  readonly neutralisedShare: number;
  /** Alkalinity left in the water, mg/L as CaCO3. */
  readonly residualAlkalinityMgPerLCaCO3: number;
}

/** What a dose for plain water is worked out from. */
export interface WaterDoseOptions extends Pick<EquilibriumOptions, 'air'> {
  /**
   * `bicarbonate-water`: held at 1.5 × alkalinity (eq/L), or × hardness where that is more, not updated for the acid.
   * `computed`: from every ion.
   */
  readonly ionicStrength?: 'bicarbonate-water' | 'computed';
}

/**
 * Acid that brings plain water to a target pH, closed to air or at rest with it, at 25 °C.
 * @param water pH 4 to 11, alkalinity 0 to 2000 mg/L as CaCO3
 * @param targetPH 2.5 to 9, below the water's pH
 * @param volumeL above 0
 * @throws RangeError for a water outside those ranges or a volume of 0 or less
 * @returns a dose; `none-needed`; or a refusal that names `targetPH` or `alkalinityMgPerLCaCO3`
 * @example doseForWater({ pH: 8, alkalinityMgPerLCaCO3: 150 }, 6, ACIDS['citric acid, anhydrous'], 1) // 166 mg/L
 */
export function doseForWater(
  water: Water,
  targetPH: number,
  acid: AcidProduct,
  volumeL: number,
  options: WaterDoseOptions = {},
): WaterDose | NoDose | Refusal {
  const I0 = waterIonicStrengthMolPerL(water);
  const solution = waterSolution(water, I0);
  if ('kind' in solution) return solution;
  // The water's own pH was measured as it stands, so a target above it is refused before the air is let in.
  if (Number.isFinite(targetPH) && targetPH > water.pH + 0.01) {
    return refused(
      'targetPH',
      `Target pH: expected at most ${water.pH}, the water's own pH, got ${targetPH}: acid can't raise pH.`,
    );
  }
  const dose = doseForSolution(solution, targetPH, acid, volumeL, {
    ...(options.air ? { air: options.air } : {}),
    ionicStrength: options.ionicStrength === 'computed' ? { kind: 'computed' } : { kind: 'fixed', molPerL: I0 },
  });
  if (dose.kind !== 'dose') return dose;
  const alkalinity = alkalinityEqPerL(water.alkalinityMgPerLCaCO3);
  const givenUp = (dose.mmolPerL / 1000) * dose.protonsPerMolecule;
  const open = options.air?.kind === 'open';
  const residualAlkalinityMgPerLCaCO3 = open
    ? water.alkalinityMgPerLCaCO3 * (1 - givenUp / alkalinity)
    : carbonateAlkalinityAtPH(solution.totals.carbonate ?? 0, targetPH, dose.ionicStrengthMolPerL);
  return {
    ...dose,
    residualAlkalinityMgPerLCaCO3,
    neutralisedShare: alkalinity === 0 ? 1 : 1 - residualAlkalinityMgPerLCaCO3 / water.alkalinityMgPerLCaCO3,
  };
}
