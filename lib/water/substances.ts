import type { Solution } from './alkalinity';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';
import type { StrongIon, SystemName } from './constants';

/** What one mole of a substance puts into the water; a neutral substance puts in nothing that moves the pH. */
export interface Substance {
  readonly molarMassGPerMol: number;
  readonly systems: Readonly<Partial<Record<SystemName, number>>>;
  readonly ions: Readonly<Partial<Record<StrongIon, number>>>;
}

const W = ATOMIC_WEIGHT;
const WATER = 2 * W.H + W.O;
const SO4 = W.S + 4 * W.O;
const PO4 = W.P + 4 * W.O;
const NO3 = W.N + 3 * W.O;
const NH4 = W.N + 4 * W.H;
const CITRIC = 6 * W.C + 8 * W.H + 7 * W.O;
const EDTA = 10 * W.C + 12 * W.H + 2 * W.N + 8 * W.O;

function made(molarMassGPerMol: number, systems: Substance['systems'], ions: Substance['ions'] = {}): Substance {
  return { molarMassGPerMol, systems, ions };
}

/** The substances whose effect on pH is known. Formula weights follow from the atomic weights; hydrates are named. */
export const SUBSTANCES = {
  'ammonium sulfate': made(2 * NH4 + SO4, { ammonia: 2, sulfate: 1 }),
  'ammonium nitrate': made(NH4 + NO3, { ammonia: 1 }, { nitrate: 1 }),
  'ammonium chloride': made(NH4 + W.Cl, { ammonia: 1 }, { chloride: 1 }),
  ammonia: made(W.N + 3 * W.H, { ammonia: 1 }),
  urea: made(W.C + W.O + 2 * W.N + 4 * W.H, {}),
  'potassium nitrate': made(W.K + NO3, {}, { potassium: 1, nitrate: 1 }),
  'potassium sulfate': made(2 * W.K + SO4, { sulfate: 1 }, { potassium: 2 }),
  'potassium chloride': made(W.K + W.Cl, {}, { potassium: 1, chloride: 1 }),
  'potassium hydroxide': made(W.K + W.O + W.H, {}, { potassium: 1 }),
  'potassium bicarbonate': made(W.K + W.H + W.C + 3 * W.O, { carbonate: 1 }, { potassium: 1 }),
  'monopotassium phosphate': made(W.K + 2 * W.H + PO4, { phosphate: 1 }, { potassium: 1 }),
  'dipotassium phosphate': made(2 * W.K + W.H + PO4, { phosphate: 1 }, { potassium: 2 }),
  'monoammonium phosphate': made(NH4 + 2 * W.H + PO4, { ammonia: 1, phosphate: 1 }),
  'diammonium phosphate': made(2 * NH4 + W.H + PO4, { ammonia: 2, phosphate: 1 }),
  'magnesium sulfate heptahydrate': made(W.Mg + SO4 + 7 * WATER, { sulfate: 1 }, { magnesium: 1 }),
  'magnesium sulfate': made(W.Mg + SO4, { sulfate: 1 }, { magnesium: 1 }),
  'manganese sulfate monohydrate': made(W.Mn + SO4 + WATER, { sulfate: 1 }, { manganese: 1 }),
  'zinc sulfate monohydrate': made(W.Zn + SO4 + WATER, { sulfate: 1 }, { zinc: 1 }),
  'ferrous sulfate heptahydrate': made(W.Fe + SO4 + 7 * WATER, { 'iron(II)': 1, sulfate: 1 }),
  'ferrous sulfate monohydrate': made(W.Fe + SO4 + WATER, { 'iron(II)': 1, sulfate: 1 }),
  'sodium ferric EDTA': made(W.Na + W.Fe + EDTA, { 'iron(III) EDTA': 1 }, { sodium: 1 }),
  'calcium nitrate': made(W.Ca + 2 * NO3, {}, { calcium: 1, nitrate: 2 }),
  'calcium chloride': made(W.Ca + 2 * W.Cl, {}, { calcium: 1, chloride: 2 }),
  'sodium bicarbonate': made(W.Na + W.H + W.C + 3 * W.O, { carbonate: 1 }, { sodium: 1 }),
  'citric acid': made(CITRIC, { citrate: 1 }),
  'citric acid monohydrate': made(CITRIC + WATER, { citrate: 1 }),
  'trisodium citrate dihydrate': made(CITRIC - 3 * W.H + 3 * W.Na + 2 * WATER, { citrate: 1 }, { sodium: 3 }),
  'phosphoric acid': made(3 * W.H + PO4, { phosphate: 1 }),
  'sulfuric acid': made(2 * W.H + SO4, { sulfate: 1 }),
  'nitric acid': made(W.H + NO3, {}, { nitrate: 1 }),
  'hydrochloric acid': made(W.H + W.Cl, {}, { chloride: 1 }),
  'acetic acid': made(2 * W.C + 4 * W.H + 2 * W.O, { acetate: 1 }),
  'non-ionic surfactant': made(600, {}),
  water: made(WATER, {}),
} as const satisfies Record<string, Substance>;
export type SubstanceName = keyof typeof SUBSTANCES;
export const SUBSTANCE_NAMES = Object.keys(SUBSTANCES) as readonly SubstanceName[];

/** Whether the name is of a substance listed here. */
export function isSubstance(name: string): name is SubstanceName {
  return Object.hasOwn(SUBSTANCES, name);
}

/** The solution with so much of a substance added; volumes are not changed by it. */
export function withSubstance(solution: Solution, name: SubstanceName, molPerL: number): Solution {
  const substance: Substance = SUBSTANCES[name];
  return {
    totals: summed(solution.totals, substance.systems, molPerL),
    strong: summed(solution.strong, substance.ions, molPerL),
  };
}

function summed<K extends string>(
  base: Readonly<Partial<Record<K, number>>>,
  added: Readonly<Partial<Record<K, number>>>,
  molPerL: number,
): Partial<Record<K, number>> {
  const out: Partial<Record<K, number>> = { ...base };
  for (const [name, perMol] of Object.entries(added) as [K, number][]) out[name] = (out[name] ?? 0) + perMol * molPerL;
  return out;
}
