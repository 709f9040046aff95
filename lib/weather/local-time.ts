import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { expectWhole } from '@/lib/expect';
import type { CivilDate } from '@/lib/weather/sun-times';

/** What a clock on the wall shows: no zone, no offset. */
export interface WallTime extends CivilDate {
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
}

/** The instant a wall time names: one, two (clocks went back) or none (clocks went forward over it). */
export type WallInstant =
  | { readonly kind: 'once'; readonly utcMs: number }
  | { readonly kind: 'twice'; readonly earlierUtcMs: number; readonly laterUtcMs: number }
  | { readonly kind: 'never'; readonly gapMin: number; readonly gapEndUtcMs: number };

/** A time zone's clock; keeps what it has learnt, so asking for many hours of the same years is quick. */
export interface ZoneClock {
  readonly timeZone: string;
  /** Wall time less UTC, ms, at an instant. */
  offsetMs(utcMs: number): number;
  wallAt(utcMs: number): WallTime;
  instantOf(wall: WallTime): WallInstant;
}

/** Whether the name is an IANA time zone this runtime knows, such as 'America/New_York'. */
export function isTimeZone(name: string): boolean {
  try {
    return name !== '' && new Intl.DateTimeFormat('en-US', { timeZone: name }).resolvedOptions().timeZone !== '';
  } catch {
    return false; // Intl answers an unknown zone with a RangeError
  }
}

/**
 * A wall time as if it were UTC, ms: for arithmetic on clocks.
 * @throws RangeError on a date that isn't in the calendar
 */
export function wallAsUtcMs(wall: WallTime): number {
  expectWhole('year', wall.year, 1900, 2200);
  expectWhole('month', wall.month, 1, 12);
  expectWhole('day', wall.day, 1, new Date(Date.UTC(wall.year, wall.month, 0)).getUTCDate());
  expectWhole('hour', wall.hour, 0, 23);
  expectWhole('minute', wall.minute, 0, 59);
  expectWhole('second', wall.second, 0, 59);
  return Date.UTC(wall.year, wall.month - 1, wall.day, wall.hour, wall.minute, wall.second);
}

function wallFromMs(asUtcMs: number): WallTime {
  const at = new Date(asUtcMs);
  return {
    year: at.getUTCFullYear(),
    month: at.getUTCMonth() + 1,
    day: at.getUTCDate(),
    hour: at.getUTCHours(),
    minute: at.getUTCMinutes(),
    second: at.getUTCSeconds(),
  };
}

/**
 * The clock of an IANA time zone, by the runtime's own zone data (Intl), 1900 to 2200.
 * @throws RangeError on an unknown zone
 * @example zoneClock('America/New_York').instantOf({ year: 2024, month: 3, day: 10, hour: 2, minute: 30, second: 0
 *   }).kind // 'never'
 */
export function zoneClock(timeZone: string): ZoneClock {
  const known = clocks.get(timeZone);
  if (known) return known;
  const clock = newClock(timeZone);
  if (clocks.size < MOST_CLOCKS) clocks.set(timeZone, clock);
  return clock;
}

/** A zone's data never changes while a process runs, and making its formatter costs as much as hundreds of answers. */
const clocks = new Map<string, ZoneClock>();
/** A diary asks for one zone, or a few. */
const MOST_CLOCKS = 20;
/** A clock that learnt so many days forgets them: a hundred years. */
const MOST_DAYS = 36_525;

function newClock(timeZone: string): ZoneClock {
  if (!isTimeZone(timeZone))
    throw new RangeError(`timeZone: expected an IANA time zone such as 'Europe/London', got '${timeZone}'`);
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone,
    hourCycle: 'h23',
    era: 'short',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  });
  const ask = (utcMs: number): number => {
    const part: Record<string, number> = {};
    for (const { type, value } of format.formatToParts(utcMs)) part[type] = Number(value);
    const wallMs = Date.UTC(
      part.year ?? 0,
      (part.month ?? 1) - 1,
      part.day ?? 1,
      part.hour ?? 0,
      part.minute ?? 0,
      part.second ?? 0,
    );
    return wallMs - Math.floor(utcMs / 1000) * 1000;
  };
  // A UTC day whose two ends have one offset has it all through (no zone has changed its clocks twice within a day).
  const atDayStart = new Map<number, number>();
  const dayStartOffset = (day: number): number => {
    let known = atDayStart.get(day);
    if (known === undefined && atDayStart.size >= MOST_DAYS) atDayStart.clear();
    if (known === undefined) atDayStart.set(day, (known = ask(day * DAY_MS)));
    return known;
  };
  const offsetMs = (utcMs: number): number => {
    const day = Math.floor(utcMs / DAY_MS);
    const start = dayStartOffset(day);
    return start === dayStartOffset(day + 1) ? start : ask(utcMs);
  };
  return {
    timeZone,
    offsetMs,
    wallAt: (utcMs) => wallFromMs(utcMs + offsetMs(utcMs)),
    instantOf(wall) {
      const asUtcMs = wallAsUtcMs(wall);
      const before = offsetMs(asUtcMs - DAY_MS);
      const after = offsetMs(asUtcMs + DAY_MS);
      if (before === after) {
        const utcMs = asUtcMs - before;
        if (offsetMs(utcMs) === before) return { kind: 'once', utcMs };
      }
      const found = [before, after].filter(
        (offset, i, all) => all.indexOf(offset) === i && offsetMs(asUtcMs - offset) === offset,
      );
      const [one, two] = found.map((offset) => asUtcMs - offset);
      if (one !== undefined && two !== undefined)
        return { kind: 'twice', earlierUtcMs: Math.min(one, two), laterUtcMs: Math.max(one, two) };
      if (one !== undefined) return { kind: 'once', utcMs: one };
      return {
        kind: 'never',
        gapMin: Math.abs(after - before) / 60_000,
        gapEndUtcMs: gapEnd(asUtcMs - after, asUtcMs - before, offsetMs),
      };
    },
  };
}

/** The instant of the change of offset that lies between two instants, to the second, by halving. */
function gapEnd(from: number, to: number, offsetMs: (utcMs: number) => number): number {
  let low = Math.min(from, to);
  let high = Math.max(from, to);
  const start = offsetMs(low);
  while (high - low > 1000) {
    const middle = Math.floor((low + high) / 2000) * 1000;
    if (middle <= low) break;
    if (offsetMs(middle) === start) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * A local day's limits, UTC ms, and how many hours it has: 23 or 25 when the clocks change, 24 else.
 * Where midnight itself is skipped the day starts when the clocks have moved on.
 * @throws RangeError on a date that isn't in the calendar
 */
export function localDay(clock: ZoneClock, date: CivilDate): { startUtcMs: number; endUtcMs: number; hours: number } {
  const midnight = (day: CivilDate): number => {
    const found = clock.instantOf({ year: day.year, month: day.month, day: day.day, hour: 0, minute: 0, second: 0 });
    if (found.kind === 'once') return found.utcMs;
    return found.kind === 'twice' ? found.earlierUtcMs : found.gapEndUtcMs;
  };
  const startUtcMs = midnight(date);
  const next = wallFromMs(Date.UTC(date.year, date.month - 1, date.day + 1));
  const endUtcMs = midnight(next);
  return { startUtcMs, endUtcMs, hours: (endUtcMs - startUtcMs) / HOUR_MS };
}

/** The local calendar day an instant falls on, as 'YYYY-MM-DD'. */
export function localDateKey(clock: ZoneClock, utcMs: number): string {
  return new Date(utcMs + clock.offsetMs(utcMs)).toISOString().slice(0, 10);
}
