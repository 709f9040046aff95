import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { dryingSensitivity, type DryingSensitivity } from '@/lib/weather/drying';
import { dryingGrid, type DryingGrid } from '@/lib/weather/drying-grid';
import { type WeatherHour } from '@/lib/weather/hour';
import { zoneClock } from '@/lib/weather/local-time';
import { sunDay, type SunDay } from '@/lib/weather/sun-times';
import { bestWindows, scoreHours, type HourScore, type SprayWindow } from '@/lib/weather/window';
import { knownHours } from './known-hours';
import { filmOnLawn, placeOfLawn, type Film, windowLimitsOf } from './lawn-weather';

export interface WindowQuestion {
  carrierLPerHa: number | null;
  wettedLeafAreaM2PerM2: number;
  workMinutes: number;
  /** Carrier volumes to lay the grid out for, L/ha. */
  gridCarriersLPerHa: readonly number[];
}

export interface WindowAhead {
  kind: 'scored';
  film: Film;
  scores: HourScore[];
  hours: readonly WeatherHour[];
  windows: SprayWindow[];
  /** Local days the hours touch, with the sun's times. */
  days: { date: string; sun: SunDay }[];
  grid: DryingGrid;
  /** For the best window, or else the first hour. */
  sensitivity: { startUtcMs: number; minutes: number | null; lines: DryingSensitivity[] } | null;
  assumed: string[];
}

export type WindowAnswer = WindowAhead | { kind: 'no-place' } | { kind: 'no-hours' };

const hoursAhead = 48;

/**
 * The coming 48 hours (or those from `from`), each scored with its reasons. Measured hours stand before forecast ones.
 */
export async function windowAhead(lawn: Lawn, question: WindowQuestion, from: Date): Promise<WindowAnswer> {
  const place = placeOfLawn(lawn);
  if (place === null) return { kind: 'no-place' };
  const first = Math.ceil(from.getTime() / HOUR_MS) * HOUR_MS;
  const hours = await knownHours(
    lawn.id,
    new Date(first - 27 * HOUR_MS),
    new Date(first + (hoursAhead + 27) * HOUR_MS),
  );
  if (!hours.some((hour) => hour.hourStartUtcMs >= first && hour.hourStartUtcMs < first + hoursAhead * HOUR_MS))
    return { kind: 'no-hours' };

  const clock = zoneClock(lawn.timeZone);
  const film = filmOnLawn(lawn, question.carrierLPerHa, question.wettedLeafAreaM2PerM2);
  const scores = scoreHours(
    { hours, place, clock, film, limits: windowLimitsOf(lawn), units: lawn.unitSystem },
    first,
    hoursAhead,
  );
  const windows = bestWindows(scores, question.workMinutes, clock);
  const days = new Map<string, SunDay>();
  for (const score of scores) {
    const { year, month, day } = clock.wallAt(score.startUtcMs);
    const date = `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`;
    if (!days.has(date)) days.set(date, sunDay({ year, month, day }, place.latitudeDeg, place.longitudeDeg));
  }
  const at = windows[0]?.startUtcMs ?? scores.find((score) => score.drying.kind === 'dries')?.startUtcMs;
  const drying = scores.find((score) => score.startUtcMs === at)?.drying;
  return {
    kind: 'scored',
    film,
    scores,
    hours,
    windows,
    days: [...days].map(([date, sun]) => ({ date, sun })),
    grid: dryingGrid(
      scores.slice(0, 24).map((score) => score.startUtcMs),
      question.gridCarriersLPerHa,
      film,
      hours,
      place,
    ),
    sensitivity:
      at === undefined || drying === undefined
        ? null
        : {
            startUtcMs: at,
            minutes: drying.kind === 'dries' ? drying.minutes : null,
            lines: dryingSensitivity({ ...film, startUtcMs: at }, hours, place),
          },
    assumed: [...place.assumed, ...film.assumed],
  };
}
