import { HOUR_MS } from '@/lib/units/time';
import type { UnitSystem } from './display';

/**
 * Who reads: the units he thinks in, which decide how dates are written too, and the zone of the lawn's clock. A lawn
 * is one.
 */
export interface Reader {
  readonly unitSystem: UnitSystem;
  readonly timeZone: string;
}

type Part = 'weekday' | 'day' | 'month' | 'year' | 'hour' | 'minute';

const formats = new Map<string, Intl.DateTimeFormat>();

/**
 * The parts of a moment on the clock of a zone. They are put together here, since runtimes differ in commas, spaces and
 * 'Sept', and a page is written by two of them. A format is dear to make and cheap to use: one a zone.
 */
function partsOf(instant: Date | number, timeZone: string): Record<Part, string> {
  let format = formats.get(timeZone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-US', {
      timeZone,
      weekday: 'short',
      day: 'numeric',
      month: 'short',
      year: 'numeric',
      hour: '2-digit',
      minute: '2-digit',
      hourCycle: 'h23',
    });
    formats.set(timeZone, format);
  }
  const found = {} as Record<Part, string>;
  for (const { type, value } of format.formatToParts(instant)) found[type as Part] = value;
  return found;
}

const dayOf = ({ day, month }: Record<Part, string>, unitSystem: UnitSystem): string =>
  unitSystem === 'metric' ? `${day} ${month}` : `${month} ${day}`;
const dayAndYear = (parts: Record<Part, string>, unitSystem: UnitSystem): string =>
  `${dayOf(parts, unitSystem)}${unitSystem === 'metric' ? ' ' : ', '}${parts.year}`;
const clockOf = ({ hour, minute }: Record<Part, string>, unitSystem: UnitSystem): string =>
  unitSystem === 'metric'
    ? `${hour}:${minute}`
    : `${Number(hour) % 12 || 12}:${minute} ${Number(hour) < 12 ? 'AM' : 'PM'}`;

/** 1 May 2026, or May 1, 2026 */
export function dayText(instant: Date | number, { timeZone, unitSystem }: Reader): string {
  return dayAndYear(partsOf(instant, timeZone), unitSystem);
}

/** 1 May, or May 1 */
export function shortDayText(instant: Date | number, { timeZone, unitSystem }: Reader): string {
  return dayOf(partsOf(instant, timeZone), unitSystem);
}

/** Fri 2026, beside a short day. */
export function weekdayYearText(instant: Date | number, { timeZone }: Reader): string {
  const { weekday, year } = partsOf(instant, timeZone);
  return `${weekday} ${year}`;
}

/** 19:30, or 7:30 PM */
export function timeText(instant: Date | number, { timeZone, unitSystem }: Reader): string {
  return clockOf(partsOf(instant, timeZone), unitSystem);
}

/** 19, or 7 PM: the hour in the little room of a cell. */
export function hourText(instant: Date | number, reader: Reader): string {
  return timeText(instant, reader).replace(':00', '');
}

/** Fri 1 May 2026, 19:30, or Fri, May 1, 2026, 7:30 PM */
export function momentText(instant: Date | number, { timeZone, unitSystem }: Reader): string {
  const parts = partsOf(instant, timeZone);
  return `${parts.weekday}${unitSystem === 'metric' ? ' ' : ', '}${dayAndYear(parts, unitSystem)}, ${clockOf(parts, unitSystem)}`;
}

/** A date of the calendar, 2026-05-01, as the reader writes it: 1 May 2026, or May 1, 2026. */
export function dateText(date: string, reader: Pick<Reader, 'unitSystem'>): string {
  return dayText(new Date(`${date}T12:00:00Z`), { ...reader, timeZone: 'UTC' });
}

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** The same without the year: 1 May, or May 1. */
export function shortDateText(date: string, reader: Pick<Reader, 'unitSystem'>): string {
  return shortDayText(new Date(`${date}T12:00:00Z`), { ...reader, timeZone: 'UTC' });
}

/** A month, 2026-05: May 2026. */
export function monthText(month: string): string {
  return `${MONTHS[Number(month.slice(5)) - 1] ?? ''} ${month.slice(0, 4)}`;
}

/** The weekday a calendar's week begins with, 0 Sunday to 6 Saturday. */
export function weekBegins(reader: Pick<Reader, 'unitSystem'>): 0 | 1 {
  return reader.unitSystem === 'metric' ? 1 : 0;
}

const isoDay = new Map<string, Intl.DateTimeFormat>();

/** 2026-05-01: sorts and groups, and is never shown. */
export function dayKey(instant: Date, timeZone: string): string {
  let format = isoDay.get(timeZone);
  if (format === undefined)
    isoDay.set(
      timeZone,
      (format = new Intl.DateTimeFormat('en-CA', { timeZone, year: 'numeric', month: '2-digit', day: '2-digit' })),
    );
  return format.format(instant);
}

/** Whole days and hours from one instant to another: "3 days 2 h". */
export function spanText(from: Date, to: Date): string {
  const hours = Math.round((to.getTime() - from.getTime()) / HOUR_MS);
  if (hours < 48) return `${hours} h`;
  return `${Math.floor(hours / 24)} days${hours % 24 ? ` ${hours % 24} h` : ''}`;
}

/** Just the reader of a lawn's row: what a page hands to the browser carries no place. */
export function readerOf({ unitSystem, timeZone }: Reader): Reader {
  return { unitSystem, timeZone };
}
