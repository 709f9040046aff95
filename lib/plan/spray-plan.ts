import type { Check } from '@/lib/spray/check';
import type { MixSheet } from '@/lib/spray/mix-sheet';
import type { PerElement } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import type { PastSpray, SharedPair } from './plan-checks';
import type { PlanProduct } from './plan-product';
import type { Season } from './season';
import type { MixAcidDose, TankChemistry } from './tank-chemistry';
import type { Walk, WalkedPlot, WalkingSprayer } from './walk';

export interface PlanPlot extends WalkedPlot {
  readonly id: string;
  /** The check of the lawn: it is to stay unsprayed. */
  readonly isCheck?: boolean;
}

export interface PlanSprayer extends WalkingSprayer {
  readonly id: string;
  readonly name: string;
}

/** What the diary knows and a plan needs. */
export interface PlanFacts {
  /** Id of the plan itself, so that it isn't held against itself; any other text for a new one. */
  readonly planId: string;
  readonly startMs: number;
  readonly timeZone: string;
  readonly latitudeDeg: number | null;
  /** From where on it is warm and hot for the lawn's grass, °C. */
  readonly heat?: { readonly warmC: number; readonly hotC: number };
  readonly plots: readonly PlanPlot[];
  readonly sprayers: readonly PlanSprayer[];
  readonly products: readonly PlanProduct[];
  readonly history: readonly PastSpray[];
  /** Pairs of plots that are known to share ground. */
  readonly overlaps?: readonly SharedPair[];
}

export interface PlannedItem {
  readonly productId: string;
  readonly name: string;
  readonly form: 'liquid' | 'dry';
  readonly densityKgPerL: number | null;
  readonly by: 'rate' | 'nutrient' | 'target-ph';
  readonly entered: { readonly value: number; readonly unit: string } | null;
  readonly dose: AreaDose;
  /** From this product alone; null when its weight isn't known. */
  readonly nutrientsKgPerHa: PerElement | null;
  /** Of a liquid, in the finished mix. */
  readonly percentByVolume: number | null;
  readonly cost: number | null;
  readonly currency: string | null;
  /** Why there is no cost; empty when there is one. */
  readonly costMissing: string;
  readonly cautions: readonly string[];
}

export interface PlotSeason {
  readonly plotId: string;
  readonly name: string;
  readonly beforeKgPerHa: PerElement;
  readonly withPlanKgPerHa: PerElement;
  /** False when a spray in it had a product of unknown weight: a lower bound then. */
  readonly complete: boolean;
}

/** A plan worked out: plain data, kept with the spray as it was made. */
export interface SprayPlan {
  readonly areaM2: number;
  readonly carrierLPerHa: number;
  readonly tankL: number;
  readonly plots: readonly PlanPlot[];
  readonly items: readonly PlannedItem[];
  readonly sheet: MixSheet;
  readonly chemistry: TankChemistry;
  /** The dose that was set by the target pH, and which item it is. */
  readonly acidItem: (MixAcidDose & { readonly place: number }) | null;
  readonly season: Season;
  readonly seasons: readonly PlotSeason[];
  readonly costs: readonly { readonly currency: string; readonly total: number }[];
  readonly costComplete: boolean;
  readonly walk: Walk | null;
  readonly checks: readonly Check[];
}

/** Salt-index edition used throughout: the newer of the two, which lists the salts of this shelf. */
export const SALT_EDITION = 'mortvedt-2001';
