import 'server-only';
import { createEvent, findEvent, updateEvent, type EventFields } from '@/lib/diary/lawn-events';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { findProducts } from '@/lib/diary/products';
import type { LawnEventEntry } from '@/lib/forms/lawn-event-form';
import { doseFromRate } from '@/lib/spray/product-rate';
import { isDryTankRate, isLiquidTankRate, type Rate } from '@/lib/units/rate';
import { instantOfLocal } from './lawn-time';
import { notYet } from './not-yet';

export type LogEventResult = { ok: true; eventId: string; at: Date } | { ok: false; field: string; message: string };

/** Columns a kind doesn't use are emptied, so that an event changed to another kind keeps nothing of the old one. */
const nothing = {
  detail: null,
  subject: '',
  mowingHeightMm: null,
  mowingHeightEnteredValue: null,
  mowingHeightEnteredUnit: null,
  mowingDirectionDeg: null,
  bladeSharpened: false,
  waterMm: null,
  waterEnteredValue: null,
  waterEnteredUnit: null,
  waterMin: null,
  productId: null,
  rateEnteredValue: null,
  rateEnteredUnit: null,
  rateKgPerHa: null,
  rateLPerHa: null,
  sharePercent: null,
} as const;

type Columns =
  | { ok: true; fields: Omit<EventFields, 'at' | 'kind' | 'note'> }
  | { ok: false; field: string; message: string };

async function columnsOf(entry: LawnEventEntry): Promise<Columns> {
  switch (entry.kind) {
    case 'mowing': {
      const { height, directionDeg, bladeSharpened } = entry;
      // There and back is one direction: 225° is 45°.
      const line = directionDeg === null ? null : directionDeg % 180;
      return {
        ok: true,
        fields: {
          mowingHeightMm: height === null ? null : height.canonical * 1000,
          mowingHeightEnteredValue: height?.value ?? null,
          mowingHeightEnteredUnit: height?.unit ?? null,
          mowingDirectionDeg: line,
          bladeSharpened,
        },
      };
    }
    case 'watering':
    case 'rain': {
      const { water } = entry;
      return {
        ok: true,
        fields: {
          waterMm: water?.canonical ?? null,
          waterEnteredValue: water?.value ?? null,
          waterEnteredUnit: water?.unit ?? null,
          waterMin: entry.kind === 'watering' ? entry.minutes : null,
        },
      };
    }
    case 'product': {
      const product =
        entry.productId === null ? null : ((await findProducts([entry.productId])).get(entry.productId) ?? null);
      if (entry.productId !== null && !product)
        return {
          ok: false,
          field: 'productId',
          message: 'Product: expected one from the shelf, got one that is not there any more',
        };
      const rate = entry.rate as Rate | null;
      if (rate !== null && (isLiquidTankRate(rate) || isDryTankRate(rate))) {
        return {
          ok: false,
          field: 'rate',
          message:
            'Rate: expected an amount on an area, got one in a tank; log what goes through the sprayer as a spray',
        };
      }
      const dose = rate !== null && product !== null ? doseFromRate(product, rate, 1) : null;
      if (dose !== null && 'kind' in dose) return { ok: false, field: 'rate', message: dose.sentence };
      return {
        ok: true,
        fields: {
          detail: entry.use,
          subject: product?.name ?? entry.name,
          productId: product?.id ?? null,
          rateEnteredValue: rate?.value ?? null,
          rateEnteredUnit: rate?.unit ?? null,
          rateKgPerHa: dose?.massKgPerHa ?? null,
          rateLPerHa: dose?.volumeLPerHa ?? null,
        },
      };
    }
    case 'traffic':
      return { ok: true, fields: { detail: entry.traffic, subject: entry.name } };
    case 'sighting':
      return { ok: true, fields: { detail: entry.seen, subject: entry.name, sharePercent: entry.sharePercent } };
    case 'renovation':
      return { ok: true, fields: { detail: entry.done } };
  }
}

/** Writes what happened to a lawn into the diary, or over the event named. */
export async function logEvent(
  lawnId: string,
  entry: LawnEventEntry,
  now: Date,
  eventId?: string,
): Promise<LogEventResult> {
  const lawn = await findLawn(lawnId);
  if (!lawn)
    return {
      ok: false,
      field: 'atLocal',
      message: 'Lawn: expected a lawn of this diary, got one that is not there any more',
    };
  const plots = await listPlots(lawnId);
  if (!entry.plotIds.every((id) => plots.some((plot) => plot.id === id)))
    return {
      ok: false,
      field: 'plotIds',
      message: 'Plots: expected plots of this lawn, got one that is not there any more',
    };
  if (eventId !== undefined && (await findEvent(eventId)) === null)
    return { ok: false, field: 'atLocal', message: 'Entry: expected one of this diary, got one that was removed' };
  const at = instantOfLocal(entry.atLocal, lawn.timeZone);
  const early = notYet('When', entry.atLocal, at, now);
  if (early) return { ok: false, field: 'atLocal', message: early };
  const columns = await columnsOf(entry);
  if (!columns.ok) return columns;
  const fields: EventFields = { ...nothing, ...columns.fields, kind: entry.kind, at, note: entry.note };
  const event = await (eventId === undefined
    ? createEvent(lawnId, fields, entry.plotIds)
    : updateEvent(eventId, fields, entry.plotIds));
  return { ok: true, eventId: event.id, at };
}
