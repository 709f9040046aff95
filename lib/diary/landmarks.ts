import 'server-only';
import type { Point } from '@/lib/photo/raster/pixels';
import { diary } from './client';

/** A thing on the ground that lasts: where it was pointed out, and where else a person found it. */
export interface Landmark {
  id: string;
  /** Empty for a striking point that was offered and found again. */
  name: string;
  photoId: string;
  at: Point;
  sightings: { photoId: string; at: Point | null }[];
}

/** The landmarks of a viewpoint, oldest first; photos in the bin show none. */
export async function listLandmarks(viewpointId: string): Promise<Landmark[]> {
  const rows = await diary().landmark.findMany({
    where: { viewpointId, deletedAt: null, photo: { deletedAt: null } },
    orderBy: { createdAt: 'asc' },
    include: { sightings: { where: { photo: { deletedAt: null } }, orderBy: { createdAt: 'asc' } } },
  });
  return rows.map((row) => ({
    id: row.id,
    name: row.name,
    photoId: row.photoId,
    at: [row.xPx, row.yPx],
    sightings: row.sightings.map(({ photoId, xPx, yPx }) => ({
      photoId,
      at: xPx === null || yPx === null ? null : [xPx, yPx],
    })),
  }));
}

export async function nameLandmark(
  viewpointId: string,
  landmark: { name: string; photoId: string; at: Point },
): Promise<string> {
  const { name, photoId, at } = landmark;
  return (
    await diary().landmark.create({
      data: { viewpointId, name, photoId, xPx: at[0], yPx: at[1] },
      select: { id: true },
    })
  ).id;
}

export async function removeLandmark(viewpointId: string, id: string, at: Date): Promise<void> {
  await diary().landmark.updateMany({ where: { id, viewpointId }, data: { deletedAt: at } });
}

/** Keeps where a landmark is in a photo, or that it is not in it. */
export async function keepSighting(landmarkId: string, photoId: string, at: Point | null): Promise<void> {
  const place = { xPx: at?.[0] ?? null, yPx: at?.[1] ?? null };
  await diary().landmarkSighting.upsert({
    where: { landmarkId_photoId: { landmarkId, photoId } },
    create: { landmarkId, photoId, ...place },
    update: place,
  });
}

/** The viewpoint's outlined photo nearest in time: an earlier one if there is any. Null when none is outlined. */
export async function nearestOutlinedPhotoId(
  viewpointId: string,
  takenAt: Date,
  exceptId: string,
): Promise<string | null> {
  const outlined = {
    viewpointId,
    deletedAt: null,
    id: { not: exceptId },
    outlines: { some: { accepted: true, plot: { deletedAt: null } } },
  };
  const earlier = await diary().photo.findFirst({
    where: { ...outlined, takenAt: { lte: takenAt } },
    orderBy: { takenAt: 'desc' },
    select: { id: true },
  });
  if (earlier) return earlier.id;
  return (
    (
      await diary().photo.findFirst({
        where: { ...outlined, takenAt: { gt: takenAt } },
        orderBy: { takenAt: 'asc' },
        select: { id: true },
      })
    )?.id ?? null
  );
}
