import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { listPlots, type Plot } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { spraysBetween, type SprayWithProducts } from '@/lib/diary/sprays';
import { analysisOf } from '@/lib/forms/product-form';
import type { PastItem, PastSpray } from '@/lib/plan/plan-checks';
import type { PlanFacts, PlanPlot } from '@/lib/plan/plan-spray';
import { analysisFault, NO_NUTRIENTS, nutrientsIn } from '@/lib/spray/nutrients';
import { rolesOf } from '@/lib/spray/product-roles';
import { planProduct, statedRole } from './plan-product';

const DAY_MS = 86_400_000;
/** How far before and after a plan the diary is looked at: a season cap's year and a bit on either side. */
const LOOK_MS = 400 * DAY_MS;
/** A plan this long past its time is taken as forgotten and not counted as a spray to come. */
const FORGOTTEN_MS = DAY_MS / 2;

function planPlot(plot: Plot): PlanPlot {
  const corners = plot.polygonM ?? [];
  const side = (axis: 0 | 1) => Math.max(...corners.map((corner) => corner[axis])) - Math.min(...corners.map((corner) => corner[axis]));
  const known = corners.length >= 3;
  return { id: plot.id, name: plot.name, areaM2: plot.areaM2, lengthM: known ? side(1) : null, widthM: known ? side(0) : null };
}

/** One product of a spray as it really went out, where that was recorded, else as its rate says. */
function pastItem(item: SprayWithProducts['items'][number], hectares: number): PastItem {
  const { product } = item;
  const perHa = (amount: number | null, rate: number | null) => (amount !== null && hectares > 0 ? amount / hectares : rate);
  const density = product.densityKgPerL;
  let massKgPerHa = perHa(item.actualKg, item.rateKgPerHa);
  let volumeLPerHa = perHa(item.actualL, item.rateLPerHa);
  if (massKgPerHa === null && volumeLPerHa !== null && density !== null) massKgPerHa = volumeLPerHa * density;
  if (volumeLPerHa === null && massKgPerHa !== null && density !== null) volumeLPerHa = massKgPerHa / density;
  const analysis = analysisOf(product);
  const known = massKgPerHa !== null && analysisFault(analysis) === null;
  return {
    productId: product.id, productName: product.name, dose: { massKgPerHa, volumeLPerHa },
    roles: rolesOf(statedRole(product.role), analysis), minIntervalDays: product.minIntervalDays,
    nutrientsKgPerHa: known ? nutrientsIn(analysis, massKgPerHa ?? 0) : NO_NUTRIENTS,
    complete: known || Object.values(analysis).every((percent) => percent === 0),
  };
}

/** A spray of the diary as the checks see it. */
export function pastSpray(spray: SprayWithProducts): PastSpray {
  const hectares = spray.plots.reduce((sum, plot) => sum + plot.areaM2, 0) / 10_000;
  const startMs = spray.startedAt.getTime();
  return {
    id: spray.id, startMs, endMs: Math.max(startMs, spray.endedAt?.getTime() ?? startMs), plotIds: spray.plots.map((plot) => plot.plotId),
    planned: spray.state === 'planned', items: spray.items.map((item) => pastItem(item, hectares)),
  };
}

/**
 * What the diary knows for planning a spray around an instant: plots, sprayers, the shelf, and every spray within 400 days,
 * plans still to come included.
 */
export async function planFacts(lawn: Lawn, planId: string, start: Date, now: Date): Promise<PlanFacts> {
  const [plots, sprayers, products, sprays] = await Promise.all([
    listPlots(lawn.id), listSprayers(lawn.id), listProducts(),
    spraysBetween(lawn.id, new Date(start.getTime() - LOOK_MS), new Date(start.getTime() + LOOK_MS)),
  ]);
  return {
    planId, startMs: start.getTime(), timeZone: lawn.timeZone, latitudeDeg: lawn.latitudeDeg,
    plots: plots.map(planPlot),
    sprayers: sprayers.map(({ id, name, swathM, walkingMPerS, carrierLPerHa }) => ({ id, name, swathM, walkingMPerS, carrierLPerHa })),
    products: products.map(planProduct),
    history: sprays.map(pastSpray).filter((spray) => spray.id !== planId && (!spray.planned || spray.startMs >= now.getTime() - FORGOTTEN_MS)),
  };
}
