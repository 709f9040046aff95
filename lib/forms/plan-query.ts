import { z } from 'zod';
import { LIQUID_AREA_RATE_UNITS, RATE_UNITS } from '@/lib/units/rate';
import { idField } from './fields';

/** What another page asks a new plan to start with, as typed text for the form. */
export interface PlanWish {
  plotIds: string[];
  items: { productId: string; value: string; unit: string }[];
  carrier: { value: string; unit: string } | null;
}

const amount = z.string().regex(/^\d+(\.\d+)?(e-?\d+)?$/);
const id = (text: string) => idField.safeParse(text).success;

/**
 * Reads `plots` (ids, comma between), `items` (productId:value:unit, comma between) and `carrier` (value:unit).
 * What can't be read is left out: the form is shown before anything is kept. Null when nothing is asked for.
 */
export function readPlanWish(search: Record<string, string | string[] | undefined>): PlanWish | null {
  const text = (name: string) => (typeof search[name] === 'string' ? search[name] : '');
  const plotIds = text('plots').split(',').filter(id);
  const items = text('items')
    .split(',')
    .flatMap((part) => {
      const [productId = '', value = '', unit = ''] = part.split(':');
      return id(productId) && amount.safeParse(value).success && (RATE_UNITS as readonly string[]).includes(unit) ? [{ productId, value, unit }] : [];
    });
  const [value = '', unit = ''] = text('carrier').split(':');
  const carrier = amount.safeParse(value).success && (LIQUID_AREA_RATE_UNITS as readonly string[]).includes(unit) ? { value, unit } : null;
  return plotIds.length > 0 || items.length > 0 || carrier ? { plotIds, items, carrier } : null;
}
