import { z } from 'zod';
import { toM, type LengthUnit } from '@/lib/units/length';
import { FORECAST_PARTS } from '@/lib/weather/typed-forecast';
import { choiceField, numberField, optionalMeasureField, type AmountBounds } from '../fields';
import { airTempField, windField } from '../measures';
import { fromM } from '@/lib/units/length';

/** What the sky is called, and how much of it is cloud. Okta middles, our own choice, no source. */
export const SKIES = { clear: 10, 'some cloud': 50, overcast: 90 } as const;
const skies = ['clear', 'some cloud', 'overcast'] as const;

const rain: AmountBounds<LengthUnit> = {
  units: ['mm', 'in'],
  toCanonical: toM,
  fromCanonical: fromM,
  min: 0,
  max: 0.5,
};
const needed = (label: string) =>
  airTempField(label).transform((amount, context) => {
    if (amount !== null) return amount.canonical;
    context.addIssue({ code: 'custom', path: ['value'], message: `${label}: expected a temperature, got nothing` });
    return z.NEVER;
  });

const part = z
  .object({
    wind: windField('Wind').transform((amount) => amount?.canonical ?? null),
    rain: optionalMeasureField('Rain', rain).transform((amount) => (amount === null ? null : amount.canonical * 1000)),
  })
  .transform(({ wind, rain: rainMm }) => ({ windMPerS: wind, rainMm }));

/** A forecast read off somewhere and typed. */
export const TypedForecastForm = z
  .object({
    high: needed('High'),
    low: needed('Low tonight'),
    nextHigh: airTempField('High tomorrow').transform((amount) => amount?.canonical ?? null),
    humidity: numberField('Humidity at sunset, %', { min: 1, max: 100 }),
    sky: choiceField('Sky', skies),
    parts: z.object({ evening: part, night: part, morning: part, afternoon: part }),
  })
  .superRefine(({ high, low, nextHigh }, context) => {
    if (low > high || (nextHigh !== null && low > nextHigh))
      context.addIssue({
        code: 'custom',
        path: ['low', 'value'],
        message: 'Low tonight: expected no more than the highs, got more',
      });
  });

export type ForecastEntry = z.output<typeof TypedForecastForm>;

const keptPart = z.object({ windMPerS: z.number().nullable(), rainMm: z.number().nullable() });
const kept = z.object({
  typedAtMs: z.number(),
  highC: z.number(),
  lowC: z.number(),
  nextHighC: z.number().nullable(),
  humidityPercent: z.number(),
  cloudPercent: z.number(),
  parts: z.object({ evening: keptPart, night: keptPart, morning: keptPart, afternoon: keptPart }),
  entered: z.record(z.string(), z.string()),
});
export type KeptForecast = z.infer<typeof kept>;

/** A typed forecast as the diary keeps it, or null when there is none. */
export function readKeptForecast(stored: unknown): KeptForecast | null {
  const parsed = kept.safeParse(stored);
  return parsed.success ? parsed.data : null;
}

/** The fields as they were typed, to stand in the form again. */
export function enteredOf(data: FormData): Record<string, string> {
  const names = [
    'high.value',
    'high.unit',
    'low.value',
    'low.unit',
    'nextHigh.value',
    'nextHigh.unit',
    'humidity',
    'sky',
    ...FORECAST_PARTS.flatMap((one) => [
      `parts.${one}.wind.value`,
      `parts.${one}.wind.unit`,
      `parts.${one}.rain.value`,
      `parts.${one}.rain.unit`,
    ]),
  ];
  return Object.fromEntries(
    names.flatMap((name) => {
      const value = data.get(name);
      return typeof value === 'string' ? [[name, value.slice(0, 40)]] : [];
    }),
  );
}
