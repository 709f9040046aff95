import { HOUR_MS } from '@/lib/units/time';
import { expectInRange } from '@/lib/expect';
import type { WeatherField, WeatherHour } from '@/lib/weather/hour';
import { hourStartOf } from '@/lib/weather/hour';

export interface WeatherGap {
  /** First hour missing and the end of the last, UTC ms. */
  readonly fromUtcMs: number;
  readonly toUtcMs: number;
  readonly hours: number;
}

/**
 * Runs of hours for which a field (or any hour at all, with null) is missing between two instants.
 * @param hours in any order
 * @throws RangeError when the end lies before the start
 */
export function findGaps(
  hours: readonly WeatherHour[],
  fromUtcMs: number,
  toUtcMs: number,
  field: WeatherField | null = null,
): WeatherGap[] {
  expectInRange('toUtcMs', toUtcMs, fromUtcMs, Number.MAX_SAFE_INTEGER, 'ms (not before the start)');
  const present = new Set<number>();
  for (const hour of hours) if (field === null || hour[field] !== null) present.add(hour.hourStartUtcMs);
  const gaps: WeatherGap[] = [];
  let open: number | null = null;
  const close = (at: number): void => {
    if (open !== null) gaps.push({ fromUtcMs: open, toUtcMs: at, hours: (at - open) / HOUR_MS });
    open = null;
  };
  for (let at = hourStartOf(fromUtcMs); at < toUtcMs; at += HOUR_MS) {
    if (present.has(at)) close(at);
    else open ??= at;
  }
  close(hourStartOf(toUtcMs - 1) + HOUR_MS);
  return gaps;
}
