import 'server-only';
import { listLandmarks } from '@/lib/diary/landmarks';
import { findPhoto } from '@/lib/diary/photos';
import type { Point } from '@/lib/photo/raster/pixels';

export interface ShownLandmark {
  id: string;
  name: string;
  from: { photoId: string; widthPx: number; heightPx: number; at: Point };
}

/**
 * The things a person named at a viewpoint, each with where a photo shows it: this one if it was found there, else
 * where it was named.
 */
export async function namedLandmarks(viewpointId: string, photoId: string): Promise<ShownLandmark[]> {
  const shown: ShownLandmark[] = [];
  for (const landmark of await listLandmarks(viewpointId)) {
    if (landmark.name === '') continue;
    const here = landmark.sightings.find((sighting) => sighting.photoId === photoId)?.at;
    const photo = await findPhoto(here ? photoId : landmark.photoId);
    if (photo)
      shown.push({
        id: landmark.id,
        name: landmark.name,
        from: { photoId: photo.id, widthPx: photo.widthPx, heightPx: photo.heightPx, at: here ?? landmark.at },
      });
  }
  return shown;
}
