import { HOUR_MS } from '@/lib/units/time';
import type { ColumnField } from '@/lib/forms/weather/weather-columns';
import { COLUMN_KINDS, isRainRate } from '@/lib/forms/weather/weather-columns';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour, hourStartOf } from '@/lib/weather/hour';
import { relHumidityFromDewPoint } from '@/lib/weather/humidity';

/** Readings in columns: readings[c][r] is column c of row r, NaN where the cell was empty or bad. */
export interface Readings {
  readonly fields: readonly ColumnField[];
  /** Unit of each column where it decides how its readings become one: a rate of rain is averaged, an amount summed. */
  readonly units?: readonly string[];
  readonly utcMs: number[];
  readonly values: readonly number[][];
}

interface Gathered {
  count: number;
  sum: number;
  max: number;
  last: number;
  sine: number;
  cosine: number;
}

/**
 * Readings of any interval as hours: temperature, humidity, wind, sun, cloud and pressure as means, rain and leaf
 * wetness as sums (a rate of rain as its mean over the hour), gusts and chance of rain as maxima, direction as the mean
 * of unit vectors, a rain counter by its rise since the hour before (a fall is a reset). Humidity missing beside a dew
 * point is computed from it (FAO-56 eq. 14).
 * @param windHeightM height of the anemometer, given to every hour with wind
 * @returns hours in order of time, and how many rows repeated an instant
 */
export function gatherHours(
  readings: Readings,
  windHeightM: number | null,
): { hours: WeatherHour[]; duplicateRows: number } {
  const { fields, units, utcMs, values } = readings;
  const order = utcMs.map((_, row) => row);
  if (utcMs.some((at, row) => row > 0 && at < (utcMs[row - 1] ?? 0)))
    order.sort((a, b) => (utcMs[a] ?? 0) - (utcMs[b] ?? 0) || a - b);
  const hours: WeatherHour[] = [];
  let duplicateRows = 0;
  let counterBefore: { hourStart: number; last: number } | null = null;
  for (let i = 0; i < order.length;) {
    const hourStart = hourStartOf(utcMs[order[i] ?? 0] ?? 0);
    const gathered = fields.map((): Gathered => ({
      count: 0,
      sum: 0,
      max: Number.NEGATIVE_INFINITY,
      last: Number.NaN,
      sine: 0,
      cosine: 0,
    }));
    let firstCounter = Number.NaN;
    while (i < order.length) {
      const at = utcMs[order[i] ?? 0] ?? 0;
      if (at >= hourStart + HOUR_MS) break;
      let end = i + 1;
      while (end < order.length && utcMs[order[end] ?? 0] === at) end += 1;
      duplicateRows += end - i - 1;
      for (let c = 0; c < fields.length; c += 1) {
        let value = Number.NaN;
        for (let k = end - 1; k >= i && Number.isNaN(value); k -= 1) value = values[c]?.[order[k] ?? 0] ?? Number.NaN;
        const into = gathered[c];
        if (Number.isNaN(value) || into === undefined) continue;
        into.count += 1;
        into.sum += value;
        into.max = Math.max(into.max, value);
        into.last = value;
        if (fields[c] === 'windFromDeg') {
          into.sine += Math.sin((value * Math.PI) / 180);
          into.cosine += Math.cos((value * Math.PI) / 180);
        }
        if (fields[c] === 'rainCounterMm' && Number.isNaN(firstCounter)) firstCounter = value;
      }
      i = end;
    }
    const hour: { -readonly [Figure in keyof WeatherHour]: WeatherHour[Figure] } = { ...emptyHour(hourStart) };
    let dewPoint: number | null = null;
    let any = false;
    fields.forEach((field, c) => {
      const got = gathered[c];
      if (got === undefined || got.count === 0) return;
      any = true;
      if (field === 'rainCounterMm') {
        const follows: boolean = counterBefore !== null && counterBefore.hourStart === hourStart - HOUR_MS;
        const from: number = follows && counterBefore !== null ? counterBefore.last : firstCounter;
        hour.rainMm ??= follows || got.count > 1 ? (got.last >= from ? got.last - from : got.last) : null;
        counterBefore = { hourStart, last: got.last };
      } else if (field === 'dewPointC') dewPoint = got.sum / got.count;
      else hour[field] = isRainRate(units?.[c] ?? '') ? got.sum / got.count : settle(field, got);
    });
    if (!any) continue;
    if (hour.windMPerS !== null || hour.gustMPerS !== null) hour.windHeightM = windHeightM;
    if (hour.relHumidityPercent === null && dewPoint !== null && (hour.airTempC ?? -99) >= -40 && dewPoint >= -40) {
      hour.relHumidityPercent = relHumidityFromDewPoint(hour.airTempC ?? 0, dewPoint).relHumidityPercent;
    }
    hours.push(hour);
  }
  return { hours, duplicateRows };
}

/** One figure for the hour; a direction of winds that cancel out has none. */
function settle(field: ColumnField, got: Gathered): number | null {
  const { gather, max } = COLUMN_KINDS[field];
  if (gather === 'sum') return field === 'leafWetMin' ? Math.min(max, got.sum) : got.sum;
  if (gather === 'max') return got.max;
  if (gather !== 'direction') return got.sum / got.count;
  if (Math.hypot(got.sine, got.cosine) < 1e-9 * got.count) return null;
  const degrees = (Math.atan2(got.sine, got.cosine) * 180) / Math.PI;
  return degrees < 0 ? degrees + 360 : degrees;
}

/** The interval of a file's rows, ms: the middle of the steps between successive times; null with fewer than two. */
export function usualStepMs(utcMs: readonly number[]): number | null {
  const steps: number[] = [];
  for (let row = 1; row < utcMs.length && steps.length < 5000; row += 1) {
    const step = Math.abs((utcMs[row] ?? 0) - (utcMs[row - 1] ?? 0));
    if (step > 0) steps.push(step);
  }
  steps.sort((a, b) => a - b);
  return steps[Math.floor(steps.length / 2)] ?? null;
}
