import 'server-only';
import { findPhoto, neighbours } from '@/lib/diary/photos';
import { listOutlines } from '@/lib/diary/outlines';

const isOutlined = async (photoId: string): Promise<boolean> =>
  (await listOutlines(photoId)).some((outline) => outline.accepted);

/**
 * Where a photo leads once its plots are outlined: to its comparison with the one before, or to the next of its
 * viewpoint that still lacks outlines.
 */
export async function afterOutlining(photoId: string): Promise<{ href: string; label: string } | null> {
  const photo = await findPhoto(photoId);
  if (!photo?.viewpointId) return null;
  const { earlier, later } = await neighbours(photo.viewpointId, photo.takenAt);
  if (later && !(await isOutlined(later))) return { href: `/photos/${later}`, label: 'Outline the next photo' };
  if (earlier && (await isOutlined(earlier)))
    return { href: `/compare?viewpoint=${photo.viewpointId}&after=${photo.id}`, label: 'See it before and after' };
  if (later)
    return {
      href: `/compare?viewpoint=${photo.viewpointId}&before=${photo.id}&after=${later}`,
      label: 'See it before and after',
    };
  return earlier ? { href: `/photos/${earlier}`, label: 'Outline the photo before' } : null;
}
