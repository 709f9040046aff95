import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { correctPhotoFacts, findPhoto } from '@/lib/diary/photos';
import { isPhotoDate } from '@/lib/photo/taken-at';
import { instantOfLocal, localOfInstant, offsetMinutesAt } from '../diary/lawn-time';

export type CorrectPhotoResult =
  | { readonly ok: true }
  | { readonly ok: false; readonly message: string; readonly errors: Readonly<Record<string, string>> };

/**
 * Corrects what a photo's file could not tell: when it was taken, from where. A new time moves its readings along; what
 * rests on them is renewed by its fingerprint. All of it is written, or nothing.
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
  if (!stays && !isPhotoDate(takenAt, now)) {
    const message = `Taken: expected a date from 1990 to tomorrow, got '${facts.takenLocal}'`;
    return { ok: false, message, errors: { takenLocal: message } };
  }
  const moved = stays
    ? null
    : { takenAt, takenAtOffsetMin: offsetMinutesAt(takenAt, lawn.timeZone), takenAtBasis: 'typed' as const };
  await correctPhotoFacts(photo, { viewpointName: facts.viewpoint, note: facts.note, moved });
  return { ok: true };
}
