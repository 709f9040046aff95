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
