import { z } from 'zod';
import { numberField, optionalNumberField } from '@/lib/forms/fields';
import { COLUMN_KINDS, type ColumnField, columnReader } from '@/lib/forms/weather/weather-columns';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour } from '@/lib/weather/hour';

const unitOf = (field: ColumnField, fallback: string) =>
  z
    .string()
    .optional()
    .default(fallback)
    .refine((unit) => COLUMN_KINDS[field].units.includes(unit), {
      error: `unit: expected one of ${COLUMN_KINDS[field].units.join(', ')}`,
    });

/**
 * The weather a person typed for one spray, customary or metric; temperature, humidity and wind are asked for, the rest
 * may stay empty; a wind without its height is taken as measured at 2 m. Gives canonical figures in the shape of a
 * weather hour without its time.
 */
export const typedWeatherSchema = z
  .object({
    airTemp: numberField('air temperature'),
    airTempUnit: unitOf('airTempC', 'degC'),
    relHumidityPercent: numberField('relative humidity', { min: 0, max: 100, unit: '%' }),
    wind: numberField('wind', { min: 0 }),
    windUnit: unitOf('windMPerS', 'm/s'),
    windHeightM: optionalNumberField('height of the wind reading', { min: 0.5, max: 200, unit: 'm' }),
    gust: optionalNumberField('gust', { min: 0 }),
    windFromDeg: optionalNumberField('wind direction', { min: 0, max: 360, unit: '°' }),
    cloudPercent: optionalNumberField('cloud cover', { min: 0, max: 100, unit: '%' }),
    solarWPerM2: optionalNumberField('solar radiation', { min: 0, max: 1700, unit: 'W/m²' }),
    rain: optionalNumberField('rain', { min: 0 }),
    rainUnit: unitOf('rainMm', 'mm'),
  })
  .transform((typed, context): Omit<WeatherHour, 'hourStartUtcMs'> => {
    const inside = (path: string, field: ColumnField, value: number | null, unit: string): number | null => {
      if (value === null) return null;
      const canonical = columnReader(field, unit)(value);
      if (canonical === null)
        context.addIssue({
          code: 'custom',
          path: [path],
          message: `${path}: expected a figure weather on earth can have, got ${value} ${unit}`,
        });
      return canonical;
    };
    const { hourStartUtcMs: _, ...nothing } = emptyHour(0);
    return {
      ...nothing,
      airTempC: inside('airTemp', 'airTempC', typed.airTemp, typed.airTempUnit),
      relHumidityPercent: typed.relHumidityPercent,
      windMPerS: inside('wind', 'windMPerS', typed.wind, typed.windUnit),
      windHeightM: typed.windHeightM ?? 2,
      gustMPerS: inside('gust', 'gustMPerS', typed.gust, typed.windUnit),
      windFromDeg: typed.windFromDeg,
      cloudPercent: typed.cloudPercent,
      solarWPerM2: typed.solarWPerM2,
      rainMm: inside('rain', 'rainMm', typed.rain, typed.rainUnit),
    };
  });
