import { DAY_MS } from '@/lib/units/time';
import { z } from 'zod';
import { choiceField, numberField, optionalTextField, textField, tickField } from '@/lib/forms/fields';
import { forecastSettingsSchema } from '@/lib/forms/weather/forecast-json';
import { COLUMN_FIELDS, COLUMN_KINDS, type ColumnField } from '@/lib/forms/weather/weather-columns';
import { WEATHER_FIELDS, type WeatherHour } from '@/lib/weather/hour';
import { isTimeZone } from '@/lib/weather/local-time';

const nameSchema = z.string().trim().min(1).max(60);

/** The weather service as it is kept: what to ask, how to read the answer, how long to wait. Off until turned on. */
const serviceSettingsSchema = forecastSettingsSchema.and(
  z.object({ enabled: z.boolean(), name: nameSchema, timeoutS: z.number().min(0.2).max(60) }),
);
export type ServiceSettings = z.infer<typeof serviceSettingsSchema>;

/** Settings as stored, or null when there are none or they can't be read any more. */
export function readServiceSettings(stored: unknown): ServiceSettings | null {
  const parsed = serviceSettingsSchema.safeParse(stored);
  return parsed.success ? parsed.data : null;
}

/**
 * Names to start from: the standard names of the CF conventions (cfconventions.org, standard name table), an open
 * standard of the atmospheric sciences, with the unit each has there where the diary takes it. A service with names of
 * its own needs them typed.
 */
export const USUAL_NAMES: Readonly<Partial<Record<ColumnField, { name: string; unit: string }>>> = {
  airTempC: { name: 'air_temperature', unit: 'degC' },
  relHumidityPercent: { name: 'relative_humidity', unit: '%' },
  dewPointC: { name: 'dew_point_temperature', unit: 'degC' },
  windMPerS: { name: 'wind_speed', unit: 'm/s' },
  gustMPerS: { name: 'wind_speed_of_gust', unit: 'm/s' },
  windFromDeg: { name: 'wind_from_direction', unit: 'deg' },
  rainMm: { name: 'thickness_of_rainfall_amount', unit: 'mm' },
  solarWPerM2: { name: 'surface_downwelling_shortwave_flux_in_air', unit: 'W/m2' },
  cloudPercent: { name: 'cloud_area_fraction', unit: '%' },
  pressureKPa: { name: 'surface_air_pressure', unit: 'hPa' },
};

const fieldEntry = (field: ColumnField) =>
  z.object({
    name: optionalTextField('Name in the answer', 120),
    unit: choiceField('Unit', COLUMN_KINDS[field].units as readonly [string, ...string[]]),
  });

/**
 * The settings form: `on`, `name`, `address`, `zone`, `windHeight`, `timeout`, and `fields.<field>.name` with `.unit`.
 */
export const WeatherServiceForm = z
  .object({
    enabled: tickField,
    name: textField('Name', 60),
    address: textField('Address', 2000),
    zone: z
      .string()
      .trim()
      .refine(isTimeZone, { error: "Time zone: expected a name such as 'UTC' or 'America/New_York'" }),
    windHeight: numberField('Height of the wind', { min: 0.5, max: 200, unit: 'm' }),
    timeout: numberField('Longest wait', { min: 0.2, max: 60, unit: 's' }),
    fields: z.object(
      Object.fromEntries(COLUMN_FIELDS.map((field) => [field, fieldEntry(field).optional()])) as Record<
        ColumnField,
        z.ZodOptional<ReturnType<typeof fieldEntry>>
      >,
    ),
  })
  .transform((form, context): ServiceSettings => {
    const parsed = serviceSettingsSchema.safeParse({
      enabled: form.enabled,
      name: form.name,
      addressTemplate: form.address,
      timeZone: form.zone,
      windHeightM: form.windHeight,
      timeoutS: form.timeout,
      fields: COLUMN_FIELDS.flatMap((field) => {
        const entry = form.fields[field];
        return entry && entry.name !== '' ? [{ field, name: entry.name, unit: entry.unit }] : [];
      }),
    });
    if (parsed.success) return parsed.data;
    for (const issue of parsed.error.issues) {
      const at = issue.path[0] === 'addressTemplate' ? 'address' : 'fields.airTempC.name';
      const message = issue.message.charAt(0).toUpperCase() + issue.message.slice(1);
      context.addIssue({
        code: 'custom',
        path: [at],
        message: `${message}${at === 'address' ? `, got '${form.address.slice(0, 60)}'` : ''}`,
      });
    }
    return z.NEVER;
  });

/** What is needed to look at a service's answer once, before its names are known: the same fields of the same form. */
export const ServiceLookForm = z
  .object({
    name: textField('Name', 60),
    address: textField('Address', 2000),
    timeout: numberField('Longest wait', { min: 0.2, max: 60, unit: 's' }),
    fields: z.record(z.string(), z.object({ name: z.string().optional() }).loose()).optional(),
  })
  .transform(({ name, address, timeout, fields }, context) => {
    const template = forecastSettingsSchema.shape.addressTemplate.safeParse(address);
    if (!template.success) {
      const message = template.error.issues[0]?.message ?? 'service address: expected a web address';
      context.addIssue({
        code: 'custom',
        path: ['address'],
        message: message.charAt(0).toUpperCase() + message.slice(1),
      });
      return z.NEVER;
    }
    return {
      name,
      addressTemplate: template.data,
      timeoutS: timeout,
      fieldNames: Object.values(fields ?? {}).flatMap((one) =>
        one.name?.trim() ? [one.name.trim().slice(0, 120)] : [],
      ),
    };
  });
export type ServiceLook = z.output<typeof ServiceLookForm>;

const figure = z.number().nullable().catch(null).default(null);
const keptSchema = z.object({
  key: z.string(),
  fetchedAtUtcMs: z.number(),
  hours: z.array(
    z.object({
      hourStartUtcMs: z.number(),
      ...(Object.fromEntries(WEATHER_FIELDS.map((field) => [field, figure])) as Record<
        (typeof WEATHER_FIELDS)[number],
        typeof figure
      >),
    }),
  ),
});

/** An answer as the diary keeps it, or null when there is none. */
export function readKeptAnswer(stored: unknown): { key: string; fetchedAtUtcMs: number; hours: WeatherHour[] } | null {
  const parsed = keptSchema.safeParse(stored);
  return parsed.success ? parsed.data : null;
}

/** What the page's button posts: a lawn, and perhaps days of history. */
export const AskServiceForm = z
  .object({
    lawn: z.string().regex(/^[a-z0-9]{8,40}$/, 'lawn: expected a lawn of this diary'),
    from: z.iso.date({ error: 'From: expected a day such as 2026-05-01' }).optional(),
    to: z.iso.date({ error: 'To: expected a day such as 2026-05-31' }).optional(),
  })
  .refine(({ from, to }) => (from === undefined) === (to === undefined), {
    error: 'History: expected two days, got one',
  })
  .refine(({ from, to }) => from === undefined || to === undefined || from <= to, {
    error: 'History: expected a last day after the first',
  })
  .refine(
    ({ from, to }) => from === undefined || to === undefined || Date.parse(to) - Date.parse(from) <= 366 * DAY_MS,
    { error: 'History: expected at most a year at a time' },
  );
