import 'server-only';
import { keepSighting, listLandmarks, nameLandmark } from '@/lib/diary/landmarks';
import { findPhoto } from '@/lib/diary/photos';
import type { SightingEntry } from '@/lib/forms/landmark-form';

/**
 * Keeps what a person found in a photo when asked, so that it is never asked again; a striking point found becomes a
 * landmark.
 */
export async function keepSightings(photoId: string, entries: readonly SightingEntry[]): Promise<void> {
  const photo = await findPhoto(photoId);
  if (!photo?.viewpointId || entries.length === 0) return;
  const known = new Set((await listLandmarks(photo.viewpointId)).map((landmark) => landmark.id));
  for (const { landmarkId, from, at } of entries) {
    if (landmarkId) {
      if (known.has(landmarkId)) await keepSighting(landmarkId, photo.id, at);
      continue;
    }
    const shows = at ? await findPhoto(from.photoId) : null;
    if (at && shows?.viewpointId === photo.viewpointId)
      await keepSighting(
        await nameLandmark(photo.viewpointId, { name: '', photoId: shows.id, at: from.at }),
        photo.id,
        at,
      );
  }
}

/** Points out a thing that lasts, on a photo of a viewpoint. */
export async function pointOut(
  photoId: string,
  thing: { name: string; at: readonly [number, number] },
): Promise<{ ok: true } | { ok: false; message: string }> {
  const photo = await findPhoto(photoId);
  if (!photo) return { ok: false, message: 'Photo: expected one of this diary, got one that is not there any more.' };
  if (!photo.viewpointId)
    return {
      ok: false,
      message:
        'Viewpoint: expected the photo to have one, got none. Name it below, so that later photos can be lined up by this thing.',
    };
  const [x, y] = thing.at;
  if (x < -0.5 || y < -0.5 || x > photo.widthPx - 0.5 || y > photo.heightPx - 0.5)
    return { ok: false, message: 'Place: expected one inside the photo, got one outside it.' };
  await nameLandmark(photo.viewpointId, { name: thing.name, photoId, at: thing.at });
  return { ok: true };
}
