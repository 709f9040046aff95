import { DAY_MS } from '@/lib/units/time';
import type { AreaDose } from './product-rate';

/** What a shelf says a product is for. */
export const SHELF_ROLES = [
  'nitrogen',
  'iron',
  'potassium',
  'phosphorus',
  'micronutrient',
  'acidifier',
  'surfactant',
  'biostimulant',
  'pigment',
  'other',
] as const;

/** What a product is sprayed for, to see that two products of one role don't follow too soon. */
export const ROLES = [
  'nitrogen',
  'phosphorus',
  'potassium',
  'iron',
  'manganese',
  'magnesium',
  'acidifier',
  'surfactant',
  'humic',
  'other',
] as const;
export type Role = (typeof ROLES)[number];

/** One product in one spray, planned or past. Times are milliseconds since 1970, UTC. */
export interface Application {
  readonly id: string;
  readonly productId: string;
  readonly productName: string;
  readonly startMs: number;
  readonly endMs: number;
  readonly plotIds: readonly string[];
  readonly dose: AreaDose;
  readonly roles: readonly Role[];
  /** The label's shortest interval, or null. */
  readonly minIntervalDays: number | null;
}

/** Sprays of one product this close count as one application for the label's rate: a second pass the same evening. */
export const ONE_APPLICATION_MS = DAY_MS / 2;

/** Time between two sprays, ms: 0 when they overlap, whichever came first. */
export function gapMs(a: Application, b: Application): number {
  return Math.max(0, b.startMs - a.endMs, a.startMs - b.endMs);
}
