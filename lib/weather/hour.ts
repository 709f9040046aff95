import { HOUR_MS } from '@/lib/units/time';

/**
 * One hour of weather in canonical units: the shape every source (logger file, service, typed values) is turned into
 * and every computation here reads. A field nobody measured is null, never 0.
 */
export interface WeatherHour {
  /** Start of the hour, milliseconds since 1970-01-01 UTC; a whole hour of UTC. */
  readonly hourStartUtcMs: number;
  /** Mean air temperature, °C. */
  readonly airTempC: number | null;
  /** Mean relative humidity, 0 to 100 %. */
  readonly relHumidityPercent: number | null;
  /** Mean wind speed at windHeightM, m/s. */
  readonly windMPerS: number | null;
  /** Height of the anemometer above ground, m. */
  readonly windHeightM: number | null;
  /** Strongest gust, m/s. */
  readonly gustMPerS: number | null;
  /** Direction the wind comes from, degrees clockwise from north. */
  readonly windFromDeg: number | null;
  /** Rain within the hour, mm. */
  readonly rainMm: number | null;
  /** Forecast chance of rain, 0 to 100 %. */
  readonly rainChancePercent: number | null;
  /** Mean global solar radiation on the level, W/m². */
  readonly solarWPerM2: number | null;
  /** Cloud cover, 0 to 100 %. */
  readonly cloudPercent: number | null;
  /** Station pressure (not reduced to sea level), kPa. */
  readonly pressureKPa: number | null;
  /** Minutes a leaf-wetness sensor was wet, 0 to 60. */
  readonly leafWetMin: number | null;
}

/** The measured fields of an hour, in the order tables show them. */
export const WEATHER_FIELDS = [
  'airTempC',
  'relHumidityPercent',
  'windMPerS',
  'windHeightM',
  'gustMPerS',
  'windFromDeg',
  'rainMm',
  'rainChancePercent',
  'solarWPerM2',
  'cloudPercent',
  'pressureKPa',
  'leafWetMin',
] as const satisfies readonly (keyof WeatherHour)[];

export type WeatherField = (typeof WEATHER_FIELDS)[number];

/** Where on earth: what sun and radiation need. */
export interface WeatherPlace {
  /** Degrees north, -90 to 90. */
  readonly latitudeDeg: number;
  /** Degrees east, -180 to 180 (the FAO-56 paper counts west; converted inside). */
  readonly longitudeDeg: number;
  /** Metres above sea level. */
  readonly elevationM: number;
}

/** An hour in which nothing was measured; spread it and fill what is known. */
export function emptyHour(hourStartUtcMs: number): WeatherHour {
  return {
    hourStartUtcMs,
    airTempC: null,
    relHumidityPercent: null,
    windMPerS: null,
    windHeightM: null,
    gustMPerS: null,
    windFromDeg: null,
    rainMm: null,
    rainChancePercent: null,
    solarWPerM2: null,
    cloudPercent: null,
    pressureKPa: null,
    leafWetMin: null,
  };
}

/** Start of the UTC hour an instant lies in, ms. */
export function hourStartOf(utcMs: number): number {
  return Math.floor(utcMs / HOUR_MS) * HOUR_MS;
}
