import { WEATHER_FIELDS, type WeatherField } from './hour';

/** Figures of one anemometer: they come and go together, since a speed without its height says nothing. */
export const WIND_FIELDS: readonly WeatherField[] = ['windMPerS', 'gustMPerS', 'windHeightM'];

type Figures = Readonly<Record<WeatherField, number | null>>;

/**
 * The figures of an hour that `upper` lacks and `lower` has, in the units of WeatherHour; wind, gust and height only
 * together, where `upper` has neither wind nor gust.
 */
export function missingFigures(upper: Figures, lower: Figures): Partial<Record<WeatherField, number>> {
  const found: Partial<Record<WeatherField, number>> = {};
  for (const field of WEATHER_FIELDS) {
    const figure = lower[field];
    if (upper[field] !== null || figure === null) continue;
    if (WIND_FIELDS.includes(field) && (upper.windMPerS !== null || upper.gustMPerS !== null)) continue; // another height: not to be mixed
    found[field] = figure;
  }
  return found;
}
