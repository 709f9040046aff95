import { expectNotNegative, expectPositive, refused, type Refusal } from '@/lib/expect';
import type { AreaDose, ProductAmount } from './product-rate';

/** One filling of the tank. */
export interface TankLoad {
  /** Finished mix, L. */
  readonly volumeL: number;
  /** Ground it covers at the carrier volume, m². */
  readonly areaM2: number;
}

export interface TankPlan {
  /** Finished mix for the whole area, L, without reserve. */
  readonly totalMixL: number;
  /** Mix left over by choice: reserve for the hose and for an uneven walk, L. */
  readonly reserveL: number;
  /** In the order they are filled; the last may be smaller. */
  readonly loads: readonly TankLoad[];
  readonly fullLoads: number;
  /** The last, smaller load, or null when every load is full. */
  readonly lastPartial: TankLoad | null;
  /** Tank capacity not filled in a full load, L: room to stir and for foam. */
  readonly headroomL: number;
}

export interface TankPlanInput {
  readonly areaM2: number;
  readonly carrierLPerHa: number;
  readonly tankCapacityL: number;
  /** Share of the tank left empty, 0 to 0.5. */
  readonly headroomShare?: number;
  /** Mix made beyond what the area takes, as a share of it, 0 to 0.5. */
  readonly reserveShare?: number;
  /** Same size for every load instead of full ones and a small last: one recipe for all. */
  readonly even?: boolean;
}

/** A load within this share of full counts as full: float noise, not litres. */
const NOISE = 1e-9;

/**
 * How often the tank is filled, and how far. The loads' areas add up to the area; their volumes to mix and reserve.
 * @returns the plan; or a refusal at `areaM2`, `carrierLPerHa`, `tankCapacityL`, `headroomShare` or `reserveShare`
 * @example 20 L over 400 m2 at 500 L/ha from a 15 L tank: one full load and one of 5 L
 */
export function planTanks(input: TankPlanInput): TankPlan | Refusal {
  const { areaM2, carrierLPerHa, tankCapacityL, headroomShare = 0, reserveShare = 0 } = input;
  if (!(areaM2 > 0) || !Number.isFinite(areaM2))
    return refused('areaM2', `Area: expected more than 0 m², got ${areaM2}.`);
  if (!(carrierLPerHa > 0) || !Number.isFinite(carrierLPerHa))
    return refused('carrierLPerHa', `Carrier volume: expected more than 0 L/ha, got ${carrierLPerHa}.`);
  if (!(tankCapacityL > 0) || !Number.isFinite(tankCapacityL))
    return refused('tankCapacityL', `Tank: expected a capacity above 0 L, got ${tankCapacityL}.`);
  if (!(headroomShare >= 0 && headroomShare <= 0.5))
    return refused('headroomShare', `Headroom: expected 0 to 50 % of the tank, got ${headroomShare * 100} %.`);
  if (!(reserveShare >= 0 && reserveShare <= 0.5))
    return refused('reserveShare', `Reserve: expected 0 to 50 % of the mix, got ${reserveShare * 100} %.`);
  const totalMixL = (areaM2 / 10_000) * carrierLPerHa;
  const madeL = totalMixL * (1 + reserveShare);
  const fillL = tankCapacityL * (1 - headroomShare);
  const count = Math.max(1, Math.ceil(madeL / fillL - NOISE));
  if (count > 10_000)
    return refused(
      'tankCapacityL',
      `Tank: expected one that needs at most 10,000 fillings for this area, got ${count}.`,
    );
  const load = (volumeL: number): TankLoad => ({ volumeL, areaM2: (volumeL / madeL) * areaM2 });
  const headroomL = tankCapacityL - fillL;
  const common = { totalMixL, reserveL: madeL - totalMixL, headroomL };
  if (input.even === true) {
    const loads = Array.from({ length: count }, () => load(madeL / count));
    return { ...common, loads, fullLoads: madeL / count >= fillL * (1 - NOISE) ? count : 0, lastPartial: null };
  }
  const lastL = madeL - (count - 1) * fillL;
  const lastIsFull = lastL >= fillL * (1 - NOISE);
  const loads = [...Array.from({ length: count - 1 }, () => load(fillL)), load(lastL)];
  return { ...common, loads, fullLoads: lastIsFull ? count : count - 1, lastPartial: lastIsFull ? null : load(lastL) };
}

/**
 * Product for one load. A reserve is mixed at the same strength, so the amount follows the load's volume, not its area.
 * @throws RangeError for a carrier volume of 0 or less
 */
export function amountInLoad(dose: AreaDose, load: TankLoad, carrierLPerHa: number): ProductAmount {
  const hectares =
    expectNotNegative('load volume', load.volumeL, 'L') / expectPositive('carrier volume', carrierLPerHa, 'L/ha');
  return {
    massKg: dose.massKgPerHa === null ? null : dose.massKgPerHa * hectares,
    volumeL: dose.volumeLPerHa === null ? null : dose.volumeLPerHa * hectares,
  };
}

/**
 * Water to pour into a load: what the liquids leave. Dry products are taken to add no volume (1 % at most in a foliar
 * mix; common practice, no source): the tank is made up to its mark.
 * @returns litres; or a refusal at `carrierLPerHa` when the products alone overfill the load
 */
export function waterForLoad(load: TankLoad, liquidsL: readonly number[]): number | Refusal {
  const productsL = liquidsL.reduce((sum, volumeL) => sum + expectNotNegative('liquid product', volumeL, 'L'), 0);
  const waterL = load.volumeL - productsL;
  if (waterL <= 0)
    return refused(
      'carrierLPerHa',
      `Carrier volume: expected more than the liquid products alone (${productsL.toPrecision(3)} L a load), got ${load.volumeL.toPrecision(3)} L a load.`,
    );
  return waterL;
}
