import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { lastSprayBefore } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { summariseDays, type DaySummary } from '@/lib/weather/day-summary';
import { leafWetHours } from '@/lib/weather/leaf-wetness';
import { localDay, zoneClock } from '@/lib/weather/local-time';
import { rainBetween, type RainSum } from '@/lib/weather/rain-since';
import { sunDay, type CivilDate, type SunDay } from '@/lib/weather/sun-times';
import { hourFigures, type HourFigures } from './hour-figures';
import { placeOfLawn } from './lawn-weather';

export interface DayWeather {
  hours: HourFigures[];
  hoursInDay: number;
  summary: DaySummary | null;
  leafWet: { wet: number; dry: number; unknown: number; longestSpell: number };
  /** Null without coordinates. */
  sun: SunDay | null;
  /** Rain from the last spray before the day's end to that end. */
  rainSinceSpray: { sprayId: string; startedAt: Date; rain: RainSum } | null;
}

/**
 * One local day of a lawn: its hours with all that follows from them, and the sun's times. Days of 23 and 25 hours are
 * whole.
 */
export async function dayWeather(lawn: Lawn, date: CivilDate): Promise<DayWeather> {
  const clock = zoneClock(lawn.timeZone);
  const { startUtcMs, endUtcMs, hours: hoursInDay } = localDay(clock, date);
  const place = placeOfLawn(lawn);
  const [withDayBefore, spray] = await Promise.all([
    weatherHoursBetween(lawn.id, new Date(startUtcMs - 24 * HOUR_MS), new Date(endUtcMs)),
    lastSprayBefore(lawn.id, new Date(endUtcMs)),
  ]);
  const figures = hourFigures(withDayBefore, place).filter((entry) => entry.hour.hourStartUtcMs >= startUtcMs);
  const own = figures.map((entry) => entry.hour);
  const [summary] = summariseDays(own, place ?? { latitudeDeg: 0, longitudeDeg: 0, elevationM: 0 }, clock);
  const since = spray && endUtcMs - spray.startedAt.getTime() <= 60 * 24 * HOUR_MS ? spray : null;
  return {
    hours: figures,
    hoursInDay,
    summary: summary ? { ...summary, etoMm: place ? summary.etoMm : null } : null,
    leafWet: leafWetHours(own),
    sun: place ? sunDay(date, place.latitudeDeg, place.longitudeDeg) : null,
    rainSinceSpray: since
      ? {
          sprayId: since.id,
          startedAt: since.startedAt,
          rain: rainBetween(
            await weatherHoursBetween(lawn.id, new Date(since.startedAt.getTime() - HOUR_MS), new Date(endUtcMs)),
            since.startedAt.getTime(),
            endUtcMs,
          ),
        }
      : null,
  };
}
