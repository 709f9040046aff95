import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { hourStartOf, type WeatherHour } from '@/lib/weather/hour';
import { instantOfLocal, localOfInstant } from '../diary/lawn-time';

/** As far as a forecast is worth looking through. */
const LOOK_DAYS = 10;

export interface StartWish {
  /** The spray that is to be done otherwise. */
  readonly sprayedAt: Date;
  readonly hoursLater: number;
  /** Not before this moment: a label's interval since the last iron. Null: none. */
  readonly notBefore: Date | null;
  /** Of the day that follows the start. */
  readonly maxTempC: number | null;
  /** At the start. */
  readonly maxWindMPerS: number | null;
}

/**
 * When to plan the like of a spray: at its time of day, later where that is wished, on the first day that is far enough
 * from the last iron and, as far as hours are known, cool and calm enough. Where no known day is, the first day, and
 * the plan's own checks say why.
 * @param hours known from now on, measured or forecast
 * @returns local time by the lawn's clock, 2026-05-01T19:40
 */
export function nextStart(wish: StartWish, timeZone: string, hours: readonly WeatherHour[], now: Date): string {
  const timeOfDay = localOfInstant(new Date(wish.sprayedAt.getTime() + wish.hoursLater * HOUR_MS), timeZone).slice(11);
  const earliest = new Date(Math.max(now.getTime(), wish.notBefore?.getTime() ?? 0));
  const firstDay = Date.parse(`${localOfInstant(earliest, timeZone).slice(0, 10)}T00:00Z`);
  const starts = Array.from(
    { length: LOOK_DAYS + 1 },
    (_, day) => `${new Date(firstDay + day * DAY_MS).toISOString().slice(0, 10)}T${timeOfDay}`,
  ).filter((local) => instantOfLocal(local, timeZone) >= earliest);
  const fits = (local: string): boolean => {
    const at = instantOfLocal(local, timeZone).getTime();
    const own = hours.find((hour) => hour.hourStartUtcMs === hourStartOf(at));
    const after = hours
      .filter((hour) => hour.hourStartUtcMs >= hourStartOf(at) && hour.hourStartUtcMs < at + DAY_MS)
      .flatMap((hour) => hour.airTempC ?? []);
    const cool = wish.maxTempC === null || (after.length >= 12 && Math.max(...after) <= wish.maxTempC);
    const calm = wish.maxWindMPerS === null || (own?.windMPerS ?? Infinity) <= wish.maxWindMPerS;
    return cool && calm;
  };
  return starts.find(fits) ?? starts[0]!;
}
