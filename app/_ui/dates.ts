/** How dates and times are written on the pages. All take the offset or zone the moment belongs to. */

function parts(instant: Date, timeZone: string, options: Intl.DateTimeFormatOptions): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone, ...options }).format(instant);
}

/** 1 May 2026 */
export function dayText(instant: Date, timeZone: string): string {
  return parts(instant, timeZone, { day: 'numeric', month: 'short', year: 'numeric' });
}

/** 07:30 */
export function timeText(instant: Date, timeZone: string): string {
  return parts(instant, timeZone, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
}

/** Fri 1 May 2026, 07:30 */
export function momentText(instant: Date, timeZone: string): string {
  return `${parts(instant, timeZone, { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' })}, ${timeText(instant, timeZone)}`;
}

/** 2026-05-01: sorts and groups. */
export function dayKey(instant: Date, timeZone: string): string {
  return new Intl.DateTimeFormat('en-CA', { timeZone, year: 'numeric', month: '2-digit', day: '2-digit' }).format(instant);
}

/** Whole days and hours from one instant to another: "3 days 2 h". */
export function spanText(from: Date, to: Date): string {
  const hours = Math.round((to.getTime() - from.getTime()) / 3_600_000);
  if (hours < 48) return `${hours} h`;
  return `${Math.floor(hours / 24)} days${hours % 24 ? ` ${hours % 24} h` : ''}`;
}
