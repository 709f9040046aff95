import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { lastPhotoOf, listViewpoints, type LastPhoto } from '@/lib/diary/viewpoints';
import { sunOver } from './photo-cautions';

export interface CaptureViewpoint {
  id: string;
  name: string;
  last: (LastPhoto & { sunElevationDeg: number | null }) | null;
}

/**
 * The places one photographs from, each with its newest photo to line up with; the one photographed last comes first.
 */
export async function captureViewpoints(
  lawn: Pick<Lawn, 'id' | 'latitudeDeg' | 'longitudeDeg'>,
): Promise<CaptureViewpoint[]> {
  const viewpoints = await listViewpoints(lawn.id);
  const found = await Promise.all(
    viewpoints.map(async ({ id, name }) => {
      const last = await lastPhotoOf(id);
      return {
        id,
        name,
        last: last && { ...last, sunElevationDeg: sunOver(lawn, last.takenAt)?.elevationDeg ?? null },
      };
    }),
  );
  return found.sort((a, b) => (b.last?.takenAt.getTime() ?? 0) - (a.last?.takenAt.getTime() ?? 0));
}
