import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { photoMoments } from '@/lib/diary/photos';
import { sprayMoments } from '@/lib/diary/sprays';
import { weatherHoursBetween, weatherSpan } from '@/lib/diary/weather-hours';
import { summariseDays, type DaySummary } from '@/lib/weather/day-summary';
import { sumDegreeDays } from '@/lib/weather/degree-days';
import { findGaps, type WeatherGap } from '@/lib/weather/gaps';
import { leafWetHours } from '@/lib/weather/leaf-wetness';
import { localDateKey, zoneClock, type ZoneClock } from '@/lib/weather/local-time';
import { placeOfLawn } from './lawn-weather';
import { instantOfLocal } from '../diary/lawn-time';

export interface SeasonDay extends DaySummary {
  /** Local noon, UTC ms: where the day stands on a chart. */
  noonUtcMs: number;
  leafWetHours: number | null;
}

export interface DegreeDayTotals {
  baseC: number;
  upperC: number;
  meanFirst: number;
  limitsFirst: number;
  daysCounted: number;
  daysMissing: number;
}

export interface SeasonWeather {
  year: number;
  /** Years the diary has hours of, latest first; empty without hours. */
  years: number[];
  /** Every day from the year's first hour to its last, those without hours as well. */
  days: SeasonDay[];
  gaps: WeatherGap[];
  hoursKnown: number;
  rainMm: number;
  etoMm: number | null;
  degreeDays: DegreeDayTotals;
  leafWet: { wet: number; unknown: number };
  sprays: { id: string; atUtcMs: number; label: string }[];
  photos: { id: string; atUtcMs: number }[];
}

/**
 * One calendar year of a lawn's weather by day, with what was sprayed and photographed. Reads the hours of that year
 * and no others, so it costs the same whatever the diary holds.
 * @param year null for the latest year with hours
 * @param bases base and upper limit of the degree days, °C
 */
export async function seasonWeather(
  lawn: Lawn,
  year: number | null,
  bases: { baseC: number; upperC: number },
  now: Date,
): Promise<SeasonWeather> {
  const clock = zoneClock(lawn.timeZone);
  const span = await weatherSpan(lawn.id);
  const firstYear = span ? clock.wallAt(span.first.getTime()).year : null;
  const lastYear = span ? clock.wallAt(span.last.getTime()).year : null;
  const shown = year ?? lastYear ?? clock.wallAt(now.getTime()).year;
  const years =
    firstYear === null || lastYear === null
      ? []
      : Array.from({ length: lastYear - firstYear + 1 }, (_, back) => lastYear - back);
  const [from, to] = [
    instantOfLocal(`${shown}-01-01T00:00`, lawn.timeZone),
    instantOfLocal(`${shown + 1}-01-01T00:00`, lawn.timeZone),
  ];
  const [hours, sprays, photos] = await Promise.all([
    weatherHoursBetween(lawn.id, from, to),
    sprayMoments(lawn.id, from, to),
    photoMoments(lawn.id, from, to),
  ]);
  const place = placeOfLawn(lawn);
  const summaries = new Map(
    summariseDays(hours, place ?? { latitudeDeg: 0, longitudeDeg: 0, elevationM: 0 }, clock).map((day) => [
      day.date,
      day,
    ]),
  );
  const wetByDate = new Map<string, typeof hours>();
  for (const hour of hours) {
    const date = localDateKey(clock, hour.hourStartUtcMs);
    const list = wetByDate.get(date);
    if (list) list.push(hour);
    else wetByDate.set(date, [hour]);
  }
  const days = everyDay(clock, hours[0]?.hourStartUtcMs, hours.at(-1)?.hourStartUtcMs).map(
    ({ date, noonUtcMs, hoursInDay }): SeasonDay => {
      const wet = leafWetHours(wetByDate.get(date) ?? []);
      const summary = summaries.get(date) ?? emptyDay(date, hoursInDay);
      return {
        ...summary,
        etoMm: place ? summary.etoMm : null,
        noonUtcMs,
        leafWetHours: wet.wet + wet.dry === 0 ? null : wet.wet,
      };
    },
  );
  const extremes = days.map((day) => ({ max: day.maxTempC, min: day.minTempC }));
  const limits = { base: bases.baseC, upper: bases.upperC };
  const meanFirst = sumDegreeDays(extremes, 'mean-first', limits);
  const wet = leafWetHours(hours);
  const etoDays = days.flatMap((day) => (day.etoMm === null ? [] : [day.etoMm]));
  return {
    year: shown,
    years,
    days,
    gaps:
      hours.length === 0
        ? []
        : findGaps(hours, hours[0]?.hourStartUtcMs ?? 0, (hours.at(-1)?.hourStartUtcMs ?? 0) + HOUR_MS, 'airTempC'),
    hoursKnown: hours.length,
    rainMm: hours.reduce((sum, hour) => sum + (hour.rainMm ?? 0), 0),
    etoMm: etoDays.length === 0 ? null : etoDays.reduce((sum, value) => sum + value, 0),
    degreeDays: {
      ...bases,
      meanFirst: meanFirst.degreeDays,
      limitsFirst: sumDegreeDays(extremes, 'limits-first', limits).degreeDays,
      daysCounted: meanFirst.daysCounted,
      daysMissing: meanFirst.daysMissing,
    },
    leafWet: { wet: wet.wet, unknown: wet.unknown },
    sprays: sprays.map((spray) => ({
      id: spray.id,
      atUtcMs: spray.startedAt.getTime(),
      label: spray.plotNames.join(' '),
    })),
    photos: onePerDay(
      clock,
      photos.map((photo) => ({ id: photo.id, atUtcMs: photo.takenAt.getTime() })),
    ),
  };
}

function everyDay(
  clock: ZoneClock,
  firstUtcMs: number | undefined,
  lastUtcMs: number | undefined,
): { date: string; noonUtcMs: number; hoursInDay: number }[] {
  if (firstUtcMs === undefined || lastUtcMs === undefined) return [];
  const days: { date: string; noonUtcMs: number; hoursInDay: number }[] = [];
  const last = localDateKey(clock, lastUtcMs);
  for (let date = localDateKey(clock, firstUtcMs); date <= last;) {
    const [year = 1970, month = 1, day = 1] = date.split('-').map(Number);
    const noon = clock.instantOf({ year, month, day, hour: 12, minute: 0, second: 0 });
    days.push({
      date,
      noonUtcMs: noon.kind === 'once' ? noon.utcMs : Date.UTC(year, month - 1, day, 12),
      hoursInDay: 24,
    });
    date = new Date(Date.UTC(year, month - 1, day + 1)).toISOString().slice(0, 10);
  }
  return days;
}

function emptyDay(date: string, hoursInDay: number): DaySummary {
  return {
    date,
    hoursInDay,
    hoursKnown: 0,
    maxTempC: null,
    minTempC: null,
    meanTempC: null,
    meanVpdKPa: null,
    maxVpdKPa: null,
    meanWindMPerS: null,
    rainMm: null,
    etoMm: null,
  };
}

/** The first photo of each local day: a season's chart has room for a mark a day. */
function onePerDay(clock: ZoneClock, photos: { id: string; atUtcMs: number }[]): { id: string; atUtcMs: number }[] {
  const seen = new Set<string>();
  return photos.filter(({ atUtcMs }) => {
    const date = localDateKey(clock, atUtcMs);
    return seen.has(date) ? false : (seen.add(date), true);
  });
}
