import { z } from 'zod';
import type { Refused } from '@/lib/forms/weather-csv-mapping';
import { COLUMN_FIELDS, COLUMN_KINDS, type ColumnField, columnReader, unitFromText } from '@/lib/forms/weather-columns';
import { type Readings, gatherHours } from '@/lib/forms/weather-gather';
import { instantOnClock, readStamp } from '@/lib/forms/weather-stamps';
import { isTimeZone, zoneClock } from '@/lib/weather/local-time';

/**
 * What the lawn keeper says about a forecast or history service. Off until an address is given: there is no default service.
 * The address holds {latitude} and {longitude}, and may hold {from} and {to} (dates), {fields} (the names, by commas).
 */
export const forecastSettingsSchema = z.object({
  addressTemplate: z
    .string()
    .max(2000, 'service address: expected at most 2,000 characters')
    .refine((text) => /^https?:\/\//i.test(text) && URL.canParse(text.replaceAll(/[{}]/g, '')), { error: 'service address: expected a web address that starts with https:// or http://' })
    .refine((text) => text.includes('{latitude}') && text.includes('{longitude}'), { error: 'service address: expected {latitude} and {longitude} in it' }),
  /** Name of each field in the answer; the unit is used when the answer names none. */
  fields: z
    .array(z.object({ field: z.enum(COLUMN_FIELDS), name: z.string().min(1).max(120), unit: z.string() }))
    .min(1, 'fields: expected at least one, got none')
    .refine((list) => list.every(({ field, unit }) => COLUMN_KINDS[field].units.includes(unit)), { error: 'fields: expected units the fields can have' }),
  /** Times without an offset are in this zone. */
  timeZone: z.string().refine(isTimeZone, { error: "time zone: expected a name such as 'UTC' or 'America/New_York'" }).default('UTC'),
  windHeightM: z.number().min(0.5).max(200).default(10),
});
export type ForecastSettings = z.infer<typeof forecastSettingsSchema>;

const numbers = z.array(z.union([z.number(), z.null()]));
const answerSchema = z.object({
  hourly: z.looseObject({ time: z.array(z.union([z.string(), z.number()])).max(200_000) }),
  hourly_units: z.record(z.string(), z.unknown()).optional(),
});

export interface ForecastHours {
  readonly ok: true;
  readonly hours: ReturnType<typeof gatherHours>['hours'];
  /** Figures left out since no sensor could report them, and times that can't be read. */
  readonly dropped: number;
}

/**
 * Hours from a service's answer: an object with `hourly`, holding `time` and one array of numbers a field, all of one length,
 * and perhaps `hourly_units`. Units the answer names win over those of the settings.
 * @returns hours, or one sentence: what was expected, what came
 */
export function readForecastHours(json: unknown, settings: ForecastSettings): ForecastHours | Refused {
  const answer = answerSchema.safeParse(json);
  if (!answer.success) {
    const [issue] = answer.error.issues;
    return { ok: false, sentence: `Weather service: expected an object with hourly.time and arrays beside it, got something else (${issue?.path.join('.') || 'top'}: ${issue?.message ?? 'unknown'}).` };
  }
  const { hourly, hourly_units: units } = answer.data;
  const { time } = hourly;
  const fields: ColumnField[] = [];
  const columns: { read: (value: number) => number | null; list: (number | null)[] }[] = [];
  for (const { field, name, unit } of settings.fields) {
    if (hourly[name] === undefined) continue;
    const list = numbers.safeParse(hourly[name]);
    if (!list.success || list.data.length !== time.length) {
      return { ok: false, sentence: `Weather service: expected ${time.length} numbers in hourly.${name}, got ${list.success ? list.data.length : 'something else'}.` };
    }
    const named = typeof units?.[name] === 'string' ? units[name] : null;
    const known = named === null ? unit : unitFromText(field, named);
    if (known === null) return { ok: false, sentence: `Weather service: expected ${name} in one of ${COLUMN_KINDS[field].units.join(', ')}, got '${named ?? ''}'.` };
    fields.push(field);
    columns.push({ read: columnReader(field, known), list: list.data });
  }
  if (fields.length === 0) return { ok: false, sentence: `Weather service: expected ${settings.fields.map((one) => one.name).join(', ')} under hourly, got ${Object.keys(hourly).slice(0, 8).join(', ')}.` };
  const logger = { kind: 'zone', clock: zoneClock(settings.timeZone) } as const;
  const readings: Readings = { fields, utcMs: [], values: fields.map(() => []) };
  let dropped = 0;
  let before = Number.NEGATIVE_INFINITY;
  time.forEach((stampText, row) => {
    const stamp = typeof stampText === 'number' ? readStamp(String(stampText), stampText > 1e11 ? 'unix-ms' : 'unix-s') : readStamp(stampText, 'ymd');
    if (stamp.kind === 'bad') { dropped += 1; return; }
    const found = stamp.kind === 'instant' ? ({ kind: 'once', utcMs: stamp.utcMs } as const) : instantOnClock(logger, stamp.asUtcMs);
    if (found.kind === 'never') { dropped += 1; return; }
    const utcMs = found.kind === 'once' ? found.utcMs : found.earlierUtcMs > before ? found.earlierUtcMs : found.laterUtcMs;
    before = utcMs;
    readings.utcMs.push(utcMs);
    columns.forEach(({ read, list }, c) => {
      const raw = list[row] ?? null;
      const value = raw === null ? null : read(raw);
      if (raw !== null && value === null) dropped += 1;
      readings.values[c]?.push(value ?? Number.NaN);
    });
  });
  const { hours } = gatherHours(readings, settings.windHeightM);
  if (hours.length === 0) return { ok: false, sentence: 'Weather service: expected hours with figures, got none that can be used.' };
  return { ok: true, hours, dropped };
}
