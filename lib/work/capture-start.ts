import 'server-only';
import { lastPhotoOf, listViewpoints, type LastPhoto } from '@/lib/diary/viewpoints';

export interface CaptureViewpoint {
  id: string;
  name: string;
  last: LastPhoto | null;
}

/** The places one photographs from, each with its newest photo to line up with; the one photographed last comes first. */
export async function captureViewpoints(lawnId: string): Promise<CaptureViewpoint[]> {
  const viewpoints = await listViewpoints(lawnId);
  const found = await Promise.all(viewpoints.map(async ({ id, name }) => ({ id, name, last: await lastPhotoOf(id) })));
  return found.sort((a, b) => (b.last?.takenAt.getTime() ?? 0) - (a.last?.takenAt.getTime() ?? 0));
}
