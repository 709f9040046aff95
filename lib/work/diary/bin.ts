import 'server-only';
import { discardPrints } from '@/lib/darkroom/prints';
import { discardPhoto } from '@/lib/darkroom/originals';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { removeBinnedPhoto } from '@/lib/diary/bin';
import { dataFolder } from '@/lib/forms/environment';

/**
 * Deletes a photo that is in the bin for good: its row first, then its prints and its file, so that a stop in between
 * leaves at most a file that the clean-up finds, never a row without one.
 * @returns false when there is no such photo in the bin
 */
export async function deletePhotoForGood(id: string): Promise<boolean> {
  const photo = await removeBinnedPhoto(id);
  if (!photo) return false;
  await discardPrints(dataFolder(), photo.sha256);
  await discardPhoto(dataFolder(), photo.sha256, photo.kind as PhotoKind);
  return true;
}
