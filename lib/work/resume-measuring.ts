import 'server-only';
import { clearOrphans } from '@/lib/darkroom/shelf';
import { knownPhotoHashes, waitingPhotoIds } from '@/lib/diary/photos';
import { dataFolder } from '@/lib/forms/environment';
import { renewPhoto } from './worked-out';

/**
 * Takes up what a stop cut short, before anything new comes in: clears files that no photo of the diary owns, and reads
 * photos that wait for it. No upload may be in progress. @returns how many of each
 */
export async function resumeMeasuring(now: Date): Promise<{ measured: number; cleared: number }> {
  const known = await knownPhotoHashes();
  const cleared = await clearOrphans(dataFolder(), (sha256) => known.has(sha256), now);
  const waiting = await waitingPhotoIds();
  for (const id of waiting) await renewPhoto(id).catch((error: unknown) => console.error(`swathbook: photo ${id} could not be measured`, error));
  return { measured: waiting.length, cleared: cleared.length };
}
