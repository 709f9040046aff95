import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { findProducts } from '@/lib/diary/products';
import type { Spray } from '@/lib/diary/sprays';
import { labelChecksOver } from '@/lib/plan/plan-checks';
import { seasonOf } from '@/lib/plan/season';
import { type Check, gravestFirst } from '@/lib/spray/check';
import { planFacts } from './plan-facts';
import { planProduct } from './plan-product';

/** Where a spray that was done went past its labels or came too soon, over the diary's other done sprays; what is clear is left out. */
export async function labelBreaches(lawn: Lawn, spray: Spray): Promise<readonly Check[]> {
  const facts = await planFacts(lawn, spray.id, spray.startedAt, spray.startedAt);
  const hectares = spray.plots.reduce((sum, plot) => sum + plot.areaM2, 0) / 10_000;
  const onGround = (amount: number | null, rate: number | null) => (amount !== null && hectares > 0 ? amount / hectares : rate);
  const used = await findProducts(spray.items.map((item) => item.productId));
  const known = spray.items.flatMap((item) => {
    const own = used.get(item.productId);
    const product = own && planProduct(own);
    return product ? [{ product, dose: { massKgPerHa: onGround(item.actualKg, item.rateKgPerHa), volumeLPerHa: onGround(item.actualL, item.rateLPerHa) } }] : [];
  });
  const checks = labelChecksOver({
    planId: spray.id, startMs: spray.startedAt.getTime(), endMs: Math.max(spray.startedAt.getTime(), spray.endedAt?.getTime() ?? 0),
    plots: spray.plots.map((covered) => covered.plot), products: known.map((one) => one.product), items: known,
    carrierLPerHa: spray.carrierLPerHa, season: seasonOf(spray.startedAt.getTime(), lawn.timeZone, lawn.latitudeDeg),
  }, facts.history.filter((other) => !other.planned));
  return gravestFirst(checks.filter((check) => check.level !== 'clear'));
}
