import 'server-only';
import { clearOrphans } from '@/lib/darkroom/shelf';
import { knownPhotoHashes, waitingPhotos } from '@/lib/diary/photos';
import { workIsElsewhere } from '@/lib/diary/work-queue';
import { dataFolder } from '@/lib/forms/environment';
import { askRenewalOf } from './ask-renewal';
import { renewLawn, renewPhoto } from './worked-out';

/** Sets aside files that no photo of the diary owns. No upload may be in progress. @returns how many */
export async function clearStopped(now: Date): Promise<number> {
  const known = await knownPhotoHashes();
  return (await clearOrphans(dataFolder(), (sha256) => known.has(sha256), now)).length;
}

/**
 * Takes up what a stop cut short, while pages are served: reads photos that wait for it, newest first, since that is
 * the one somebody wants to see; then what rests on them, in its own order.
 * @returns how many photos waited
 */
export async function resumeMeasuring(): Promise<number> {
  const waiting = await waitingPhotos();
  if (workIsElsewhere()) {
    for (const { id } of waiting) await askRenewalOf(id);
    return waiting.length;
  }
  for (const { id } of waiting)
    await renewPhoto(id).catch((error: unknown) =>
      console.error(`swathbook: photo ${id} could not be measured`, error),
    );
  for (const lawnId of new Set(waiting.map((photo) => photo.lawnId))) await renewLawn(lawnId);
  return waiting.length;
}
