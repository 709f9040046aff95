import type { Refusal } from '@/lib/expect';
import { NOT_SALT } from './dissolved';
import { type MixItem, nutrientsOfMix } from './mix-item';
import { mixingOrder, type MixingStep } from './mixing-order';
import type { PerElement } from './nutrients';
import type { ProductAmount } from './product-rate';
import { type SaltLoad, saltLoad, strength, type Strength } from './solution';
import type { SaltIndexEdition } from './salt-index';
import { amountInLoad, planTanks, type TankLoad, type TankPlan, type TankPlanInput, waterForLoad } from './tanks';

/** What goes into one filling. */
export interface LoadRecipe {
  readonly load: TankLoad;
  readonly amounts: readonly ProductAmount[];
  readonly waterL: number;
}

/** Everything to weigh out and pour, and what it comes to. */
export interface MixSheet {
  readonly kind: 'sheet';
  readonly tanks: TankPlan;
  /** One recipe a load, amounts in the order of the items. */
  readonly recipes: readonly LoadRecipe[];
  /** Sum over the loads, reserve included. */
  readonly totals: readonly ProductAmount[];
  /** On the ground, reserve not included, kg/ha; a lower bound when `nutrientsComplete` is false. */
  readonly nutrientsKgPerHa: PerElement;
  readonly nutrientsComplete: boolean;
  /** Of each item in the finished mix; null without a weight. */
  readonly strengths: readonly (Strength | null)[];
  readonly salt: SaltLoad;
  readonly order: readonly MixingStep[];
}

/**
 * The whole mix for an area: loads, amounts in each, water, nutrients, strength and order.
 * @returns the sheet; or a refusal that names the field to change
 */
export function mixSheet(
  items: readonly MixItem[],
  ground: TankPlanInput,
  edition: SaltIndexEdition,
): MixSheet | Refusal {
  const tanks = planTanks(ground);
  if ('kind' in tanks) return tanks;
  const recipes: LoadRecipe[] = [];
  for (const load of tanks.loads) {
    const amounts = items.map((item) => amountInLoad(item.dose, load, ground.carrierLPerHa));
    const waterL = waterForLoad(
      load,
      items.map((item, place) => (item.form === 'liquid' ? (amounts[place]?.volumeL ?? 0) : 0)),
    );
    if (typeof waterL !== 'number') return waterL;
    recipes.push({ load, amounts, waterL });
  }
  const { kgPerHa, complete } = nutrientsOfMix(items);
  return {
    kind: 'sheet',
    tanks,
    recipes,
    totals: items.map((_, place) =>
      summed(recipes.map((recipe) => recipe.amounts[place] ?? { massKg: 0, volumeL: 0 })),
    ),
    nutrientsKgPerHa: kgPerHa,
    nutrientsComplete: complete,
    strengths: items.map((item) =>
      item.dose.massKgPerHa === null ? null : strength(item.dose.massKgPerHa, ground.carrierLPerHa),
    ),
    salt: saltLoad(
      items.map((item) => ({ ...item, countsAsSalt: !NOT_SALT.has(item.mixingKind) })),
      ground.carrierLPerHa,
      edition,
    ),
    order: mixingOrder(items.map((item) => ({ name: item.name, kind: item.mixingKind }))),
  };
}

function summed(amounts: readonly ProductAmount[]): ProductAmount {
  const add = (give: (amount: ProductAmount) => number | null) =>
    amounts.reduce<number | null>((sum, amount) => {
      const value = give(amount);
      return sum === null || value === null ? null : sum + value;
    }, 0);
  return { massKg: add((amount) => amount.massKg), volumeL: add((amount) => amount.volumeL) };
}
