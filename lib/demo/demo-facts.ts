import type { Point } from '@/lib/photo/raster/pixels';
import type { DryAreaRate, LiquidAreaRate, Rate } from '@/lib/units/rate';

/**
 * The demo diary: an invented lawn in an invented place, a spring strip trial that asks how much iron is enough.
 * Two mixes with the same nitrogen and different iron, sprayed on three mornings, beside an unsprayed check.
 * Everything here is made up; it shows what the diary does, and proves nothing about turf.
 */
export type StripId = 'A' | 'B' | 'C';

export type TreatmentId = 'check' | 'lean-iron' | 'full-iron';

export interface DemoStrip {
  readonly id: StripId;
  readonly name: string;
  readonly treatment: TreatmentId;
  readonly isCheck: boolean;
  /** On the lawn's plan: far-left, far-right, near-right, near-left as seen from the viewpoint. */
  readonly polygonM: readonly Point[];
  readonly areaM2: number;
}

export interface DemoProduct {
  readonly id: string;
  readonly name: string;
  readonly form: 'dry' | 'liquid';
  readonly role: 'nitrogen' | 'iron' | 'acidifier' | 'surfactant';
  readonly densityKgPerL: number | null;
  readonly nAmmoniacalPercent: number;
  readonly sPercent: number;
  readonly fePercent: number;
  /** What it is made of, as mass shares of substances; null when not known. */
  readonly composition: readonly { readonly substance: string; readonly massShare: number }[] | null;
  readonly labelRate: Rate;
  readonly labelMax: Rate;
  readonly minIntervalDays: number;
  readonly note: string;
}

export interface DemoSprayItem {
  readonly productId: string;
  readonly mixingOrder: number;
  readonly rate: DryAreaRate | LiquidAreaRate;
  /** Mass of product an area; null for a liquid. */
  readonly rateKgPerHa: number | null;
  /** Volume of product an area; null for a dry product. */
  readonly rateLPerHa: number | null;
}

export interface DemoTreatment {
  readonly id: TreatmentId;
  readonly name: string;
  readonly isCheck: boolean;
  readonly items: readonly DemoSprayItem[];
}

export interface DemoSpray {
  readonly id: string;
  readonly round: number;
  readonly treatment: TreatmentId;
  readonly stripIds: readonly StripId[];
  readonly startedLocal: string;
  readonly endedLocal: string;
  readonly carrier: LiquidAreaRate;
  readonly carrierLPerHa: number;
  readonly actualVolumeL: number;
  readonly leftoverL: number;
  readonly items: readonly DemoSprayItem[];
  readonly note: string;
}

export interface DemoRating {
  readonly stripId: StripId;
  readonly ratedAtLocal: string;
  readonly rater: string;
  /** 1 poorest .. 9 best. */
  readonly score: number;
  readonly blind: boolean;
}
