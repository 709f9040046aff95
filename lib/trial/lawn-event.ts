/** What happened to a lawn besides a spray: evidence for what a photo shows, and part of the diary. */

export const LAWN_EVENT_KINDS = ['mowing', 'watering', 'rain', 'product', 'traffic', 'sighting', 'renovation'] as const;
export type LawnEventKind = (typeof LAWN_EVENT_KINDS)[number];

/** What a product that didn't go out as a spray was for. */
export const PRODUCT_USES = [
  'fertiliser',
  'weed-control',
  'disease-control',
  'insect-control',
  'growth-regulator',
  'wetting-agent',
  'lime',
  'seed-treatment',
  'other',
] as const;
export type ProductUse = (typeof PRODUCT_USES)[number];

export const TRAFFIC_KINDS = ['feet', 'play', 'animals', 'wheels'] as const;
export type TrafficKind = (typeof TRAFFIC_KINDS)[number];

export const SIGHTING_KINDS = ['disease', 'insects', 'weeds', 'animals', 'drought'] as const;
export type SightingKind = (typeof SIGHTING_KINDS)[number];

export const RENOVATION_KINDS = ['seeded', 'overseeded', 'sodded', 'aerated', 'dethatched', 'topdressed'] as const;
export type RenovationKind = (typeof RENOVATION_KINDS)[number];

interface Common {
  readonly id: string;
  readonly lawnId: string;
  readonly at: Date;
  /** True: it touched all of the lawn, and `plotIds` is empty. */
  readonly wholeLawn: boolean;
  readonly plotIds: readonly string[];
  readonly note: string;
}

export interface Mowing extends Common {
  readonly kind: 'mowing';
  /** Height of cut, mm; null when nobody said. */
  readonly heightMm: number | null;
  /** Compass bearing of the passes, degrees, 0 to below 180: a pass and the pass back are one direction. */
  readonly directionDeg: number | null;
  /** The blade was sharpened just before. */
  readonly bladeSharpened: boolean;
}

export interface WaterEvent extends Common {
  readonly kind: 'watering' | 'rain';
  /** Depth of water, mm; null when nobody measured. */
  readonly waterMm: number | null;
  readonly minutes: number | null;
}

export interface ProductEvent extends Common {
  readonly kind: 'product';
  readonly use: ProductUse;
  /** The product on the shelf, or null when only its name is known. */
  readonly productId: string | null;
  readonly name: string;
  readonly rateKgPerHa: number | null;
  readonly rateLPerHa: number | null;
}

export interface Traffic extends Common {
  readonly kind: 'traffic';
  readonly traffic: TrafficKind;
  readonly name: string;
}

export interface SightingEvent extends Common {
  readonly kind: 'sighting';
  readonly seen: SightingKind;
  /** What it is thought to be, in the person's words. */
  readonly name: string;
  /** Share of the ground it covers, percent. */
  readonly sharePercent: number | null;
}

export interface Renovation extends Common {
  readonly kind: 'renovation';
  readonly done: RenovationKind;
}

export type LawnEvent = Mowing | WaterEvent | ProductEvent | Traffic | SightingEvent | Renovation;

/** Did the event touch one of these plots? */
function touches(event: Pick<LawnEvent, 'wholeLawn' | 'plotIds'>, plotIds: readonly string[]): boolean {
  return event.wholeLawn || event.plotIds.some((id) => plotIds.includes(id));
}

/** The last event of a kind in [from, to) on any of the plots, or null. */
export function lastOf<K extends LawnEventKind>(
  kind: K,
  events: readonly LawnEvent[],
  plotIds: readonly string[],
  from: Date,
  to: Date,
): Extract<LawnEvent, { kind: K }> | null {
  let last: LawnEvent | null = null;
  for (const event of events) {
    if (event.kind !== kind || event.at < from || event.at >= to || !touches(event, plotIds)) continue;
    if (last === null || event.at >= last.at) last = event;
  }
  return last as Extract<LawnEvent, { kind: K }> | null;
}
