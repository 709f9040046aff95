import { z } from 'zod';
import { isCalendarDay, numberField } from '@/lib/forms/fields';
import { LIQUID_AREA_RATE_UNITS, toLPerHa, type LiquidAreaRateUnit } from '@/lib/units/rate';

const lenient = <T extends z.ZodType>(schema: T) => schema.optional().catch(undefined);

const Query = z.object({
  year: lenient(z.coerce.number().int().min(1990).max(2100)),
  base: lenient(z.enum(['freezing', 'warm'])),
  from: lenient(z.string().refine(isCalendarDay)),
  carrier: lenient(
    z.object({
      value: numberField('Carrier volume', { above: 0, max: 100_000 }),
      unit: z.enum(LIQUID_AREA_RATE_UNITS),
    }),
  ),
  leaf: lenient(numberField('Leaf area', { min: 0.2, max: 10 })),
  minutes: lenient(numberField('Time the work takes', { above: 0, max: 720 })),
});

export interface WeatherQuery {
  year: number | null;
  base: 'freezing' | 'warm';
  /** Day the window is looked at from; null for now. */
  from: string | null;
  carrier: { value: number; unit: LiquidAreaRateUnit } | null;
  carrierLPerHa: number | null;
  leafAreaM2PerM2: number;
  workMinutes: number;
}

/** What the weather page is asked to show; what can't be read counts as not asked. */
export function readWeatherQuery(search: Record<string, string | string[] | undefined>): WeatherQuery {
  const { year, base, from, carrier, leaf, minutes } = Query.parse({
    ...search,
    carrier: { value: search['carrier.value'], unit: search['carrier.unit'] },
  });
  return {
    year: year ?? null,
    base: base ?? 'warm',
    from: from ?? null,
    carrier: carrier ?? null,
    carrierLPerHa: carrier ? toLPerHa(carrier) : null,
    leafAreaM2PerM2: leaf ?? 1,
    workMinutes: minutes ?? 45,
  };
}

/** A day in an address, 2026-05-01; null when it is none. */
export function readCalendarDay(text: string): { year: number; month: number; day: number } | null {
  if (!isCalendarDay(text)) return null;
  const [year = 0, month = 0, day = 0] = text.split('-').map(Number);
  return { year, month, day };
}

/** GET /api/weather/export?lawn=…&year=… */
export const WeatherExportQuery = z.object({
  lawn: z.string({ error: 'lawn: expected a lawn of this diary, got nothing' }),
  year: z.coerce
    .number('year: expected a year such as 2026')
    .int('year: expected a year such as 2026')
    .min(1900)
    .max(2200)
    .optional(),
});
