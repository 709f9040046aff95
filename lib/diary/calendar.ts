import 'server-only';
import { Prisma } from '@prisma/client';
import { diary } from './client';
import { readRows } from './read-rows';
import { instant } from './sql';

/** What happened when in a span: one row an event, no more of it than a calendar shows. */
export interface CalendarEvents {
  sprays: { startedAt: Date; state: string }[];
  photos: { id: string; takenAt: Date; marked: boolean }[];
  events: { at: Date }[];
}

/**
 * Sprays, photos and other events from one instant up to, not including, another, oldest first, at most `limit` of
 * each; a photo with whether it has new marks.
 */
export async function calendarEvents(lawnId: string, from: Date, to: Date, limit = 5000): Promise<CalendarEvents> {
  const within = (column: string) =>
    Prisma.sql`"lawnId" = ${lawnId} AND "deletedAt" IS NULL AND ${Prisma.raw(column)} >= ${instant(from)} AND ${Prisma.raw(column)} < ${instant(to)} ORDER BY ${Prisma.raw(column)} ASC LIMIT ${limit}`;
  const list = <Cells>(columns: readonly string[], source: Prisma.Sql) =>
    readRows<Cells>(columns, Prisma.sql`(${source}) AS "shown"`);
  const [sprays, photos, marked, events] = await Promise.all([
    list<[string, string]>(
      ['"startedAt"', '"state"'],
      Prisma.sql`SELECT "startedAt", "state" FROM "Spray" WHERE ${within('"startedAt"')}`,
    ),
    list<[string, string]>(
      ['"id"', '"takenAt"'],
      Prisma.sql`SELECT "id", "takenAt" FROM "Photo" WHERE ${within('"takenAt"')}`,
    ),
    list<[string]>(
      ['"id"'],
      Prisma.sql`
      SELECT p."id" FROM (SELECT "id" FROM "Photo" WHERE ${within('"takenAt"')}) p WHERE EXISTS (SELECT 1 FROM "Mark" m WHERE m."photoId" = p."id" AND m."isNew" AND m."kind" <> 'other')`,
    ),
    list<[string]>(['"at"'], Prisma.sql`SELECT "at" FROM "LawnEvent" WHERE ${within('"at"')}`),
  ]);
  const hasMark = new Set(marked.map(([id]) => id));
  return {
    sprays: sprays.map(([startedAt, state]) => ({ startedAt: new Date(startedAt), state })),
    photos: photos.map(([id, takenAt]) => ({ id, takenAt: new Date(takenAt), marked: hasMark.has(id) })),
    events: events.map(([at]) => ({ at: new Date(at) })),
  };
}

/** When the lawn's first and last events were, or null in an empty diary: where a calendar opens and ends. */
export async function calendarBounds(lawnId: string): Promise<{ first: Date; last: Date } | null> {
  const where = { lawnId, deletedAt: null };
  // A date no calendar shows (a clock that was never set) must not stretch it.
  const shown = { gte: new Date('1990-01-01T00:00:00Z'), lt: new Date('2101-01-01T00:00:00Z') };
  // The first and the last by their index: no other is looked at.
  const ends = await Promise.all(
    (['asc', 'desc'] as const).flatMap((order) => [
      diary()
        .spray.findFirst({
          where: { ...where, startedAt: shown },
          orderBy: { startedAt: order },
          select: { startedAt: true },
        })
        .then((row) => row?.startedAt),
      diary()
        .photo.findFirst({
          where: { ...where, takenAt: shown },
          orderBy: { takenAt: order },
          select: { takenAt: true },
        })
        .then((row) => row?.takenAt),
      diary()
        .lawnEvent.findFirst({ where: { ...where, at: shown }, orderBy: { at: order }, select: { at: true } })
        .then((row) => row?.at),
    ]),
  );
  const times = ends.flatMap((at) => (at ? [at.getTime()] : []));
  return times.length === 0 ? null : { first: new Date(Math.min(...times)), last: new Date(Math.max(...times)) };
}
