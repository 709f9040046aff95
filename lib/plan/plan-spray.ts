import type { Refusal } from '@/lib/expect';
import { costOf } from '@/lib/spray/cost';
import { mixSheet, type MixSheet } from '@/lib/spray/mix-sheet';
import { NO_NUTRIENTS, nutrientsIn, sumNutrients, type PerElement } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import { seasonLedger } from '@/lib/spray/season-ledger';
import { percentByVolume } from '@/lib/spray/solution';
import { planChecks } from './plan-checks';
import { isRefused, type PlanProduct } from './plan-product';
import { seasonOf, type Season } from './season';
import { tankChemistry } from './tank-chemistry';
import type { FieldFault, CanonicalPlan } from './typed-plan';
import { walkOver } from './walk';
import {
  SALT_EDITION,
  type PlanFacts,
  type SprayPlan,
  type PlannedItem,
  type PlanPlot,
  type PlotSeason,
} from './spray-plan';
import { productsOf, standingDoses, acidDose, mixItem, NO_DOSE, tankItems, acidToShow } from './plan-doses';

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
