import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { weatherHoursBetween, weatherSpan } from '@/lib/diary/weather-hours';
import { zoneClock } from '@/lib/weather/local-time';
import { hourFigures, type HourFigures } from './hour-figures';
import { placeOfLawn } from './lawn-weather';

interface Column {
  heading: string;
  of: (figures: HourFigures) => number | string | null;
}

/** Canonical units in every heading; measured columns first, then what follows from them. */
const columns: readonly Column[] = [
  { heading: 'air temperature (°C)', of: ({ hour }) => hour.airTempC },
  { heading: 'relative humidity (%)', of: ({ hour }) => hour.relHumidityPercent },
  { heading: 'wind (m/s)', of: ({ hour }) => hour.windMPerS },
  { heading: 'height of the anemometer (m)', of: ({ hour }) => hour.windHeightM },
  { heading: 'wind gust (m/s)', of: ({ hour }) => hour.gustMPerS },
  { heading: 'wind direction (deg)', of: ({ hour }) => hour.windFromDeg },
  { heading: 'rain (mm)', of: ({ hour }) => hour.rainMm },
  { heading: 'solar radiation (W/m2)', of: ({ hour }) => hour.solarWPerM2 },
  { heading: 'cloud cover (%)', of: ({ hour }) => hour.cloudPercent },
  { heading: 'station pressure (kPa)', of: ({ hour }) => hour.pressureKPa },
  { heading: 'leaf wetness (min)', of: ({ hour }) => hour.leafWetMin },
  { heading: 'source', of: ({ hour }) => hour.source },
  { heading: 'computed: dew point (°C)', of: (figures) => figures.dewPointC },
  { heading: 'computed: vapour pressure deficit (kPa)', of: (figures) => figures.vpdKPa },
  { heading: 'computed: wet bulb (°C)', of: (figures) => figures.wetBulbC },
  { heading: 'computed: Delta T (°C)', of: (figures) => figures.deltaTC },
  { heading: 'computed: wind at 2 m (m/s)', of: (figures) => figures.windAt2mMPerS },
  { heading: 'computed: reference evapotranspiration FAO-56 (mm)', of: (figures) => figures.etoMm },
  { heading: 'computed: leaf wet (1 yes, 0 no)', of: ({ leafWet }) => (leafWet === null ? null : Number(leafWet)) },
];

const chunkMs = 120 * 24 * HOUR_MS;

/** A cell: numbers to six figures, text quoted where it must be, and never something a spreadsheet would run. */
function cell(value: number | string | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(Number(value.toPrecision(6)));
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A lawn's hours as CSV, piece by piece and in order of time. @param year a local year, or null for all */
export async function* exportWeather(lawn: Lawn, year: number | null): AsyncGenerator<string> {
  yield `\uFEFFtime (UTC),${['local time', ...columns.map((column) => column.heading)].map(cell).join(',')}\r\n`;
  const span = await weatherSpan(lawn.id);
  if (!span) return;
  const clock = zoneClock(lawn.timeZone);
  const yearOf = (utcMs: number) => clock.wallAt(utcMs).year;
  const place = placeOfLawn(lawn);
  const begin =
    year === null ? span.first.getTime() : Math.max(span.first.getTime(), Date.UTC(year, 0, 1) - 24 * HOUR_MS);
  const end =
    year === null
      ? span.last.getTime() + HOUR_MS
      : Math.min(span.last.getTime() + HOUR_MS, Date.UTC(year + 1, 0, 1) + 24 * HOUR_MS);
  for (let at = begin; at < end; at += chunkMs) {
    const until = Math.min(end, at + chunkMs);
    // A day more before, so that the sky of the first night is known.
    const hours = await weatherHoursBetween(lawn.id, new Date(at - 24 * HOUR_MS), new Date(until));
    let text = '';
    for (const figures of hourFigures(hours, place)) {
      const utcMs = figures.hour.hourStartUtcMs;
      if (utcMs < at || (year !== null && yearOf(utcMs) !== year)) continue;
      const local = new Date(utcMs + clock.offsetMs(utcMs)).toISOString().slice(0, 16);
      text += `${new Date(utcMs).toISOString().slice(0, 16)}Z,${local},${columns.map((column) => cell(column.of(figures))).join(',')}\r\n`;
    }
    yield text;
  }
}
