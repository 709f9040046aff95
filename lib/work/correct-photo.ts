import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { findPhoto, movePhotoInTime, updatePhoto } from '@/lib/diary/photos';
import { viewpointNamed } from '@/lib/diary/viewpoints';
import { instantOfLocal, localOfInstant, offsetMinutesAt } from './lawn-time';

/** Corrects what a photo's file could not tell: when it was taken, from where. A new time moves its readings along; what rests on them is renewed by its fingerprint. */
export async function correctPhoto(photoId: string, facts: { viewpoint: string; takenLocal: string; note: string }): Promise<void> {
  const photo = await findPhoto(photoId);
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!photo || !lawn) return;
  const viewpoint = facts.viewpoint === '' ? null : await viewpointNamed(lawn.id, facts.viewpoint);
  await updatePhoto(photoId, { viewpointId: viewpoint?.id ?? null, note: facts.note });
  if (facts.takenLocal.slice(0, 16) === localOfInstant(photo.takenAt, lawn.timeZone)) return;
  const takenAt = instantOfLocal(facts.takenLocal, lawn.timeZone);
  await movePhotoInTime(photoId, takenAt, {
    takenAtOffsetMin: offsetMinutesAt(takenAt, lawn.timeZone),
    takenAtBasis: 'typed',
  });
}
