import { zoneClock } from './local-time';

/**
 * The instant of a local time as a person typed it, `2026-05-01T07:30`, in a zone, ms since 1970 UTC.
 * When clocks went back the earlier of the two; when clocks jumped over it, the end of the jump.
 * @throws RangeError on a date that isn't in the calendar
 */
export function instantMsOfLocal(local: string, timeZone: string): number {
  const [date = '', time = ''] = local.split('T');
  const [year = 0, month = 0, day = 0] = date.split('-').map(Number);
  const [hour = 0, minute = 0, second = 0] = time.split(':').map(Number);
  const found = zoneClock(timeZone).instantOf({ year, month, day, hour, minute, second });
  if (found.kind === 'once') return found.utcMs;
  return found.kind === 'twice' ? found.earlierUtcMs : found.gapEndUtcMs;
}

/** Whether the text is a date and time of the calendar, 1990 to 2100, as `2026-05-01T07:30`: 31 February is none. */
export function isLocalDateTime(text: string): boolean {
  if (!/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?$/.test(text)) return false;
  const asUtc = new Date(`${text}Z`);
  if (!Number.isFinite(asUtc.getTime()) || asUtc.getUTCFullYear() < 1990 || asUtc.getUTCFullYear() > 2100) return false;
  return asUtc.toISOString().startsWith(text);
}
