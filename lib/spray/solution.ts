import { expectNotNegative, expectPositive } from '@/lib/expect';
import { type Dissolving, dissolvedShare } from './dissolved';
import type { AreaDose } from './product-rate';
import { saltIndex, type SaltIndexEdition } from './salt-index';

/** How strong one thing is in the finished mix. */
export interface Strength {
  readonly gPerL: number;
  /** mg/L, which is parts per million in a dilute mix. */
  readonly ppm: number;
  /** Gram per 100 mL. */
  readonly percentWeightByVolume: number;
}

/** Strength of a mass on an area in its carrier. @throws RangeError for a negative dose or a carrier of 0 or less */
export function strength(massKgPerHa: number, carrierLPerHa: number): Strength {
  const gPerL =
    (expectNotNegative('dose', massKgPerHa, 'kg/ha') * 1000) / expectPositive('carrier volume', carrierLPerHa, 'L/ha');
  return { gPerL, ppm: gPerL * 1000, percentWeightByVolume: gPerL / 10 };
}

/**
 * Volume share of a liquid in the finished mix, percent v/v (surfactants are labelled so).
 * @throws RangeError as `strength`
 */
export function percentByVolume(volumeLPerHa: number, carrierLPerHa: number): number {
  return (
    (expectNotNegative('dose', volumeLPerHa, 'L/ha') / expectPositive('carrier volume', carrierLPerHa, 'L/ha')) * 100
  );
}

/** What a product brings to the salt load. */
export interface SaltItem extends Dissolving {
  readonly name: string;
  readonly dose: AreaDose;
  /** False for what isn't a salt or a fertiliser at all: surfactants, dyes. */
  readonly countsAsSalt: boolean;
}

export interface SaltLoad {
  /**
   * Dissolved fertiliser and acid in the finished mix, g/L, a liquid's own water not counted; urea counts, since it
   * burns as a salt does.
   */
  readonly saltGPerL: number;
  /** The same as grams of sodium nitrate of equal salt index, g/L, over the materials this edition lists. */
  readonly sodiumNitrateGPerL: number;
  readonly edition: SaltIndexEdition;
  /**
   * Materials without an index in this edition, or products of unknown composition or weight: left out of the figure
   * above.
   */
  readonly leftOut: readonly string[];
}

/** Salt in the finished mix, plain and weighted by salt index. @throws RangeError as `strength` */
export function saltLoad(items: readonly SaltItem[], carrierLPerHa: number, edition: SaltIndexEdition): SaltLoad {
  let saltGPerL = 0;
  let sodiumNitrateGPerL = 0;
  const leftOut: string[] = [];
  for (const item of items) {
    if (!item.countsAsSalt) continue;
    if (item.dose.massKgPerHa === null) {
      leftOut.push(item.name);
      continue;
    }
    const { gPerL } = strength(item.dose.massKgPerHa, carrierLPerHa);
    if (gPerL === 0) continue;
    if (item.composition === null) {
      saltGPerL += gPerL * (dissolvedShare(item)?.share ?? 0);
      leftOut.push(item.name);
      continue;
    }
    for (const { substance, massShare } of item.composition) {
      if (substance === 'water') continue;
      saltGPerL += gPerL * massShare;
      const index = saltIndex(substance, edition);
      if (index === null) leftOut.push(substance);
      else sodiumNitrateGPerL += (gPerL * massShare * index) / 100;
    }
  }
  return { saltGPerL, sodiumNitrateGPerL, edition, leftOut: [...new Set(leftOut)] };
}
