import 'server-only';
import { listEvents, type EventRow } from '@/lib/diary/lawn-events';
import { listPhotos, type Photo } from '@/lib/diary/photos';
import { readingsOfPhotos } from '@/lib/diary/readings';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { changesIn, type AskChanges, type PlotChange } from '../photos/changes';
import { isNews, type Mark } from '../photos/marks';
import { viewsOf, type PlotView } from '../photos/plot-cuts';

export type TimelineEntry =
  | { kind: 'spray'; at: Date; spray: Spray }
  | { kind: 'event'; at: Date; event: EventRow }
  | {
      kind: 'photo';
      at: Date;
      photo: Photo;
      readings: { plotName: string; isCheck: boolean; dgci: number | null }[];
      changes: PlotChange[];
      marks: Mark[];
      /** Its plots beside the check. */ views: PlotView[];
      /** Its numbers are being worked out. */ pending: boolean;
    };

export interface TimelineFilter {
  show: 'all' | 'sprays' | 'photos' | 'events';
  plotId?: string;
  before?: Date;
}

/**
 * One page of the diary, newest first, and where the next begins (null at the end). All lists are read `limit` deep, no
 * deeper.
 */
export async function readTimeline(
  lawnId: string,
  filter: TimelineFilter,
  limit = 40,
  ask: AskChanges = (ids) => changesIn(lawnId, ids),
): Promise<{ entries: TimelineEntry[]; next: Date | null; pending: number }> {
  const options = {
    limit: limit + 1,
    ...(filter.before ? { before: filter.before } : {}),
    ...(filter.plotId ? { plotId: filter.plotId } : {}),
  };
  const wanted = (show: TimelineFilter['show']) => filter.show === 'all' || filter.show === show;
  const [sprays, photos, events] = await Promise.all([
    wanted('sprays') ? listSprays(lawnId, options) : [],
    wanted('photos') ? listPhotos(lawnId, options) : [],
    wanted('events')
      ? listEvents(lawnId, {
          limit: limit + 1,
          to: filter.before ?? null,
          ...(filter.plotId ? { plotIds: [filter.plotId] } : {}),
        })
      : [],
  ]);
  const merged = [
    ...sprays.map((spray) => ({ kind: 'spray' as const, at: spray.startedAt, spray })),
    ...events.map((event) => ({ kind: 'event' as const, at: event.at, event })),
    ...photos.map((photo) => ({ kind: 'photo' as const, at: photo.takenAt, photo })),
  ].sort((a, b) => b.at.getTime() - a.at.getTime());
  const page = merged.slice(0, limit);
  const photoIds = page.flatMap((entry) => (entry.kind === 'photo' ? [entry.photo.id] : []));
  const [readings, known] = await Promise.all([readingsOfPhotos(photoIds), ask(photoIds)]);
  const { changes, pending, marks } = known;
  const news = marks.filter(isNews);
  const of = <T extends { photoId: string }>(rows: readonly T[], photoId: string): T[] =>
    pending.has(photoId) ? [] : rows.filter((row) => row.photoId === photoId);
  return {
    entries: page.map((entry) =>
      entry.kind === 'photo'
        ? {
            ...entry,
            readings: pending.has(entry.photo.id) ? [] : (readings.get(entry.photo.id) ?? []),
            changes: of(changes, entry.photo.id),
            marks: of(news, entry.photo.id),
            views: viewsOf(entry.photo.id, known, of(news, entry.photo.id)),
            pending: pending.has(entry.photo.id),
          }
        : entry,
    ),
    pending: pending.size,
    next: merged.length > limit ? (page.at(-1)?.at ?? null) : null,
  };
}
