import 'server-only';
import { removeOrphans } from '@/lib/darkroom/shelf';
import { findPhotoBySha256, waitingPhotoIds } from '@/lib/diary/photos';
import { dataFolder } from '@/lib/forms/environment';
import { readPhoto } from './read-photo';

/** Takes up what a stop cut short: photos not yet measured, and half-written files older than an hour. @returns how many of each */
export async function resumeMeasuring(now: Date): Promise<{ measured: number; removed: number }> {
  const removed = await removeOrphans(dataFolder(), async (sha256) => (await findPhotoBySha256(sha256)) !== null, new Date(now.getTime() - 3_600_000));
  const waiting = await waitingPhotoIds();
  for (const id of waiting) await readPhoto(id).catch((error: unknown) => console.error(`swathbook: photo ${id} could not be measured`, error));
  return { measured: waiting.length, removed: removed.length };
}
