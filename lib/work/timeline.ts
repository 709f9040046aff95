import 'server-only';
import { openMarksOfPhotos, type Mark } from '@/lib/diary/marks';
import { listPhotos, type Photo } from '@/lib/diary/photos';
import { readingsOfPhotos } from '@/lib/diary/readings';
import { listSprays, type Spray } from '@/lib/diary/sprays';

export type TimelineEntry =
  | { kind: 'spray'; at: Date; spray: Spray }
  | { kind: 'photo'; at: Date; photo: Photo; readings: { plotName: string; isCheck: boolean; dgci: number | null }[]; marks: Mark[] };

export interface TimelineFilter {
  show: 'all' | 'sprays' | 'photos';
  plotId?: string;
  before?: Date;
}

/** One page of the diary, newest first, and where the next begins (null at the end). Both lists are read `limit` deep, no deeper. */
export async function readTimeline(lawnId: string, filter: TimelineFilter, limit = 40): Promise<{ entries: TimelineEntry[]; next: Date | null }> {
  const options = { limit: limit + 1, ...(filter.before ? { before: filter.before } : {}), ...(filter.plotId ? { plotId: filter.plotId } : {}) };
  const [sprays, photos] = await Promise.all([
    filter.show === 'photos' ? [] : listSprays(lawnId, options),
    filter.show === 'sprays' ? [] : listPhotos(lawnId, options),
  ]);
  const merged = [
    ...sprays.map((spray) => ({ kind: 'spray' as const, at: spray.startedAt, spray })),
    ...photos.map((photo) => ({ kind: 'photo' as const, at: photo.takenAt, photo })),
  ].sort((a, b) => b.at.getTime() - a.at.getTime());
  const page = merged.slice(0, limit);
  const photoIds = page.flatMap((entry) => (entry.kind === 'photo' ? [entry.photo.id] : []));
  const [readings, marks] = await Promise.all([readingsOfPhotos(photoIds), openMarksOfPhotos(photoIds)]);
  return {
    entries: page.map((entry) => (entry.kind === 'photo' ? { ...entry, readings: readings.get(entry.photo.id) ?? [], marks: marks.filter((mark) => mark.photoId === entry.photo.id) } : entry)),
    next: merged.length > limit ? (page.at(-1)?.at ?? null) : null,
  };
}
