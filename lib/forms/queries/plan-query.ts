import { z } from 'zod';
import { LIQUID_AREA_RATE_UNITS, RATE_UNITS } from '@/lib/units/rate';
import { idField, localDateTimeField } from '../fields';

/** What another page asks a new plan to start with, as typed text for the form. */
export interface PlanStart {
  plotIds: string[];
  items: { productId: string; value: string; unit: string }[];
  carrier: { value: string; unit: string } | null;
  /** Planned start by the lawn's clock; null: the next hour. */
  startedLocal: string | null;
}

const amount = z.string().regex(/^\d+(\.\d+)?(e-?\d+)?$/);
const id = (text: string) => idField.safeParse(text).success;

/**
 * Reads `plots` (ids, comma between), `items` (productId:value:unit, comma between), `carrier` (value:unit) and `start`
 * (a local time). What can't be read is left out: the form is shown before anything is kept. Null when nothing is asked
 * for.
 */
export function readPlanWish(search: Record<string, string | string[] | undefined>): PlanStart | null {
  const text = (name: string) => (typeof search[name] === 'string' ? search[name] : '');
  const plotIds = text('plots').split(',').filter(id);
  const items = text('items')
    .split(',')
    .flatMap((part) => {
      const [productId = '', value = '', unit = ''] = part.split(':');
      return id(productId) && amount.safeParse(value).success && (RATE_UNITS as readonly string[]).includes(unit)
        ? [{ productId, value, unit }]
        : [];
    });
  const [value = '', unit = ''] = text('carrier').split(':');
  const carrier =
    amount.safeParse(value).success && (LIQUID_AREA_RATE_UNITS as readonly string[]).includes(unit)
      ? { value, unit }
      : null;
  const start = localDateTimeField('start').safeParse(text('start'));
  const startedLocal = start.success ? start.data : null;
  return plotIds.length > 0 || items.length > 0 || carrier || startedLocal !== null
    ? { plotIds, items, carrier, startedLocal }
    : null;
}
