import 'server-only';
import { diary } from './client';

/** What happened when in a span: one row an event, no more of it than a calendar shows. */
export interface CalendarEvents {
  sprays: { startedAt: Date; state: string }[];
  photos: { id: string; takenAt: Date; marked: boolean }[];
  events: { at: Date }[];
}

/** Sprays, photos and other events from one instant up to, not including, another, oldest first, at most `limit` of each; a photo with whether it has new marks. */
export async function calendarEvents(lawnId: string, from: Date, to: Date, limit = 5000): Promise<CalendarEvents> {
  const [sprays, photos, events] = await Promise.all([
    diary().spray.findMany({ where: { lawnId, deletedAt: null, startedAt: { gte: from, lt: to } }, orderBy: { startedAt: 'asc' }, take: limit, select: { startedAt: true, state: true } }),
    diary().photo.findMany({
      where: { lawnId, deletedAt: null, takenAt: { gte: from, lt: to } },
      orderBy: { takenAt: 'asc' },
      take: limit,
      select: { id: true, takenAt: true, _count: { select: { marks: { where: { isNew: true, kind: { not: 'other' } } } } } },
    }),
    diary().lawnEvent.findMany({ where: { lawnId, deletedAt: null, at: { gte: from, lt: to } }, orderBy: { at: 'asc' }, take: limit, select: { at: true } }),
  ]);
  return { sprays, events, photos: photos.map(({ _count, ...photo }) => ({ ...photo, marked: _count.marks > 0 })) };
}

/** When the lawn's first and last events were, or null in an empty diary: where a calendar opens and ends. */
export async function calendarBounds(lawnId: string): Promise<{ first: Date; last: Date } | null> {
  const where = { lawnId, deletedAt: null };
  // A date no calendar shows (a clock that was never set) must not stretch it.
  const shown = { gte: new Date('1990-01-01T00:00:00Z'), lt: new Date('2101-01-01T00:00:00Z') };
  const [spray, photo, event] = await Promise.all([
    diary().spray.aggregate({ where: { ...where, startedAt: shown }, _min: { startedAt: true }, _max: { startedAt: true } }),
    diary().photo.aggregate({ where: { ...where, takenAt: shown }, _min: { takenAt: true }, _max: { takenAt: true } }),
    diary().lawnEvent.aggregate({ where: { ...where, at: shown }, _min: { at: true }, _max: { at: true } }),
  ]);
  const times = [spray._min.startedAt, spray._max.startedAt, photo._min.takenAt, photo._max.takenAt, event._min.at, event._max.at].flatMap((at) => (at ? [at.getTime()] : []));
  return times.length === 0 ? null : { first: new Date(Math.min(...times)), last: new Date(Math.max(...times)) };
}
