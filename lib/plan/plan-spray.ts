import type { Refusal } from '@/lib/expect';
import type { Check } from '@/lib/spray/check';
import { compositionFault } from '@/lib/spray/composition';
import { costOf } from '@/lib/spray/cost';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixSheet, type MixSheet } from '@/lib/spray/mix-sheet';
import { analysisFault, NO_NUTRIENTS, nutrientsIn, type PerElement, sumNutrients } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import { seasonLedger } from '@/lib/spray/season-ledger';
import { percentByVolume } from '@/lib/spray/solution';
import type { AcidProduct } from '@/lib/water/acids';
import type { TankItem } from '@/lib/water/tank-ph';
import { doseOfWish } from './dose-wish';
import { type PastSpray, planChecks, type SharedPair } from './plan-checks';
import { acidOf, isRefused, type PlanProduct } from './plan-product';
import { type Season, seasonOf } from './season';
import { acidForMix, type MixAcidDose, tankChemistry, type TankChemistry } from './tank-chemistry';
import type { FieldFault, CanonicalPlan } from './typed-plan';
import { type Walk, walkOver, type WalkedPlot, type WalkingSprayer } from './walk';

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

const FIELD_OF_REFUSAL: Readonly<Record<string, string>> = {
  areaM2: 'plotIds',
  carrierLPerHa: 'carrier',
  tankCapacityL: 'tank',
  headroomShare: 'headroomPercent',
  reserveShare: 'reservePercent',
  targetPH: 'targetPh',
  alkalinityMgPerLCaCO3: 'waterAlkalinity',
};

/**
 * Works out a whole plan: amounts for each tank, nutrients, strength, chemistry, cost, way, and every check. Pure: the
 * page calls it while one types, and the server calls it again when the plan is kept, so both say the same.
 * @returns the plan; or null with a sentence for each field that has to change
 */
export function planSpray(
  wish: CanonicalPlan,
  facts: PlanFacts,
): { readonly plan: SprayPlan | null; readonly faults: readonly FieldFault[] } {
  const faults: FieldFault[] = [];
  const fault = (field: string, sentence: string, kind: FieldFault['kind'] = 'wrong') =>
    faults.push({ field, kind, sentence });
  const refuse = (answer: Refusal, field = FIELD_OF_REFUSAL[answer.field] ?? answer.field) =>
    fault(field, answer.sentence);

  const plots = facts.plots.filter((plot) => wish.plotIds.includes(plot.id));
  if (plots.length !== new Set(wish.plotIds).size)
    fault('plotIds', 'Plots: expected plots of this lawn, got one that is not there any more');
  const products = productsOf(wish, facts, fault);
  if (faults.length > 0) return { plan: null, faults };

  const doses = standingDoses(wish, products, refuse);
  if (faults.length > 0) return { plan: null, faults };
  const acid = acidDose(wish, products, doses, fault, refuse);
  if (faults.length > 0) return { plan: null, faults };
  if (acid !== null) {
    const massKgPerHa = (acid.gPerL / 1000) * wish.carrierLPerHa;
    const density = products[acid.place]?.densityKgPerL ?? null;
    doses[acid.place] = { massKgPerHa, volumeLPerHa: density === null ? null : massKgPerHa / density };
  }

  const mix = products.map((product, place) => mixItem(product, doses[place] ?? NO_DOSE));
  const areaM2 = plots.reduce((sum, plot) => sum + plot.areaM2, 0);
  const sheet = mixSheet(
    mix,
    {
      areaM2,
      carrierLPerHa: wish.carrierLPerHa,
      tankCapacityL: wish.tankL,
      headroomShare: wish.headroomShare,
      reserveShare: wish.reserveShare,
      even: wish.evenLoads,
    },
    SALT_EDITION,
  );
  if (sheet.kind === 'refused') {
    refuse(sheet);
    return { plan: null, faults };
  }
  const water = {
    pH: wish.waterPH,
    alkalinityMgPerLCaCO3: wish.alkalinityMgPerLCaCO3,
    hardnessMgPerLCaCO3: wish.hardnessMgPerLCaCO3,
  };
  const chemistry = tankChemistry(
    water,
    tankItems(mix, wish.carrierLPerHa),
    wish.targetPH,
    acidToShow(products, facts.products),
  );
  if (isRefused(chemistry)) {
    refuse(chemistry);
    return { plan: null, faults };
  }

  const sprayer = facts.sprayers.find((one) => one.id === wish.sprayerId) ?? null;
  const walk = walkOver(plots, sprayer, wish.carrierLPerHa);
  const season = seasonOf(facts.startMs, facts.timeZone, facts.latitudeDeg);
  const checks = planChecks(
    {
      planId: facts.planId,
      startMs: facts.startMs,
      endMs: facts.startMs + (walk?.seconds ?? 0) * 1000,
      plots,
      products,
      items: mix,
      carrierLPerHa: wish.carrierLPerHa,
      tankPH: wish.jarPH ?? (chemistry.tank?.kind === 'predicted' ? chemistry.tank.closed.pH : null),
      hardnessMgPerLCaCO3: wish.hardnessMgPerLCaCO3,
      airTempC: wish.airTempC,
      heat: facts.heat,
      salt: sheet.salt,
      season,
      overlaps: facts.overlaps ?? [],
    },
    facts.history,
  );
  const items = products.map((product, place) => plannedItem(product, wish, place, doses[place] ?? NO_DOSE, sheet));
  return {
    faults,
    plan: {
      areaM2,
      carrierLPerHa: wish.carrierLPerHa,
      tankL: wish.tankL,
      plots,
      items,
      sheet,
      chemistry,
      acidItem: acid,
      season,
      seasons: seasonsOf(plots, facts, season, sheet.nutrientsKgPerHa, sheet.nutrientsComplete),
      costs: costsOf(items),
      costComplete: items.every((item) => item.cost !== null),
      walk,
      checks,
    },
  };
}

