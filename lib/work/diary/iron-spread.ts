import 'server-only';
import { findProducts } from '@/lib/diary/products';
import { DAY_MS } from '@/lib/units/time';
import { eventsNear } from './events-near';

/** Iron that went on longer ago bears on nothing: as far back as label checks look. */
const LOOK_MS = 400 * DAY_MS;

/** When iron was last spread, not sprayed, on some plots or ground they share, before an instant; null: never. */
export async function ironSpreadBefore(lawnId: string, plotIds: readonly string[], before: Date): Promise<Date | null> {
  const spread = (await eventsNear(lawnId, plotIds, new Date(before.getTime() - LOOK_MS), before)).flatMap((event) =>
    event.kind === 'product' && event.productId !== null ? [{ at: event.at, productId: event.productId }] : [],
  );
  if (spread.length === 0) return null;
  const products = await findProducts(spread.map((event) => event.productId));
  return spread.findLast((event) => (products.get(event.productId)?.fePercent ?? 0) > 0)?.at ?? null;
}

/** The later of two instants, either of which may be unknown. */
export const laterOf = (one: Date | null, other: Date | null): Date | null =>
  one === null || (other !== null && other > one) ? other : one;
