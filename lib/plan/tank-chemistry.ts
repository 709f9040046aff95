import type { Refusal } from '@/lib/expect';
import { type Air, CLOSED } from '@/lib/water/equilibrium';
import { doseForSolution, doseForWater, type AcidDose, type NoDose, type WaterDose } from '@/lib/water/acid-dose';
import { type AcidProduct, ACIDS } from '@/lib/water/acids';
import type { Water } from '@/lib/water/alkalinity';
import { OUTDOOR_PCO2_ATM } from '@/lib/water/constants';
import { type DosePoint, doseCurve, waterDoseCurve } from '@/lib/water/dose-curve';
import { type TankItem, tankPH, tankSolution, type TankPH } from '@/lib/water/tank-ph';
import { whyAlkalinity } from '@/lib/water/why-alkalinity';
import { isRefused } from './plan-product';
import { quantity } from '@/lib/units/quantity';

/**
 * For which tank an acid is dosed: one closed and sprayed soon, or one that stands open until carbon dioxide has left.
 */
export type AcidAir = 'closed' | 'open';

/** What the water and the mix do to pH. */
export interface TankChemistry {
  readonly water: Water | null;
  /** What the water report still has to say: empty when the pH can be worked out. */
  readonly missing: readonly ('pH' | 'alkalinity')[];
  /** The acid the figures below are for: the mix's own, else one off the shelf, else citric. */
  readonly acid: AcidProduct;
  /** Acid that brings the plain water to the target; null without a target or a water. */
  readonly waterDose: WaterDose | NoDose | null;
  /** The same with the air let in, hours later: carbon dioxide leaves and takes its acidity along. */
  readonly waterDoseOpen: WaterDose | NoDose | null;
  /** The whole mix as planned, acid included. */
  readonly tank: TankPH | null;
  readonly why: string;
  /** Said where hardness is far above alkalinity; absent in plans kept before it was. */
  readonly hardness?: string | null;
}

/**
 * Product that the acid's dose comes to, g per L of mix, for the rest of the mix; `alone` when that rest can't be
 * worked out.
 */
export interface MixAcidDose {
  readonly gPerL: number;
  readonly basis: 'whole-mix' | 'water-alone';
  /** Null when no acid is needed: what the pH is without. */
  readonly dose: AcidDose | null;
  readonly pHWithout: number | null;
}

/**
 * Acid for a target pH in the whole mix: the mix without it as one solution, or the water alone when a product's
 * composition isn't known.
 * @returns the dose, 0 when the rest is at the target already; or a refusal at `targetPH` or `alkalinityMgPerLCaCO3`
 */
export function acidForMix(
  water: Water,
  others: readonly TankItem[],
  targetPH: number,
  acid: AcidProduct,
  tank: AcidAir = 'closed',
): MixAcidDose | Refusal {
  const air: Air = tank === 'open' ? { kind: 'open', pCO2Atm: OUTDOOR_PCO2_ATM } : CLOSED;
  const plain = doseForWater(water, targetPH, acid, 1, { air });
  const rest = tankSolution(water, others);
  const empty = others.every((item) => item.gPerL === 0);
  // A target above the water's own pH is out of reach of the water, but not of a mix that is more alkaline than its
  // water.
  if (isRefused(plain) && (empty || 'kind' in rest)) return plain;
  if ('kind' in rest) {
    if (rest.kind === 'refused') return rest;
    if (isRefused(plain)) return plain;
    return plain.kind === 'dose'
      ? { gPerL: plain.amount.massKg * 1000, basis: 'water-alone', dose: plain, pHWithout: null }
      : { gPerL: 0, basis: 'water-alone', dose: null, pHWithout: plain.pH };
  }
  const dose = empty ? plain : doseForSolution(rest, targetPH, acid, 1, { air });
  if (dose.kind === 'refused') {
    const without = tankPH(water, others);
    // Iron salts and the like may have brought the mix below the target by themselves.
    if (
      without.kind === 'predicted' &&
      without[tank].pH <= targetPH &&
      targetPH <= Math.max(water.pH, without.closed.pH)
    )
      return { gPerL: 0, basis: 'whole-mix', dose: null, pHWithout: without[tank].pH };
    return dose;
  }
  return dose.kind === 'dose'
    ? { gPerL: dose.amount.massKg * 1000, basis: 'whole-mix', dose, pHWithout: null }
    : { gPerL: 0, basis: 'whole-mix', dose: null, pHWithout: dose.pH };
}

