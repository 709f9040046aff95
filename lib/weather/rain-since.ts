import { HOUR_MS } from '@/lib/units/time';
import { expectFinite, expectInRange } from '@/lib/expect';
import type { WeatherHour } from '@/lib/weather/hour';

export interface RainSum {
  readonly rainMm: number;
  /**
   * Hours of the span, counted by overlap, with and without a rain figure: with any unknown the sum is a lower bound.
   */
  readonly hoursKnown: number;
  readonly hoursUnknown: number;
  /** Start of the first and last hour with rain, or null. */
  readonly firstRainUtcMs: number | null;
  readonly lastRainUtcMs: number | null;
}

/**
 * Rain between two instants, mm. An hour cut by an end of the span counts by its share, as if its rain fell evenly.
 * @throws RangeError when the end lies before the start
 */
export function rainBetween(hours: readonly WeatherHour[], fromUtcMs: number, toUtcMs: number): RainSum {
  expectFinite('fromUtcMs', fromUtcMs);
  expectInRange('toUtcMs', toUtcMs, fromUtcMs, Number.MAX_SAFE_INTEGER, 'ms (not before the start)');
  let rainMm = 0;
  let hoursKnown = 0;
  let firstRainUtcMs: number | null = null;
  let lastRainUtcMs: number | null = null;
  for (const hour of hours) {
    const start = hour.hourStartUtcMs;
    const share = (Math.min(start + HOUR_MS, toUtcMs) - Math.max(start, fromUtcMs)) / HOUR_MS;
    if (share <= 0 || hour.rainMm === null) continue;
    hoursKnown += share;
    rainMm += hour.rainMm * share;
    if (hour.rainMm > 0) {
      firstRainUtcMs = Math.min(firstRainUtcMs ?? start, start);
      lastRainUtcMs = Math.max(lastRainUtcMs ?? start, start);
    }
  }
  const hoursUnknown = Math.max(0, (toUtcMs - fromUtcMs) / HOUR_MS - hoursKnown);
  return { rainMm, hoursKnown, hoursUnknown: hoursUnknown < 1e-9 ? 0 : hoursUnknown, firstRainUtcMs, lastRainUtcMs };
}

/**
 * Hours from the end of a spray to the first rain, or null when none fell in the hours known.
 * Rain in the hour the spray ended counts from that end: 0 h.
 */
export function hoursToFirstRain(hours: readonly WeatherHour[], sinceUtcMs: number, untilUtcMs: number): number | null {
  const { firstRainUtcMs } = rainBetween(hours, sinceUtcMs, untilUtcMs);
  return firstRainUtcMs === null ? null : Math.max(0, (firstRainUtcMs - sinceUtcMs) / HOUR_MS);
}
