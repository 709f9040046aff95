import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { findPhoto, movePhotoInTime, updatePhoto } from '@/lib/diary/photos';
import { viewpointNamed } from '@/lib/diary/viewpoints';
import { instantOfLocal, localOfInstant, offsetMinutesAt } from './lawn-time';
import { notYet } from './not-yet';

/**
 * Corrects what a photo's file could not tell: when it was taken, from where. A new time moves its readings along; what rests on them is
 * renewed by its fingerprint. @returns why it was refused, or null
 */
export async function correctPhoto(photoId: string, facts: { viewpoint: string; takenLocal: string; note: string }, now: Date): Promise<string | null> {
  const photo = await findPhoto(photoId);
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!photo || !lawn) return 'Photo: expected one of this diary, got one that is not there any more';
  const same = facts.takenLocal.slice(0, 16) === localOfInstant(photo.takenAt, lawn.timeZone);
  const early = same ? null : notYet('Taken', facts.takenLocal, instantOfLocal(facts.takenLocal, lawn.timeZone), now);
  if (early) return early;
  const viewpoint = facts.viewpoint === '' ? null : await viewpointNamed(lawn.id, facts.viewpoint);
  await updatePhoto(photoId, { viewpointId: viewpoint?.id ?? null, note: facts.note });
  if (same) return null;
  const takenAt = instantOfLocal(facts.takenLocal, lawn.timeZone);
  await movePhotoInTime(photoId, takenAt, {
    takenAtOffsetMin: offsetMinutesAt(takenAt, lawn.timeZone),
    takenAtBasis: 'typed',
  });
  return null;
}