/** The chemistry of a mix; nothing is guessed for a water of unknown pH or alkalinity. */
export function tankChemistry(
  water: {
    readonly pH: number | null;
    readonly alkalinityMgPerLCaCO3: number | null;
    readonly hardnessMgPerLCaCO3: number | null;
  },
  items: readonly TankItem[],
  targetPH: number | null,
  acid: AcidProduct | null,
): TankChemistry | Refusal {
  const used = acid ?? ACIDS['citric acid, anhydrous'];
  const missing = [
    ...(water.pH === null ? (['pH'] as const) : []),
    ...(water.alkalinityMgPerLCaCO3 === null ? (['alkalinity'] as const) : []),
  ];
  const why = whyAlkalinity(
    Math.min(9.5, Math.max(6.5, water.pH ?? 8)),
    Math.min(targetPH ?? 6, Math.max(6.5, water.pH ?? 8) - 0.1),
    used,
  );
  const hardness = hardnessNote(water.hardnessMgPerLCaCO3, water.alkalinityMgPerLCaCO3);
  if (water.pH === null || water.alkalinityMgPerLCaCO3 === null)
    return { water: null, missing, acid: used, waterDose: null, waterDoseOpen: null, tank: null, why, hardness };
  const known: Water = {
    pH: water.pH,
    alkalinityMgPerLCaCO3: water.alkalinityMgPerLCaCO3,
    hardnessMgPerLCaCO3: water.hardnessMgPerLCaCO3 ?? undefined,
  };
  const tank = tankPH(known, items);
  if (tank.kind === 'refused') return tank;
  let waterDose: TankChemistry['waterDose'] = null;
  let waterDoseOpen: TankChemistry['waterDose'] = null;
  if (targetPH !== null) {
    // A target above the water's own pH may be one for a mix that is more alkaline: then the water alone has no dose.
    const closed = doseForWater(known, targetPH, used, 1);
    const moreAlkaline = tank.kind === 'predicted' && targetPH > known.pH;
    if (isRefused(closed) && !moreAlkaline) return closed;
    const open = doseForWater(known, targetPH, used, 1, { air: { kind: 'open', pCO2Atm: OUTDOOR_PCO2_ATM } });
    waterDose = isRefused(closed) ? null : closed;
    waterDoseOpen = isRefused(open) ? null : open;
  }
  return { water: known, missing, acid: used, waterDose, waterDoseOpen, tank, why, hardness };
}

/** From this on hardness is far above alkalinity: twice it, and 100 mg/L more (common practice, no source). */
const FAR_ABOVE = { times: 2, moreMgPerL: 100 } as const;

function hardnessNote(hardness: number | null, alkalinity: number | null): string | null {
  if (
    hardness === null ||
    alkalinity === null ||
    hardness < FAR_ABOVE.times * alkalinity ||
    hardness < alkalinity + FAR_ABOVE.moreMgPerL
  )
    return null;
  return `Hardness ${quantity('alkalinity', Math.round(hardness))} is far above alkalinity ${quantity('alkalinity', Math.round(alkalinity))}: the rest is calcium and magnesium with chloride or sulfate. Acid doesn't take it away; it can meet phosphate and sulfate, and dries to a white film. It is counted as chloride here; look whether the report has the two figures the right way round.`;
}

/**
 * Two curves of pH against acid: the plain water, and the whole mix without its acid (null when that can't be worked
 * out).
 */
export interface AcidCurves {
  readonly water: readonly DosePoint[];
  readonly mix: readonly DosePoint[] | null;
}

/** Points of each curve: enough for a smooth line, few enough to draw while a slider moves. */
const CURVE_STEPS = 40;

/**
 * pH against dose for the plain water and for the mix, up to `mostGPerL` of the acid product.
 * @param others the mix without the acid
 * @throws RangeError for a largest dose of 0 or less
 */
export function acidCurves(
  water: Water,
  others: readonly TankItem[],
  acid: AcidProduct,
  mostGPerL: number,
): AcidCurves | Refusal {
  const plain = waterDoseCurve(water, acid, mostGPerL, CURVE_STEPS);
  if (isRefused(plain)) return plain;
  const used = others.filter((item) => item.gPerL > 0);
  const rest = used.length === 0 ? null : tankSolution(water, used);
  return { water: plain, mix: rest === null || 'kind' in rest ? null : doseCurve(rest, acid, mostGPerL, CURVE_STEPS) };
}
