import { SERVICE_WIND_HEIGHT_M } from '@/lib/weather/wind';
import { z } from 'zod';
import { readAnswerSeries } from '@/lib/forms/queries/answer-series';
import type { Refused } from '@/lib/forms/weather/weather-csv-mapping';
import {
  COLUMN_FIELDS,
  COLUMN_KINDS,
  type ColumnField,
  columnReader,
  unitFromText,
} from '@/lib/forms/weather/weather-columns';
import { type Readings, gatherHours } from '@/lib/forms/weather/weather-gather';
import { instantOnClock, readStamp } from '@/lib/forms/weather/weather-stamps';
import { significant, unitLabel } from '@/lib/units/display';
import { isTimeZone, zoneClock } from '@/lib/weather/local-time';

/**
 * What the lawn keeper says about a forecast or history service. Off until an address is given: there is no default
 * service. The address holds {latitude} and {longitude}, and may hold {from} and {to} (dates), {fields} (the names, by
 * commas).
 */
export const forecastSettingsSchema = z.object({
  addressTemplate: z
    .string()
    .max(2000, 'service address: expected at most 2,000 characters')
    .refine((text) => /^https?:\/\//i.test(text) && URL.canParse(text.replaceAll(/[{}]/g, '')), {
      error: 'service address: expected a web address that starts with https:// or http://',
    })
    .refine((text) => text.includes('{latitude}') && text.includes('{longitude}'), {
      error: 'service address: expected {latitude} and {longitude} in it',
    }),
  /** Name of each field in the answer; the unit is used when the answer names none. */
  fields: z
    .array(z.object({ field: z.enum(COLUMN_FIELDS), name: z.string().min(1).max(120), unit: z.string() }))
    .min(1, 'fields: expected at least one, got none')
    .refine((list) => list.every(({ field, unit }) => COLUMN_KINDS[field].units.includes(unit)), {
      error: 'fields: expected units the fields can have',
    }),
  /** Times without an offset are in this zone. */
  timeZone: z
    .string()
    .refine(isTimeZone, { error: "time zone: expected a name such as 'UTC' or 'America/New_York'" })
    .default('UTC'),
  windHeightM: z.number().min(0.5).max(200).default(SERVICE_WIND_HEIGHT_M),
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
  /** Rows left out since their time can't be read. */
  readonly dropped: number;
}

function impossibleSentence(
  { field, name, unit }: { field: ColumnField; name: string; unit: string },
  raw: number,
  utcMs: number,
  more: number,
): string {
  const { min, max, units } = COLUMN_KINDS[field];
  // Limits are canonical; they are told in the answer's unit only where that is the canonical one.
  const limits = unit === units[0] ? `from ${min} to ${max} ${unitLabel(unit)}` : 'a figure that can be';
  const at = new Date(utcMs).toISOString().slice(0, 16).replace('T', ' ');
  const others = more === 0 ? '' : ` and ${more} more ${more === 1 ? 'figure' : 'figures'} like it`;
  return `Weather service: expected ${name} ${limits}, got ${significant(raw, 6)} ${unitLabel(unit)} for ${at} UTC${others}, so nothing of this answer was taken.`;
}

/**
 * The lists of an answer: of an object that names them `hourly`, each held to its length; else wherever times and
 * numbers are found.
 */
function hoursOf(json: unknown):
  | {
      time: readonly (string | number)[];
      lists: Readonly<Record<string, unknown>>;
      units: Readonly<Record<string, unknown>>;
    }
  | Refused {
  const answer = answerSchema.safeParse(json);
  if (answer.success)
    return { time: answer.data.hourly.time, lists: answer.data.hourly, units: answer.data.hourly_units ?? {} };
  const found = readAnswerSeries(json);
  return 'ok' in found ? found : { time: found.time, lists: found.series, units: found.units };
}

/**
 * Hours from a service's answer: times and one list of numbers a field, all of one length, side by side or as rows, at
 * the top or deeper (`readAnswerSeries`), and perhaps units beside them. Units the answer names win over those of the
 * settings. One figure that can't be on earth and the whole answer is refused.
 * @returns hours, or one sentence: what was expected, what came
 */
export function readForecastHours(json: unknown, settings: ForecastSettings): ForecastHours | Refused {
  const found = hoursOf(json);
  if ('ok' in found) return found;
  const { time, lists: hourly, units } = found;
  const fields: ColumnField[] = [];
  const columns: {
    field: ColumnField;
    name: string;
    unit: string;
    read: (value: number) => number | null;
    list: (number | null)[];
  }[] = [];
  for (const { field, name, unit } of settings.fields) {
    if (hourly[name] === undefined) continue;
    const list = numbers.safeParse(hourly[name]);
    if (!list.success || list.data.length !== time.length) {
      return {
        ok: false,
        sentence: `Weather service: expected ${time.length} numbers in ${name}, got ${list.success ? list.data.length : 'something else'}.`,
      };
    }
    const named = typeof units?.[name] === 'string' ? units[name] : null;
    const known = named === null ? unit : unitFromText(field, named);
    if (known === null)
      return {
        ok: false,
        sentence: `Weather service: expected ${name} in one of ${COLUMN_KINDS[field].units.join(', ')}, got '${named ?? ''}'.`,
      };
    fields.push(field);
    columns.push({ field, name, unit: known, read: columnReader(field, known), list: list.data });
  }
  if (fields.length === 0)
    return {
      ok: false,
      sentence: `Weather service: expected ${settings.fields.map((one) => one.name).join(', ')} in the answer, got ${Object.keys(
        hourly,
      )
        .filter((name) => name !== 'time')
        .slice(0, 8)
        .join(', ')}.`,
    };
  const logger = { kind: 'zone', clock: zoneClock(settings.timeZone) } as const;
  const readings: Readings = { fields, utcMs: [], values: fields.map(() => []) };
  const impossible: { column: (typeof columns)[number]; raw: number; utcMs: number }[] = [];
  let dropped = 0;
  let before = Number.NEGATIVE_INFINITY;
  time.forEach((stampText, row) => {
    const stamp =
      typeof stampText === 'number'
        ? readStamp(String(stampText), stampText > 1e11 ? 'unix-ms' : 'unix-s')
        : readStamp(stampText, 'ymd');
    if (stamp.kind === 'bad') {
      dropped += 1;
      return;
    }
    const found =
      stamp.kind === 'instant'
        ? ({ kind: 'once', utcMs: stamp.utcMs } as const)
        : instantOnClock(logger, stamp.asUtcMs);
    if (found.kind === 'never') {
      dropped += 1;
      return;
    }
    const utcMs =
      found.kind === 'once' ? found.utcMs : found.earlierUtcMs > before ? found.earlierUtcMs : found.laterUtcMs;
    before = utcMs;
    readings.utcMs.push(utcMs);
    columns.forEach((column, c) => {
      const raw = column.list[row] ?? null;
      const value = raw === null ? null : column.read(raw);
      if (raw !== null && value === null) impossible.push({ column, raw, utcMs });
      readings.values[c]?.push(value ?? Number.NaN);
    });
  });
  // A service that is wrong in one figure can't be trusted with the rest: a unit has changed, or it is broken.
  const [worst] = impossible;
  if (worst)
    return { ok: false, sentence: impossibleSentence(worst.column, worst.raw, worst.utcMs, impossible.length - 1) };
  const { hours } = gatherHours(readings, settings.windHeightM);
  if (hours.length === 0)
    return { ok: false, sentence: 'Weather service: expected hours with figures, got none that can be used.' };
  return { ok: true, hours, dropped };
}
