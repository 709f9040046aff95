import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { calendarBounds, calendarEvents } from '@/lib/diary/calendar';
import type { Lawn } from '@/lib/diary/lawns';
import { instantOfLocal, localOfInstant } from './lawn-time';
import { isNews, marksOfPhotos } from '../photos/marks';
import { upToDatePhotos } from '../photos/stand-of';

export interface CalendarDay {
  /** Local date, YYYY-MM-DD. */
  date: string;
  sprays: number;
  plans: number;
  photos: number;
  marks: number;
  /** What happened besides sprays and photos. */
  events: number;
  /** The instant at which the day ends: where the diary opens to show it first. */
  endsAt: Date;
}

export interface CalendarMonth {
  /** YYYY-MM. */
  month: string;
  /** 0 Sunday to 6 Saturday: the weekday of the first. */
  startsOn: number;
  days: CalendarDay[];
}

const two = (value: number) => String(value).padStart(2, '0');

/**
 * The month that lies `by` months after (before, when negative) the one given as YYYY-MM.
 * Exported for the turn of a year.
 */
export function monthAfter(month: string, by: number): string {
  const [year, index] = month.split('-').map(Number) as [number, number];
  const months = year * 12 + index - 1 + by;
  return `${String(Math.floor(months / 12)).padStart(4, '0')}-${two((months % 12) + 1)}`;
}

/**
 * Months that end with `last` (YYYY-MM; null: the month of the newest event), the newest first, with what each local
 * day holds; null in an empty diary.
 */
export async function calendarMonths(
  lawn: Pick<Lawn, 'id' | 'timeZone'>,
  last: string | null,
  count: number,
): Promise<{ months: CalendarMonth[]; earlier: string | null; later: string | null } | null> {
  const bounds = await calendarBounds(lawn.id);
  if (!bounds) return null;
  const monthOf = (at: Date) => localOfInstant(at, lawn.timeZone).slice(0, 7);
  const newest = monthOf(bounds.last);
  const end = last ?? newest;
  const start = monthAfter(end, 1 - count);
  const startOf = (month: string) => instantOfLocal(`${month}-01T00:00`, lawn.timeZone);
  const events = await calendarEvents(lawn.id, startOf(start), startOf(monthAfter(end, 1)));
  const days = new Map<string, CalendarDay>();
  const dayOf = (at: Date) => days.get(localOfInstant(at, lawn.timeZone).slice(0, 10));
  const months = Array.from({ length: count }, (_, back): CalendarMonth => {
    const month = monthAfter(end, -back);
    const first = new Date(`${month}-01T00:00Z`);
    const length = new Date(Date.UTC(first.getUTCFullYear(), first.getUTCMonth() + 1, 0)).getUTCDate();
    const ofMonth = Array.from({ length }, (_day, index): CalendarDay => {
      const date = `${month}-${two(index + 1)}`;
      const next = new Date(Date.parse(`${date}T00:00Z`) + DAY_MS).toISOString().slice(0, 10);
      return {
        date,
        sprays: 0,
        plans: 0,
        photos: 0,
        marks: 0,
        events: 0,
        endsAt: instantOfLocal(`${next}T00:00`, lawn.timeZone),
      };
    });
    for (const day of ofMonth) days.set(day.date, day);
    return { month, startsOn: first.getUTCDay(), days: ofMonth };
  });
  for (const spray of events.sprays) {
    const day = dayOf(spray.startedAt);
    if (day) day[spray.state === 'planned' ? 'plans' : 'sprays'] += 1;
  }
  const marked = events.photos.filter((photo) => photo.marked).map((photo) => photo.id);
  const upToDate = await upToDatePhotos(lawn.id, marked);
  const marks = (await marksOfPhotos(lawn.id, marked)).filter((mark) => upToDate.has(mark.photoId) && isNews(mark));
  const marksIn = new Map<string, number>();
  for (const mark of marks) marksIn.set(mark.photoId, (marksIn.get(mark.photoId) ?? 0) + 1);
  for (const photo of events.photos) {
    const day = dayOf(photo.takenAt);
    if (!day) continue;
    day.photos += 1;
    day.marks += marksIn.get(photo.id) ?? 0;
  }
  for (const event of events.events) {
    const day = dayOf(event.at);
    if (day) day.events += 1;
  }
  return {
    months,
    earlier: monthOf(bounds.first) < start ? monthAfter(start, -1) : null,
    later: end < newest ? monthAfter(end, count) : null,
  };
}
