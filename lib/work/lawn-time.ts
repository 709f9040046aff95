import 'server-only';
import { zoneClock } from '@/lib/weather/local-time';

/**
 * The instant of a local time as a person typed it, `2026-05-01T07:30`, in the lawn's zone.
 * When clocks went back the earlier of the two; when clocks jumped over it, the end of the jump.
 */
export function instantOfLocal(local: string, timeZone: string): Date {
  const [date = '', time = ''] = local.split('T');
  const [year = 0, month = 0, day = 0] = date.split('-').map(Number);
  const [hour = 0, minute = 0, second = 0] = time.split(':').map(Number);
  const found = zoneClock(timeZone).instantOf({ year, month, day, hour, minute, second });
  if (found.kind === 'once') return new Date(found.utcMs);
  return new Date(found.kind === 'twice' ? found.earlierUtcMs : found.gapEndUtcMs);
}

/** Minutes the lawn's clock is ahead of UTC at an instant. */
export function offsetMinutesAt(instant: Date, timeZone: string): number {
  return Math.round(zoneClock(timeZone).offsetMs(instant.getTime()) / 60_000);
}

/** An instant as the lawn's clock shows it, `2026-05-01T07:30`. */
export function localOfInstant(instant: Date, timeZone: string): string {
  return new Date(instant.getTime() + offsetMinutesAt(instant, timeZone) * 60_000).toISOString().slice(0, 16);
}
