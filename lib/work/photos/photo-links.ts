import 'server-only';
import { photosBetween, type PhotoShown } from '@/lib/diary/photos';
import { listPlotGrounds } from '@/lib/diary/plots';
import { lastDoneOn, listSprays, type Spray } from '@/lib/diary/sprays';
import { firstSprayOn } from '@/lib/diary/worked-out';
import { groundReached } from '@/lib/trial/plot-ground';
import { sharingGround } from './ground-of';

/**
 * Which sprays a photo follows, worked out by time whenever it is asked, so that it never matters what was written
 * first: for each plot it shows, and each that shares ground with one, the last spray done on that plot before it. A
 * photo without outlines may show any plot of the lawn.
 */
function followed<T extends Pick<Spray, 'startedAt' | 'plots'>>(
  photo: Pick<PhotoShown, 'takenAt' | 'plotIds'>,
  sprays: readonly T[],
  reached: (plotIds: readonly string[]) => readonly string[],
): T[] {
  const before = sprays.filter((spray) => spray.startedAt <= photo.takenAt);
  const plotIds =
    photo.plotIds.length > 0
      ? reached(photo.plotIds)
      : before.flatMap((spray) => spray.plots.map((covered) => covered.plotId));
  const last = new Set(
    [...new Set(plotIds)].flatMap(
      (plotId) => before.findLast((spray) => spray.plots.some((covered) => covered.plotId === plotId)) ?? [],
    ),
  );
  return before.filter((spray) => last.has(spray));
}

/**
 * As many sprays before a photo are looked through: plots that were sprayed longer ago are left to the plot's own page.
 */
const LOOK_THROUGH = 100;

const oldestFirst = (sprays: Spray[]): Spray[] =>
  sprays
    .filter((spray) => spray.state === 'done')
    .toSorted((a, b) => a.startedAt.getTime() - b.startedAt.getTime() || a.id.localeCompare(b.id));

/** The sprays a photo follows, oldest first. */
export async function spraysBefore(photo: Pick<PhotoShown, 'lawnId' | 'takenAt' | 'plotIds'>): Promise<Spray[]> {
  // A photo that says which plots it shows leads to their last sprays.
  if (photo.plotIds.length > 0) {
    const { known } = await sharingGround(photo.lawnId, photo.plotIds);
    return lastDoneOn(photo.lawnId, known, photo.takenAt, LOOK_THROUGH);
  }
  return followed(
    photo,
    oldestFirst(await listSprays(photo.lawnId, { before: new Date(photo.takenAt.getTime() + 1), limit: LOOK_THROUGH })),
    (plotIds) => plotIds,
  );
}

/** The photos that follow a spray, oldest first: those of which it is one of the sprays before. At most `limit`. */
export async function photosSince(spray: Spray, limit = 200): Promise<PhotoShown[]> {
  // Once every one of its plots was sprayed again, no later photo follows it.
  const again = await Promise.all(
    spray.plots.map((covered) => firstSprayOn(spray.lawnId, [covered.plotId], new Date(spray.startedAt.getTime() + 1))),
  );
  const until =
    again.length > 0 && again.every((at) => at !== null)
      ? new Date(Math.max(...again.map((at) => at!.getTime())))
      : null;
  const [photos, grounds] = await Promise.all([
    photosBetween(spray.lawnId, spray.startedAt, until, limit),
    listPlotGrounds(spray.lawnId),
  ]);
  const last = photos.at(-1);
  if (!last) return [];
  // Most photos of a lawn show the same plots.
  const known = new Map<string, readonly string[]>();
  const reached = (plotIds: readonly string[]): readonly string[] => {
    const key = plotIds.toSorted().join(' ');
    const found = known.get(key) ?? groundReached(plotIds, grounds).known;
    known.set(key, found);
    return found;
  };
  const later = oldestFirst(
    await listSprays(spray.lawnId, { after: spray.startedAt, before: new Date(last.takenAt.getTime() + 1) }),
  );
  const sprays = oldestFirst([...later.filter((other) => other.id !== spray.id), spray]);
  return photos.filter((photo) => followed(photo, sprays, reached).some((one) => one.id === spray.id));
}
