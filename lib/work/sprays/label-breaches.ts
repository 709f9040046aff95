import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { findProducts } from '@/lib/diary/products';
import type { Spray } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { labelChecksOver } from '@/lib/plan/plan-checks';
import { labelConditions, type WhatCame } from '@/lib/plan/label-conditions';
import { seasonOf } from '@/lib/plan/season';
import { type Check, gravestFirst } from '@/lib/spray/check';
import { rainBetween } from '@/lib/weather/rain-since';
import { eventsNear } from '../diary/events-near';
import { planFacts } from './plan-facts';
import { planProduct } from './plan-product';

/**
 * Where a spray that was done went past its labels or came too soon, over the diary's other done sprays; what is clear
 * is left out.
 */
export async function labelBreaches(lawn: Lawn, spray: Spray): Promise<readonly Check[]> {
  const facts = await planFacts(lawn, spray.id, spray.startedAt, spray.startedAt);
  const hectares = spray.plots.reduce((sum, plot) => sum + plot.areaM2, 0) / 10_000;
  const onGround = (amount: number | null, rate: number | null) =>
    amount !== null && hectares > 0 ? amount / hectares : rate;
  const used = await findProducts(spray.items.map((item) => item.productId));
  const known = spray.items.flatMap((item) => {
    const own = used.get(item.productId);
    const product = own && planProduct(own);
    return product
      ? [
          {
            product,
            dose: {
              massKgPerHa: onGround(item.actualKg, item.rateKgPerHa),
              volumeLPerHa: onGround(item.actualL, item.rateLPerHa),
            },
          },
        ]
      : [];
  });
  const checks = labelChecksOver(
    {
      planId: spray.id,
      startMs: spray.startedAt.getTime(),
      endMs: Math.max(spray.startedAt.getTime(), spray.endedAt?.getTime() ?? 0),
      plots: spray.plots.map((covered) => covered.plot),
      products: known.map((one) => one.product),
      items: known,
      carrierLPerHa: spray.carrierLPerHa,
      season: seasonOf(spray.startedAt.getTime(), lawn.timeZone, lawn.latitudeDeg),
    },
    facts.history.filter((other) => !other.planned),
  );
  const conditions = labelConditions(
    known.map((one) => one.product),
    await whatCame(lawn, spray),
  );
  return gravestFirst([...checks, ...conditions].filter((check) => check.level !== 'clear'));
}

/** As long as any label asks for anything, a week. */
const LOOK_HOURS = 168;
/** Water that counts: what a gauge shows, 0.01 in. */
const WATER_MM = 0.25;

/** The air of a spray, and the first water and mowing on its plots since. */
async function whatCame(lawn: Lawn, spray: Spray): Promise<WhatCame> {
  const end = (spray.endedAt ?? spray.startedAt).getTime();
  const until = new Date(end + 60 * 24 * HOUR_MS);
  const [hours, events] = await Promise.all([
    // A forecast is nothing that came.
    weatherHoursBetween(lawn.id, new Date(end - HOUR_MS), new Date(end + LOOK_HOURS * HOUR_MS)),
    eventsNear(
      lawn.id,
      spray.plots.map((covered) => covered.plotId),
      new Date(end),
      until,
    ),
  ]);
  const rained = hours
    .filter((hour) => (hour.rainMm ?? 0) >= WATER_MM && hour.hourStartUtcMs + HOUR_MS > end)
    .map((hour) => Math.max(0, (hour.hourStartUtcMs - end) / HOUR_MS));
  const watered = events
    .filter((event) => event.kind === 'watering' || event.kind === 'rain')
    .map((event) => (event.at.getTime() - end) / HOUR_MS)
    .filter((after) => after <= LOOK_HOURS);
  const wet = [...rained, ...watered];
  const mown = events.find((event) => event.kind === 'mowing');
  return {
    airTempC: spray.airTempC,
    hoursToWater: wet.length === 0 ? null : Math.min(...wet),
    waterKnownHours: rainBetween(hours, end, end + LOOK_HOURS * HOUR_MS).hoursKnown,
    daysToMowing: mown ? (mown.at.getTime() - end) / (24 * HOUR_MS) : null,
  };
}
