import 'server-only';
import { instantMsOfLocal } from '@/lib/weather/local-text';
import { zoneClock } from '@/lib/weather/local-time';

/** The instant of a local time as a person typed it, `2026-05-01T07:30`, in the lawn's zone. */
export function instantOfLocal(local: string, timeZone: string): Date {
  return new Date(instantMsOfLocal(local, timeZone));
}

/** Minutes the lawn's clock is ahead of UTC at an instant. */
export function offsetMinutesAt(instant: Date, timeZone: string): number {
  return Math.round(zoneClock(timeZone).offsetMs(instant.getTime()) / 60_000);
}

/** An instant as the lawn's clock shows it, `2026-05-01T07:30`. */
export function localOfInstant(instant: Date, timeZone: string): string {
  return new Date(instant.getTime() + offsetMinutesAt(instant, timeZone) * 60_000).toISOString().slice(0, 16);
}
