import { SERVICE_WIND_HEIGHT_M } from '@/lib/weather/wind';
import { HOUR_MS } from '@/lib/units/time';
import { dewPointC, relHumidityFromDewPoint } from '@/lib/weather/humidity';
import { emptyHour, hourStartOf, type WeatherHour } from '@/lib/weather/hour';

/** Parts of the coming day a forecast speaks of, by the hour of the lawn's clock. */
export const FORECAST_PARTS = ['evening', 'night', 'morning', 'afternoon'] as const;
export type ForecastPart = (typeof FORECAST_PARTS)[number];
/** First hour of each part and the first after it. */
const PART_HOURS: Readonly<Record<ForecastPart, readonly [number, number]>> = {
  evening: [18, 24],
  night: [0, 6],
  morning: [6, 12],
  afternoon: [12, 18],
};

/** What a person reads off any forecast for the coming night and day. */
export interface TypedForecast {
  readonly typedAtMs: number;
  readonly highC: number;
  readonly lowC: number;
  /** Of the day after; the first high again where it wasn't given. */
  readonly nextHighC: number | null;
  /** At sunset. */
  readonly humidityPercent: number;
  readonly cloudPercent: number;
  readonly parts: Readonly<Record<ForecastPart, { readonly windMPerS: number | null; readonly rainMm: number | null }>>;
}

/** The sun over it: today's and tomorrow's rise and set. */
export interface TwoSuns {
  readonly riseMs: number;
  readonly setMs: number;
  readonly nextRiseMs: number;
  readonly nextSetMs: number;
}

/** Lag of the maximum behind noon (h), decay over the night, lag of the minimum behind sunrise (h); air at 1.5 m. */
export const DAY_CURVE = { maxLagH: 1.86, nightDecay: 2.2, minLagH: -0.17 } as const;
/** No more hours than lie between one night's first and the second sunset after it. */
const MOST_HOURS = 48;

/**
 * Air temperature (°C) at an instant between two days' extremes: a sine from the minimum near sunrise over the maximum
 * after noon to sunset, then a decay to the next minimum. The decay is stretched so that it ends at the minimum, which
 * the paper's form misses by a ninth.
 * Exported for the paper’s curve at any instant.
 * @see Parton & Logan 1981, Agricultural Meteorology 23:205-216
 */
export function forecastTempC(
  { highC, lowC, nextHighC }: Pick<TypedForecast, 'highC' | 'lowC' | 'nextHighC'>,
  sun: TwoSuns,
  atMs: number,
): number {
  const { maxLagH, nightDecay, minLagH } = DAY_CURVE;
  const byDay = (riseMs: number, setMs: number, high: number, ms: number): number => {
    const dayH = (setMs - riseMs) / HOUR_MS;
    const h = (ms - riseMs) / HOUR_MS - minLagH;
    return lowC + (high - lowC) * Math.sin((Math.PI * h) / (dayH + 2 * (maxLagH - minLagH)));
  };
  const dawnMs = sun.nextRiseMs + minLagH * HOUR_MS;
  if (atMs >= dawnMs) return byDay(sun.nextRiseMs, sun.nextSetMs, nextHighC ?? highC, Math.min(atMs, sun.nextSetMs));
  if (atMs < sun.setMs) return byDay(sun.riseMs, sun.setMs, highC, Math.max(atMs, sun.riseMs + minLagH * HOUR_MS));
  const setC = byDay(sun.riseMs, sun.setMs, highC, sun.setMs);
  const left = Math.exp(-nightDecay);
  return (
    (lowC - setC * left + (setC - lowC) * Math.exp((-nightDecay * (atMs - sun.setMs)) / (dawnMs - sun.setMs))) /
    (1 - left)
  );
}

/**
 * A typed forecast as hours, from the hour in which it was typed to the next day's sunset: of the night after that it
 * says nothing. The dew point stays what it is at sunset (common practice, no source); rain is spread evenly over its
 * part of the day. What wasn't typed is null.
 * @param hourOfDay hour of the lawn's clock at an instant, 0 to 23
 */
export function typedForecastHours(
  forecast: TypedForecast,
  sun: TwoSuns,
  hourOfDay: (utcMs: number) => number,
): WeatherHour[] {
  const setC = forecastTempC(forecast, sun, sun.setMs);
  const dewC = dewPointC(setC, forecast.humidityPercent);
  const first = hourStartOf(forecast.typedAtMs);
  const count = Math.min(MOST_HOURS, Math.max(0, Math.ceil((sun.nextSetMs - first) / HOUR_MS)));
  return Array.from({ length: count }, (_, place): WeatherHour => {
    const at = first + place * HOUR_MS;
    const airTempC = forecastTempC(forecast, sun, at + HOUR_MS / 2);
    const hour = hourOfDay(at);
    const part = FORECAST_PARTS.find((one) => hour >= PART_HOURS[one][0] && hour < PART_HOURS[one][1])!;
    const { windMPerS, rainMm } = forecast.parts[part];
    const [from, to] = PART_HOURS[part];
    return {
      ...emptyHour(at),
      airTempC,
      relHumidityPercent:
        dewC === null
          ? null
          : Math.min(100, relHumidityFromDewPoint(airTempC, Math.min(dewC, airTempC)).relHumidityPercent),
      windMPerS,
      windHeightM: windMPerS === null ? null : SERVICE_WIND_HEIGHT_M,
      rainMm: rainMm === null ? null : rainMm / (to - from),
      cloudPercent: forecast.cloudPercent,
    };
  });
}
