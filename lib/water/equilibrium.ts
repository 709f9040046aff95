import { expectInRange } from '@/lib/expect';
import { DAVIES_LIMIT_MOL_PER_L } from './activity';
import { type Solution, strongChargeEqPerL } from './alkalinity';
import { STRONG_IONS, type StrongIon, SYSTEM_NAMES, SYSTEMS, type SystemName } from './constants';
import { carbonateAtAirMolPerL, hydrogenMolPerL, hydroxideMolPerL, protonation } from './speciation';

/** Closed to air (the tank as mixed), or at rest with air of a stated CO2 pressure (the later drift). */
export type Air = { readonly kind: 'closed' } | { readonly kind: 'open'; readonly pCO2Atm: number };
export const CLOSED: Air = { kind: 'closed' };

/** Ionic strength: fixed at a stated value, or computed from every ion in the mix. */
export type IonicStrength = { readonly kind: 'fixed'; readonly molPerL: number } | { readonly kind: 'computed' };
const COMPUTED: IonicStrength = { kind: 'computed' };

export interface EquilibriumOptions {
  readonly air?: Air;
  readonly ionicStrength?: IonicStrength;
}

export interface Equilibrium {
  readonly pH: number;
  readonly ionicStrengthMolPerL: number;
  /** True above 0.5 mol/L, where the Davies equation isn't fitted; the pH is then a rough figure. */
  readonly extrapolated: boolean;
  /** Total carbonate, mol/L: as mixed when closed, as air sets it when open. */
  readonly carbonateMolPerL: number;
}

/** The search: nothing in a tank lies outside. */
const LOWEST_PH = -1;
const HIGHEST_PH = 15;

function totalsAt(solution: Solution, pH: number, air: Air, I: number): Partial<Record<SystemName, number>> {
  return air.kind === 'closed'
    ? solution.totals
    : { ...solution.totals, carbonate: carbonateAtAirMolPerL(pH, air.pCO2Atm, I) };
}

/**
 * Net charge of the solution if its pH were this, eq/L. It falls steadily with pH, so there is one pH where it is zero.
 * @param ionicStrengthMolPerL held fixed
 */
export function chargeAtPH(solution: Solution, pH: number, ionicStrengthMolPerL: number, air: Air = CLOSED): number {
  const totals = totalsAt(solution, pH, air, ionicStrengthMolPerL);
  let charge =
    strongChargeEqPerL(solution) +
    hydrogenMolPerL(pH, ionicStrengthMolPerL) -
    hydroxideMolPerL(pH, ionicStrengthMolPerL);
  for (const name of SYSTEM_NAMES) {
    const total = totals[name];
    if (total !== undefined && total > 0)
      charge += total * protonation(SYSTEMS[name], pH, ionicStrengthMolPerL).meanCharge;
  }
  return charge;
}

/** Ionic strength of the solution at a pH, mol/L: half the sum of concentration times charge squared. */
export function ionicStrengthAtPH(
  solution: Solution,
  pH: number,
  ionicStrengthMolPerL: number,
  air: Air = CLOSED,
): number {
  const totals = totalsAt(solution, pH, air, ionicStrengthMolPerL);
  let sum = hydrogenMolPerL(pH, ionicStrengthMolPerL) + hydroxideMolPerL(pH, ionicStrengthMolPerL);
  for (const [ion, molPerL] of Object.entries(solution.strong)) sum += STRONG_IONS[ion as StrongIon] ** 2 * molPerL;
  for (const name of SYSTEM_NAMES) {
    const total = totals[name];
    if (total !== undefined && total > 0)
      sum += total * protonation(SYSTEMS[name], pH, ionicStrengthMolPerL).meanSquaredCharge;
  }
  return sum / 2;
}

function pHAtStrength(solution: Solution, I: number, air: Air): number {
  let low = LOWEST_PH;
  let high = HIGHEST_PH;
  for (let step = 0; step < 48; step += 1) {
    const middle = (low + high) / 2;
    if (chargeAtPH(solution, middle, I, air) > 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * A fixed point of a map from an ionic strength to the one it makes: by repetition, which settles within a few steps in
 * any dilute mix, else by halving the bracket between 0 and the largest value met.
 */
export function settledStrength(makes: (I: number) => number): number {
  let I = 0.01;
  let largest = I;
  for (let step = 0; step < 40; step += 1) {
    const next = makes(I);
    largest = Math.max(largest, next);
    if (Math.abs(next - I) <= 1e-9 * Math.max(next, 1e-6)) return next;
    I = next;
  }
  let low = 0;
  let high = largest * 2;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (makes(middle) > middle) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * pH of a solution by electroneutrality, with Davies activities, at 25 °C.
 * No ion pairs and no solids: calcium citrate or phosphate, or calcite coming out, would shift it.
 * @throws RangeError for a CO2 pressure outside 0 to 1 atm or an ionic strength outside 0 to 10 mol/L
 */
export function equilibrium(solution: Solution, options: EquilibriumOptions = {}): Equilibrium {
  const air = options.air ?? CLOSED;
  if (air.kind === 'open') expectInRange('CO2 pressure', air.pCO2Atm, 0, 1, 'atm');
  const choice = options.ionicStrength ?? COMPUTED;
  const I =
    choice.kind === 'fixed'
      ? expectInRange('ionic strength', choice.molPerL, 0, 10, 'mol/L')
      : settledStrength((guess) => ionicStrengthAtPH(solution, pHAtStrength(solution, guess, air), guess, air));
  const pH = pHAtStrength(solution, I, air);
  return {
    pH,
    ionicStrengthMolPerL: I,
    extrapolated: I > DAVIES_LIMIT_MOL_PER_L,
    carbonateMolPerL: totalsAt(solution, pH, air, I).carbonate ?? 0,
  };
}
