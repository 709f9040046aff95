import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { correctPhotoFacts, findPhoto, type Photo } from '@/lib/diary/photos';
import { isPhotoDate } from '@/lib/photo/taken-at';
import { instantOfLocal, localOfInstant, offsetMinutesAt } from '../diary/lawn-time';
import { notYet } from '../diary/not-yet';
import { markAndItsPatch, marksOfPhotos } from './marks';

export type CorrectPhotoResult =
  | { readonly ok: true }
  | { readonly ok: false; readonly message: string; readonly errors: Readonly<Record<string, string>> };

/**
 * Corrects what a photo's file could not tell: when it was taken, from where. A new time moves its readings along, and
 * when the patches it shows were seen; what rests on them is renewed by its fingerprint. All of it is written, or
 * nothing.
 */
export async function correctPhoto(
  photoId: string,
  facts: { viewpoint: string; takenLocal: string; note: string },
  now: Date,
): Promise<CorrectPhotoResult> {
  const photo = await findPhoto(photoId);
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!photo || !lawn)
    return { ok: false, message: 'Photo: expected one of this diary, got one that is not there any more.', errors: {} };
  const stays = facts.takenLocal.slice(0, 16) === localOfInstant(photo.takenAt, lawn.timeZone);
  const takenAt = stays ? photo.takenAt : instantOfLocal(facts.takenLocal, lawn.timeZone);
  const wrong = stays
    ? null
    : isPhotoDate(takenAt, now)
      ? notYet('Taken', facts.takenLocal, takenAt, now)
      : `Taken: expected a date from 1990 on that has been, got '${facts.takenLocal}'`;
  if (wrong !== null) return { ok: false, message: wrong, errors: { takenLocal: wrong } };
  const moved = stays
    ? null
    : { takenAt, takenAtOffsetMin: offsetMinutesAt(takenAt, lawn.timeZone), takenAtBasis: 'typed' as const };
  const seen = moved ? await seenOtherwise(photo, takenAt) : [];
  await correctPhotoFacts(photo, { viewpointName: facts.viewpoint, note: facts.note, moved, seen });
  return { ok: true };
}

/**
 * A verdict belongs to a patch and to when it was seen, by all photos that show it: one that was taken at another time
 * takes the verdict along.
 */
async function seenOtherwise(
  photo: Pick<Photo, 'id' | 'lawnId'>,
  takenAt: Date,
): Promise<{ patchId: string; from: Date; to: Date }[]> {
  const marks = await marksOfPhotos(photo.lawnId, [photo.id]);
  return Promise.all(
    marks.map(async (mark) => {
      const { sightings } = (await markAndItsPatch(mark.id)) ?? { sightings: [] };
      const times = [
        takenAt.getTime(),
        ...sightings.filter((one) => one.photoId !== photo.id).map((one) => one.takenAt.getTime()),
      ];
      return { patchId: mark.patchId, from: new Date(Math.min(...times)), to: new Date(Math.max(...times)) };
    }),
  );
}