const mixItem = (product: PlanProduct, dose: AreaDose): MixItem => ({ ...product, dose });

type Fault = (field: string, sentence: string, kind?: FieldFault['kind']) => void;
const NO_DOSE: AreaDose = { massKgPerHa: 0, volumeLPerHa: null };

function productsOf(wish: CanonicalPlan, facts: PlanFacts, fault: Fault): PlanProduct[] {
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
function standingDoses(
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

function acidDose(
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
function acidToShow(used: readonly PlanProduct[], shelf: readonly PlanProduct[]): AcidProduct | null {
  for (const product of [...used, ...shelf.filter((one) => one.roles.includes('acidifier'))]) {
    const acid = acidOf(product);
    if (acid !== null) return acid;
  }
  return null;
}

function plannedItem(
  product: PlanProduct,
  wish: CanonicalPlan,
  place: number,
  dose: AreaDose,
  sheet: MixSheet,
): PlannedItem {
  const amount = sheet.totals[place] ?? { massKg: null, volumeL: null };
  const cost = product.pack === null ? null : costOf(amount, product.pack, product.densityKgPerL);
  return {
    productId: product.id,
    name: product.name,
    form: product.form,
    densityKgPerL: product.densityKgPerL,
    by: wish.items[place]?.dose.kind ?? 'rate',
    entered: wish.items[place]?.entered ?? null,
    dose,
    nutrientsKgPerHa: dose.massKgPerHa === null ? null : nutrientsIn(product.analysis, dose.massKgPerHa),
    percentByVolume:
      product.form === 'liquid' && dose.volumeLPerHa !== null
        ? percentByVolume(dose.volumeLPerHa, wish.carrierLPerHa)
        : null,
    cost: typeof cost === 'number' ? cost : null,
    currency: product.currency,
    costMissing: cost === null ? 'no price on the shelf' : typeof cost === 'number' ? '' : cost.sentence,
    cautions: product.cautions,
  };
}

function costsOf(items: readonly PlannedItem[]): SprayPlan['costs'] {
  const sums = new Map<string, number>();
  for (const { cost, currency } of items)
    if (cost !== null) sums.set(currency ?? '', (sums.get(currency ?? '') ?? 0) + cost);
  return [...sums].map(([currency, total]) => ({ currency, total }));
}

function seasonsOf(
  plots: readonly PlanPlot[],
  facts: PlanFacts,
  season: Season,
  planned: PerElement,
  plannedComplete: boolean,
): readonly PlotSeason[] {
  const entries = facts.history
    .filter((spray) => !spray.planned && spray.id !== facts.planId)
    .map((spray) => ({
      id: spray.id,
      startMs: spray.startMs,
      plotIds: spray.plotIds,
      complete: spray.items.every((item) => item.complete),
      nutrientsKgPerHa:
        spray.items.length === 0 ? NO_NUTRIENTS : sumNutrients(spray.items.map((item) => item.nutrientsKgPerHa)),
    }));
  const ledgers = seasonLedger(
    plots.map((plot) => plot.id),
    entries,
    season.fromMs,
    facts.startMs,
  );
  return ledgers.map((ledger, place) => ({
    plotId: ledger.plotId,
    name: plots[place]?.name ?? '',
    beforeKgPerHa: ledger.totalKgPerHa,
    withPlanKgPerHa: sumNutrients([ledger.totalKgPerHa, planned]),
    complete: ledger.complete && plannedComplete,
  }));
}
