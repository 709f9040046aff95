import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { listEvents } from '@/lib/diary/lawn-events';
import { wetHoursBetween } from '@/lib/diary/photo-facts';
import { listPlotGrounds } from '@/lib/diary/plots';
import { lastOf } from '@/lib/trial/lawn-event';
import { groundReached } from '@/lib/trial/plot-ground';

/** What the diary's events and weather hours say of the grass at the moment of a photo. */
export interface MomentOfGrass {
  /** Hours since rain or irrigation ended or was written down, within the day before; null when none is known. */
  readonly hoursSinceWater: number | null;
  /** When it was last mown after the baseline photo, or null when no mowing since is written down. */
  readonly mownSince: Date | null;
}

/** A photo as far as the grass under it goes: the plots it shows, and when the photo it is compared with was taken. */
export interface GrassInPhoto {
  readonly plotIds: readonly string[];
  readonly takenAt: Date;
  readonly baselineAt: Date | null;
}

/** The same for many photos of a lawn at once, in their order: events and hours are read but once. */
export async function momentsOfGrass(lawnId: string, photos: readonly GrassInPhoto[]): Promise<MomentOfGrass[]> {
  if (photos.length === 0) return [];
  const dayBefore = (photo: GrassInPhoto) => new Date(photo.takenAt.getTime() - DAY_MS);
  const first = new Date(Math.min(...photos.map((photo) => dayBefore(photo).getTime())));
  const last = new Date(Math.max(...photos.map((photo) => photo.takenAt.getTime())));
  const [wet, newestFirst, grounds] = await Promise.all([
    wetHoursBetween(lawnId, new Date(Math.min(...photos.map((photo) => dayBefore(photo).getTime()))), last),
    listEvents(lawnId, { from: first, to: last, kinds: ['mowing', 'watering', 'rain'] }),
    listPlotGrounds(lawnId),
  ]);
  const events = newestFirst.toReversed();
  const reached = new Map<string, readonly string[]>();
  const earlier = new Map<string, Promise<Date | null>>();
  return Promise.all(
    photos.map(async (photo) => {
      const { plotIds, takenAt, baselineAt } = photo;
      const key = plotIds.join(' ');
      const here = reached.get(key) ?? groundReached(plotIds, grounds).known;
      reached.set(key, here);
      const lastWet = wet.findLast((hour) => hour >= dayBefore(photo) && hour < takenAt);
      const since = [
        ...(lastWet ? [Math.max(0, (takenAt.getTime() - lastWet.getTime()) / HOUR_MS - 1)] : []),
        ...(['watering', 'rain'] as const).flatMap((kind) => {
          const event = lastOf(kind, events, here, dayBefore(photo), takenAt);
          return event === null ? [] : [(takenAt.getTime() - event.at.getTime()) / HOUR_MS];
        }),
      ];
      let mown = baselineAt === null ? null : (lastOf('mowing', events, here, baselineAt, takenAt)?.at ?? null);
      if (baselineAt !== null && mown === null && baselineAt < first) {
        // None since the photos looked at here began: the last one before them is the same for all that show these plots.
        const asked = `${key} ${baselineAt.getTime()}`;
        const before = earlier.get(asked) ?? lastMowing(lawnId, here, baselineAt, first);
        earlier.set(asked, before);
        mown = await before;
      }
      return { hoursSinceWater: since.length === 0 ? null : Math.min(...since), mownSince: mown };
    }),
  );
}

/** Mowings looked at together when the last one on some plots is looked for. */
const LOOK_BACK = 20;

/**
 * The last mowing on some plots from one instant on and before another: a few at a time, newest first, since it is
 * rarely far back.
 */
async function lastMowing(lawnId: string, plotIds: readonly string[], from: Date, before: Date): Promise<Date | null> {
  for (let to = before; ;) {
    const part = await listEvents(lawnId, { from, to, kinds: ['mowing'], limit: LOOK_BACK });
    const last = lastOf('mowing', part, plotIds, from, before);
    if (last || part.length < LOOK_BACK) return last?.at ?? null;
    // What was written down for the same instant as the last of these is looked at once more.
    const oldest = part.at(-1)!.at;
    if (oldest.getTime() + 1 >= to.getTime())
      return (
        lastOf('mowing', await listEvents(lawnId, { from, to, kinds: ['mowing'] }), plotIds, from, before)?.at ?? null
      );
    to = new Date(oldest.getTime() + 1);
  }
}
