import { log10Activity } from './activity';
import { PKH_CO2, PKW, type ProtonSystem, SYSTEMS } from './constants';

/** Mean charge, and mean squared charge, of a proton system at a pH; shares of its steps, all protons on first. */
export interface Protonation {
  readonly shares: readonly number[];
  readonly meanCharge: number;
  readonly meanSquaredCharge: number;
}

/**
 * How a weak acid or base stands at a pH. pH is the activity scale, −log10 {H+}; shares are of concentration.
 * @param pH any finite number
 * @param ionicStrengthMolPerL 0 or more (0 gives the ideal fractions of textbooks)
 * @example protonation(SYSTEMS.carbonate, 6.352, 0).shares[1] // 0.5 as HCO3-
 */
export function protonation(system: ProtonSystem, pH: number, ionicStrengthMolPerL: number): Protonation {
  const logRatio: number[] = [0];
  for (const [step, pK] of system.pK.entries()) {
    const z = system.z - step;
    const activity = log10Activity(z, ionicStrengthMolPerL) - log10Activity(z - 1, ionicStrengthMolPerL);
    logRatio.push((logRatio[step] ?? 0) + pH - pK + activity);
  }
  const largest = Math.max(...logRatio);
  const weights = logRatio.map((log) => 10 ** (log - largest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const shares = weights.map((weight) => weight / total);
  let meanCharge = 0;
  let meanSquaredCharge = 0;
  for (const [step, share] of shares.entries()) {
    meanCharge += share * (system.z - step);
    meanSquaredCharge += share * (system.z - step) ** 2;
  }
  return { shares, meanCharge, meanSquaredCharge };
}

/** Concentration of H+ at a pH, mol/L. */
export function hydrogenMolPerL(pH: number, ionicStrengthMolPerL: number): number {
  return 10 ** (-pH - log10Activity(1, ionicStrengthMolPerL));
}

/** Concentration of OH− at a pH, mol/L. */
export function hydroxideMolPerL(pH: number, ionicStrengthMolPerL: number): number {
  return 10 ** (pH - PKW - log10Activity(1, ionicStrengthMolPerL));
}

/** Total carbonate in water that has come to rest with air of this CO2 pressure, mol/L. */
export function carbonateAtAirMolPerL(pH: number, pCO2Atm: number, ionicStrengthMolPerL: number): number {
  const dissolved = 10 ** -PKH_CO2 * pCO2Atm;
  const logFirst = pH - SYSTEMS.carbonate.pK[0] - log10Activity(1, ionicStrengthMolPerL);
  const logSecond =
    logFirst +
    pH -
    SYSTEMS.carbonate.pK[1] +
    log10Activity(1, ionicStrengthMolPerL) -
    log10Activity(2, ionicStrengthMolPerL);
  return dissolved * (1 + 10 ** logFirst + 10 ** logSecond);
}
