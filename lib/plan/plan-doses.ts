import type { Refusal } from '@/lib/expect';
import { compositionFault } from '@/lib/spray/composition';
import type { MixItem } from '@/lib/spray/mix-item';
import { analysisFault } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import type { AcidProduct } from '@/lib/water/acids';
import type { TankItem } from '@/lib/water/tank-ph';
import { doseOfWish } from './dose-wish';
import { acidOf, isRefused, type PlanProduct } from './plan-product';
import { acidForMix, type MixAcidDose } from './tank-chemistry';
import type { FieldFault, CanonicalPlan } from './typed-plan';
import type { PlanFacts } from './spray-plan';

export const mixItem = (product: PlanProduct, dose: AreaDose): MixItem => ({ ...product, dose });

type Fault = (field: string, sentence: string, kind?: FieldFault['kind']) => void;

export const NO_DOSE: AreaDose = { massKgPerHa: 0, volumeLPerHa: null };

export function plannedProducts(wish: CanonicalPlan, facts: PlanFacts, fault: Fault): PlanProduct[] {
  const seen = new Set<string>();
  return wish.items.flatMap((item) => {
    const product = facts.products.find((one) => one.id === item.productId);
    if (product === undefined) {
      fault(`items.${item.row}.productId`, 'Product: expected one from the shelf, got one that is not there any more');
      return [];
    }
    const wrong =
      analysisFault(product.analysis) ?? (product.composition === null ? null : compositionFault(product.composition));
    if (wrong !== null) fault(`items.${item.row}.productId`, `${product.name}: ${wrong.sentence}`);
    if (seen.has(product.id))
      fault(`items.${item.row}.productId`, `Product: expected each product once, got ${product.name} again`);
    seen.add(product.id);
    return [product];
  });
}

/** Doses that don't wait for a pH; a place is left empty for the one that does. */
export function standingDoses(
  wish: CanonicalPlan,
  products: readonly PlanProduct[],
  refuse: (answer: Refusal, field?: string) => void,
): (AreaDose | undefined)[] {
  return products.map((product, place) => {
    const item = wish.items[place];
    const wished = item?.dose;
    if (item === undefined || wished === undefined || wished.kind === 'target-ph') return undefined;
    const dose = doseOfWish(product, wished, wish.carrierLPerHa);
    if (!isRefused(dose)) return dose;
    refuse(dose, `items.${item.row}.${wished.kind === 'nutrient' ? 'nutrient' : 'rate'}`);
    return undefined;
  });
}

export function acidDose(
  wish: CanonicalPlan,
  products: readonly PlanProduct[],
  doses: readonly (AreaDose | undefined)[],
  fault: Fault,
  refuse: (answer: Refusal, field?: string) => void,
): (MixAcidDose & { readonly place: number }) | null {
  const places = wish.items.flatMap((item, place) => (item.dose.kind === 'target-ph' ? [place] : []));
  const [place] = places;
  if (place === undefined) return null;
  const product = products[place] as PlanProduct;
  const rowOf = (at: number | undefined) => wish.items[at ?? place]?.row ?? 0;
  if (places.length > 1)
    fault(`items.${rowOf(places[1])}.productId`, 'Acid: expected one product that follows the target pH, got two');
  const acid = acidOf(product);
  if (acid === null)
    fault(
      `items.${rowOf(place)}.productId`,
      `${product.name}: expected an acid whose composition is known, so that a dose can be worked out; enter it on the shelf, or give a rate`,
    );
  if (wish.targetPH === null)
    fault('targetPh', 'Target pH: expected one, since an acid is to be dosed for it, got nothing', 'missing');
  if (wish.waterPH === null)
    fault(
      'waterPh',
      'Water pH: expected it from the water report, since an acid is to be dosed, got nothing',
      'missing',
    );
  if (wish.alkalinityMgPerLCaCO3 === null)
    fault(
      'waterAlkalinity',
      'Alkalinity: expected it from the water report, since it sets the acid dose, got nothing',
      'missing',
    );
  if (
    places.length > 1 ||
    acid === null ||
    wish.targetPH === null ||
    wish.waterPH === null ||
    wish.alkalinityMgPerLCaCO3 === null
  )
    return null;
  const others = products.flatMap((other, at) => (at === place ? [] : [mixItem(other, doses[at] ?? NO_DOSE)]));
  const water = {
    pH: wish.waterPH,
    alkalinityMgPerLCaCO3: wish.alkalinityMgPerLCaCO3,
    hardnessMgPerLCaCO3: wish.hardnessMgPerLCaCO3 ?? undefined,
  };
  const dose = acidForMix(water, tankItems(others, wish.carrierLPerHa), wish.targetPH, acid, wish.acidAir);
  if (!isRefused(dose)) return { ...dose, place };
  refuse(dose);
  return null;
}

/** Products as the tank's chemistry sees them; one without a weight counts as of unknown composition. */
export function tankItems(mix: readonly MixItem[], carrierLPerHa: number): readonly TankItem[] {
  return mix.map((item) =>
    item.dose.massKgPerHa === null
      ? { name: item.name, gPerL: 1, composition: null }
      : { name: item.name, gPerL: (item.dose.massKgPerHa * 1000) / carrierLPerHa, composition: item.composition },
  );
}

/** The acid the figures are shown for: the mix's own, else the first on the shelf. */
export function acidToShow(used: readonly PlanProduct[], shelf: readonly PlanProduct[]): AcidProduct | null {
  for (const product of [...used, ...shelf.filter((one) => one.roles.includes('acidifier') && !one.leftShelf)]) {
    const acid = acidOf(product);
    if (acid !== null) return acid;
  }
  return null;
}
