import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { listEvents, type EventRow } from '@/lib/diary/lawn-events';
import { listPlotGrounds, listPlots, type Plot } from '@/lib/diary/plots';
import { findProducts, listProducts, type Product } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { pastSprays, type PastSprayRow } from '@/lib/diary/sprays';
import { analysisOf } from '@/lib/forms/product-form';
import type { PastItem, PastSpray } from '@/lib/plan/plan-checks';
import type { PlanFacts, PlanPlot } from '@/lib/plan/spray-plan';
import { grassSeason, heatLimits } from '@/lib/spray/grass-season';
import { analysisFault, NO_NUTRIENTS, nutrientsIn } from '@/lib/spray/nutrients';
import { rolesOf } from '@/lib/spray/product-roles';
import { groundReached, overlapsAmong, type PlotGround } from '@/lib/trial/plot-ground';
import { planProduct, statedRole } from './plan-product';

/** How far before and after a plan the diary is looked at: a season cap's year and a bit on either side. */
const LOOK_MS = 400 * DAY_MS;
/** A plan this long past its time is taken as forgotten and not counted as a spray to come. */
const FORGOTTEN_MS = DAY_MS / 2;

/** A plot as planning sees it: the sides of the rectangle round it. */
export function planPlot(plot: Plot): PlanPlot {
  const corners = plot.polygonM ?? [];
  const side = (axis: 0 | 1) =>
    Math.max(...corners.map((corner) => corner[axis])) - Math.min(...corners.map((corner) => corner[axis]));
  const known = corners.length >= 3;
  return {
    id: plot.id,
    name: plot.name,
    isCheck: plot.isCheck,
    areaM2: plot.areaM2,
    lengthM: known ? side(1) : null,
    widthM: known ? side(0) : null,
  };
}

/** One product of a spray as it really went out, where that was recorded, else as its rate says. */
function sprayedItem(item: PastSprayRow['items'][number], product: Product, hectares: number): PastItem {
  const perHa = (amount: number | null, rate: number | null) =>
    amount !== null && hectares > 0 ? amount / hectares : rate;
  return pastItem(product, perHa(item.actualKg, item.rateKgPerHa), perHa(item.actualL, item.rateLPerHa));
}

function pastItem(product: Product, knownKgPerHa: number | null, knownLPerHa: number | null): PastItem {
  const density = product.densityKgPerL;
  let massKgPerHa = knownKgPerHa;
  let volumeLPerHa = knownLPerHa;
  if (massKgPerHa === null && volumeLPerHa !== null && density !== null) massKgPerHa = volumeLPerHa * density;
  if (volumeLPerHa === null && massKgPerHa !== null && density !== null) volumeLPerHa = massKgPerHa / density;
  const analysis = analysisOf(product);
  const known = massKgPerHa !== null && analysisFault(analysis) === null;
  return {
    productId: product.id,
    productName: product.name,
    dose: { massKgPerHa, volumeLPerHa },
    roles: rolesOf(statedRole(product.role), analysis),
    minIntervalDays: product.minIntervalDays,
    nutrientsKgPerHa: known ? nutrientsIn(analysis, massKgPerHa ?? 0) : NO_NUTRIENTS,
    complete: known || Object.values(analysis).every((percent) => percent === 0),
  };
}

/** A spray of the diary as the checks see it. */
function pastSpray(spray: PastSprayRow, products: ReadonlyMap<string, Product>): PastSpray {
  const hectares = spray.plots.reduce((sum, plot) => sum + plot.areaM2, 0) / 10_000;
  const startMs = spray.startedAt.getTime();
  return {
    id: spray.id,
    startMs,
    endMs: Math.max(startMs, spray.endedAt?.getTime() ?? startMs),
    plotIds: spray.plots.map((plot) => plot.plotId),
    planned: spray.state === 'planned',
    items: spray.items.flatMap((item) =>
      products.has(item.productId) ? [sprayedItem(item, products.get(item.productId)!, hectares)] : [],
    ),
  };
}

/** A product that was spread or poured, not sprayed: its label and nutrients count as those of a spray. */
function spread(event: EventRow, products: ReadonlyMap<string, Product>, plotIds: readonly string[]): PastSpray[] {
  const product = event.kind === 'product' && event.productId !== null ? products.get(event.productId) : undefined;
  if (event.kind !== 'product' || !product) return [];
  const atMs = event.at.getTime();
  return [
    {
      id: event.id,
      startMs: atMs,
      endMs: atMs,
      plotIds: event.wholeLawn ? plotIds : event.plotIds,
      planned: false,
      items: [pastItem(product, event.rateKgPerHa, event.rateLPerHa)],
    },
  ];
}

/** What a spray did to other plots: those that share its ground got it too, and of some nobody knows. */
function reaching(spray: PastSpray, grounds: readonly PlotGround[]): PastSpray {
  const { known, unknown } = groundReached(spray.plotIds, grounds);
  return { ...spray, plotIds: known, ...(unknown.length > 0 ? { maybePlotIds: unknown } : {}) };
}

/**
 * What the diary knows for planning a spray around an instant: plots, sprayers, the shelf, and every spray and product
 * spread within 400 days, plans still to come included, each on all plots whose ground it reached.
 * @param plannedIds products the plan is kept with: one that has left the shelf since stays at hand, after the others
 */
export async function planFacts(
  lawn: Lawn,
  planId: string,
  start: Date,
  now: Date,
  plannedIds: readonly string[] = [],
): Promise<PlanFacts> {
  const [from, to] = [new Date(start.getTime() - LOOK_MS), new Date(start.getTime() + LOOK_MS)];
  const [plots, grounds, sprayers, products, sprays, spreads] = await Promise.all([
    listPlots(lawn.id),
    listPlotGrounds(lawn.id),
    listSprayers(lawn.id),
    listProducts(),
    pastSprays(lawn.id, from, to),
    listEvents(lawn.id, { from, to, kinds: ['product'] }),
  ]);
  const used = await findProducts([
    ...plannedIds,
    ...sprays.flatMap((spray) => spray.items.map((item) => item.productId)),
    ...spreads.flatMap((event) => (event.kind === 'product' && event.productId !== null ? [event.productId] : [])),
  ]);
  const shelf = new Set(products.map((product) => product.id));
  const gone = [...new Set(plannedIds)].flatMap((id) => (shelf.has(id) ? [] : (used.get(id) ?? [])));
  const allIds = grounds.map((plot) => plot.id);
  const past = [
    ...sprays.map((spray) => pastSpray(spray, used)),
    ...spreads.flatMap((event) => spread(event, used, allIds)),
  ].sort((a, b) => a.startMs - b.startMs);
  return {
    planId,
    startMs: start.getTime(),
    timeZone: lawn.timeZone,
    latitudeDeg: lawn.latitudeDeg,
    heat: heatLimits(grassSeason(lawn.grass)),
    plots: plots.map(planPlot),
    overlaps: overlapsAmong(
      plots.map((plot) => plot.id),
      grounds,
    ),
    sprayers: sprayers.map(({ id, name, swathM, walkingMPerS, carrierLPerHa }) => ({
      id,
      name,
      swathM,
      walkingMPerS,
      carrierLPerHa,
    })),
    products: [...products.map(planProduct), ...gone.map((product) => ({ ...planProduct(product), leftShelf: true }))],
    history: past
      .filter((spray) => spray.id !== planId && (!spray.planned || spray.startMs >= now.getTime() - FORGOTTEN_MS))
      .map((spray) => reaching(spray, grounds)),
  };
}
