import { DAY_MS } from '@/lib/units/time';
import type { WallInstant, WallTime, ZoneClock } from '@/lib/weather/local-time';
import { wallAsUtcMs } from '@/lib/weather/local-time';

/** The order of year, month and day in a logger's dates, or seconds or milliseconds since 1970. */
export const DATE_ORDERS = ['ymd', 'mdy', 'dmy', 'unix-s', 'unix-ms'] as const;
export type DateOrder = (typeof DATE_ORDERS)[number];

const PARTED =
  /^(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})\.?(?:[T ,]+(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?\s*([ap])?\.?(?:m\.?)?)?\s*(Z|UTC|GMT|[+-]\d{2}:?(?:\d{2})?)?$/i;
const COMPACT = /^(\d{4})(\d{2})(\d{2})(?:[T ]?(\d{2}):?(\d{2})(?::?(\d{2}))?)?()(Z|[+-]\d{2}:?\d{2})?$/;

export type Stamp =
  | { readonly kind: 'wall'; readonly asUtcMs: number }
  | { readonly kind: 'instant'; readonly utcMs: number }
  | { readonly kind: 'bad'; readonly reason: string };

/** No logger counted before or will after: this tells seconds from milliseconds, which are a thousand times as many. */
const [EARLIEST_LOGGER, LATEST_LOGGER] = [Date.UTC(1990, 0, 1), Date.UTC(2100, 0, 1)];

/** Reads one time stamp; a wall time stays a wall time (as if UTC) until the zone is put to it. */
export function readStamp(text: string, order: DateOrder): Stamp {
  const trimmed = text.trim();
  if (order === 'unix-s' || order === 'unix-ms') {
    const utcMs = Number(trimmed) * (order === 'unix-s' ? 1000 : 1);
    if (!/^\d{9,14}(\.\d+)?$/.test(trimmed) || utcMs < EARLIEST_LOGGER || utcMs > LATEST_LOGGER)
      return {
        kind: 'bad',
        reason: `time: expected ${order === 'unix-s' ? 'seconds' : 'milliseconds'} since 1970 of a time from 1990 to 2100, got '${trimmed}'`,
      };
    return { kind: 'instant', utcMs };
  }
  const parts = PARTED.exec(trimmed) ?? (order === 'ymd' ? COMPACT.exec(trimmed) : null);
  if (parts === null)
    return { kind: 'bad', reason: `time: expected a date like ${EXAMPLE[order]}, got '${trimmed.slice(0, 40)}'` };
  const [, a = '', b = '', c = '', hourText, minuteText, secondText, half, zone] = parts;
  const [yearText, monthText, dayText] = order === 'ymd' ? [a, b, c] : order === 'mdy' ? [c, a, b] : [c, b, a];
  let year = Number(yearText);
  if (yearText.length <= 2) year += year < 70 ? 2000 : 1900;
  let hour = Number(hourText ?? 0);
  if (half !== undefined && half !== '') {
    if (hour < 1 || hour > 12)
      return { kind: 'bad', reason: `time: expected 1 to 12 before am or pm, got '${trimmed.slice(0, 40)}'` };
    hour = (hour % 12) + (half.toLowerCase() === 'p' ? 12 : 0);
  }
  const next = hour === 24 && Number(minuteText ?? 0) === 0; // 24:00 ends the day: 0:00 of the next
  try {
    const wall: WallTime = {
      year,
      month: Number(monthText),
      day: Number(dayText),
      hour: next ? 0 : hour,
      minute: Number(minuteText ?? 0),
      second: Number(secondText ?? 0),
    };
    const asUtcMs = wallAsUtcMs(wall) + (next ? DAY_MS : 0);
    if (zone === undefined || zone === '') return { kind: 'wall', asUtcMs };
    const offset = /^([+-])(\d{2}):?(\d{2})?$/.exec(zone);
    const offsetMin =
      offset === null ? 0 : (offset[1] === '-' ? -1 : 1) * (Number(offset[2]) * 60 + Number(offset[3] ?? 0));
    return { kind: 'instant', utcMs: asUtcMs - offsetMin * 60_000 };
  } catch (error) {
    if (error instanceof RangeError) return { kind: 'bad', reason: `time '${trimmed.slice(0, 40)}': ${error.message}` };
    throw error;
  }
}

const EXAMPLE: Record<Exclude<DateOrder, 'unix-s' | 'unix-ms'>, string> = {
  ymd: '2025-07-31 18:00',
  mdy: '7/31/2025 18:00',
  dmy: '31.7.2025 18:00',
};

/**
 * The order that reads every sample and keeps them in order of time; null when none does, `sure` false when several do.
 */
export function guessDateOrder(samples: readonly string[]): { order: DateOrder; sure: boolean } | null {
  const scored = DATE_ORDERS.flatMap((order) => {
    const times: number[] = [];
    for (const sample of samples) {
      const stamp = readStamp(sample, order);
      if (stamp.kind === 'bad') return [];
      times.push(stamp.kind === 'wall' ? stamp.asUtcMs : stamp.utcMs);
    }
    let longest = 0;
    for (let i = 1; i < times.length; i += 1)
      longest = Math.max(longest, Math.abs((times[i] ?? 0) - (times[i - 1] ?? 0)));
    return [{ order, longest }];
  });
  scored.sort((a, b) => a.longest - b.longest); // a wrong order jumps by months
  const [best, second] = scored;
  if (best === undefined) return null;
  return { order: best.order, sure: second === undefined || second.longest > best.longest };
}

/** How the logger's clock ran: by the rules of a zone, or at a fixed offset all year. */
export type LoggerClock =
  | { readonly kind: 'zone'; readonly clock: ZoneClock }
  | { readonly kind: 'fixed'; readonly offsetMin: number };

/**
 * A wall time (as if UTC) put to the clock. A long import asks for successive hours, so plain days go without the
 * search.
 */
export function instantOnClock(logger: LoggerClock, asUtcMs: number): WallInstant {
  if (logger.kind === 'fixed') return { kind: 'once', utcMs: asUtcMs - logger.offsetMin * 60_000 };
  const { clock } = logger;
  const before = clock.offsetMs(asUtcMs - DAY_MS);
  if (before === clock.offsetMs(asUtcMs + DAY_MS)) return { kind: 'once', utcMs: asUtcMs - before };
  const at = new Date(asUtcMs);
  return clock.instantOf({
    year: at.getUTCFullYear(),
    month: at.getUTCMonth() + 1,
    day: at.getUTCDate(),
    hour: at.getUTCHours(),
    minute: at.getUTCMinutes(),
    second: at.getUTCSeconds(),
  });
}
