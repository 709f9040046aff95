import 'server-only';
import { listOutlines, type Outline } from '@/lib/diary/outlines';
import { findPhoto, listPhotos, type Photo } from '@/lib/diary/photos';
import { findViewpoint } from '@/lib/diary/viewpoints';
import { cssMatrix3d } from '@/lib/photo/raster/css-matrix';
import { homographyFrom4 } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';

/** How many photos before and after the later one are offered to choose from, beside the first and the last of all. */
const CHOICES = 60;

export interface BeforeAfter {
  lawnId: string;
  viewpointName: string;
  photos: Photo[];
  before: Photo | null;
  after: Photo | null;
  /** Lays the earlier photo onto the later by the plots' corners; null when they share no outlined plot. */
  matrix3d: string | null;
}

/** Two photos of a viewpoint to look at together; unless told, the first and the last. */
export async function beforeAfter(
  viewpointId: string,
  beforeId: string | undefined,
  afterId: string | undefined,
): Promise<BeforeAfter | null> {
  const viewpoint = await findViewpoint(viewpointId);
  if (!viewpoint) return null;
  const inView = { viewpointId };
  const [first] = await listPhotos(viewpoint.lawnId, { ...inView, limit: 1, oldestFirst: true });
  const [last] = await listPhotos(viewpoint.lawnId, { ...inView, limit: 1 });
  const after = (afterId ? await findPhoto(afterId) : null) ?? last ?? null;
  const around = after?.takenAt ?? new Date(0);
  const [earlier, later] = await Promise.all([
    listPhotos(viewpoint.lawnId, { ...inView, before: around, limit: CHOICES }),
    listPhotos(viewpoint.lawnId, { ...inView, after: around, limit: CHOICES, oldestFirst: true }),
  ]);
  const before =
    (beforeId ? await findPhoto(beforeId) : null) ??
    (afterId ? earlier[0] : earlier.length > 0 ? first : undefined) ??
    null;
  const choices = new Map(
    [first, before, ...earlier, after, ...later, last].flatMap((photo) => (photo ? [[photo.id, photo] as const] : [])),
  );
  const photos = [...choices.values()].sort((one, other) => one.takenAt.getTime() - other.takenAt.getTime());
  const matrix3d = before && after ? matrixBetween(await listOutlines(before.id), await listOutlines(after.id)) : null;
  return { lawnId: viewpoint.lawnId, viewpointName: viewpoint.name, photos, before, after, matrix3d };
}

function matrixBetween(before: Outline[], after: Outline[]): string | null {
  const shared = before
    .filter((outline) => outline.accepted && outline.corners.length === 4)
    .flatMap((outline) => {
      const other = after.find(
        (candidate) => candidate.plotId === outline.plotId && candidate.accepted && candidate.corners.length === 4,
      );
      return other ? [[outline.corners, other.corners] as const] : [];
    });
  if (shared.length === 0) return null;
  // The outermost corners of strips side by side hold the map over all of them.
  const centre = (corners: readonly Point[]) => corners.reduce((sum, [x]) => sum + x, 0) / corners.length;
  const ordered = [...shared].sort(([a], [b]) => centre(a) - centre(b));
  const left = ordered[0];
  const right = ordered.at(-1);
  if (!left || !right) return null;
  const outer = (side: 0 | 1): Point[] => [left[side][0], right[side][1], right[side][2], left[side][3]] as Point[];
  const map = homographyFrom4(outer(0), outer(1));
  return map ? cssMatrix3d(map) : null;
}
