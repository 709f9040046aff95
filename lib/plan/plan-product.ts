import type { Refusal } from '@/lib/expect';
import type { CompositionPart } from '@/lib/spray/composition';
import type { Pack } from '@/lib/spray/cost';
import type { Role } from '@/lib/spray/application';
import type { MixingKind } from '@/lib/spray/mixing-order';
import type { GuaranteedAnalysis } from '@/lib/spray/nutrients';
import { type AreaDose, doseFromRate, type Measured } from '@/lib/spray/product-rate';
import { isDryAreaRate, isDryTankRate, isLiquidTankRate, type Rate } from '@/lib/units/rate';
import type { AcidProduct } from '@/lib/water/acids';
import { isSubstance } from '@/lib/water/substances';

/**
 * A product of the shelf as planning sees it: its label's facts, in the label's own units where a tank rate needs the
 * carrier volume.
 */
export interface PlanProduct extends Measured {
  readonly id: string;
  readonly analysis: GuaranteedAnalysis;
  readonly composition: readonly CompositionPart[] | null;
  readonly mixingKind: MixingKind;
  readonly roles: readonly Role[];
  readonly usualRate: Rate | null;
  readonly mostPerApplication: Rate | null;
  readonly minIntervalDays: number | null;
  /** Least carrier volume the label asks for, L/ha; left out or null where nobody entered it. */
  readonly leastCarrierLPerHa?: number | null;
  /** What else the label asks of a spray; left out where nobody entered it. */
  readonly conditions?: LabelConditions;
  readonly mostPerSeason: Rate | null;
  readonly mostApplicationsPerSeason: number | null;
  readonly pack: Pack | null;
  readonly currency: string | null;
  readonly cautions: readonly string[];
  /** True for one that was taken off the shelf and stays with the plan that had it. */
  readonly leftShelf?: boolean;
}

/** What a label asks of weather, watering, mowing and people; null where it says nothing or nobody entered it. */
export interface LabelConditions {
  readonly lowestTempC: number | null;
  readonly highestTempC: number | null;
  readonly rainfastHours: number | null;
  readonly reEntryHours: number | null;
  readonly watering: 'water-in' | 'keep-dry' | null;
  readonly mowingWaitDays: number | null;
}

/**
 * The acid a product is, when its composition is one listed acid and water; else null: its dose can't be worked out.
 */
export function acidOf(product: PlanProduct): AcidProduct | null {
  const parts = (product.composition ?? []).filter((part) => part.substance !== 'water' && part.massShare > 0);
  const [only] = parts;
  if (
    parts.length !== 1 ||
    only === undefined ||
    !isSubstance(only.substance) ||
    !/ acid( monohydrate)?$/.test(only.substance)
  )
    return null;
  return {
    name: product.name,
    substance: only.substance,
    massShare: only.massShare,
    form: product.form,
    densityKgPerL: product.densityKgPerL ?? undefined,
  };
}

/**
 * A label limit as product on an area; on the basis the label prints when the other one needs a density that nobody
 * gave.
 * @param knownCarrierLPerHa null when not known: a limit per tank volume then is none
 */
export function limitDose(
  product: PlanProduct,
  limit: Rate | null,
  knownCarrierLPerHa: number | null,
): AreaDose | null {
  if (limit === null || (knownCarrierLPerHa === null && (isDryTankRate(limit) || isLiquidTankRate(limit)))) return null;
  // A rate per area doesn't ask for the carrier volume: any will do.
  const carrierLPerHa = knownCarrierLPerHa ?? 1;
  const dose = doseFromRate(product, limit, carrierLPerHa);
  if (!isRefused(dose)) return dose;
  const printed = doseFromRate(
    { ...product, form: isDryAreaRate(limit) || isDryTankRate(limit) ? 'dry' : 'liquid', densityKgPerL: null },
    limit,
    carrierLPerHa,
  );
  return isRefused(printed) ? null : printed;
}

/** Whether an answer is a refusal. */
export function isRefused(answer: unknown): answer is Refusal {
  return typeof answer === 'object' && answer !== null && 'kind' in answer && answer.kind === 'refused';
}
