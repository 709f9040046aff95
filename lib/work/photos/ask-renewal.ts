import 'server-only';
import { askWorkers, type Asked } from '@/lib/diary/asked-renewals';
import { workIsElsewhere } from '@/lib/diary/work-queue';
import { photoStates } from '@/lib/diary/worked-out';
import { isUnderWay, renewAround, renewLawn, renewUpload } from './worked-out';

/**
 * Sees to it that everything worked out of a lawn's photos comes up to date: in this process, or, where the settings
 * leave work to workers, by whichever of them is free.
 * @param firstId a photo to begin with
 */
export async function askRenewal(lawnId: string, firstId?: string): Promise<void> {
  if (!workIsElsewhere()) await renewLawn(lawnId, firstId);
  else await leaveToWorkers({ lawnId, what: 'lawn', photoId: firstId ?? null });
}

const leaveToWorkers = (asked: Asked): Promise<void> =>
  askWorkers(asked).catch((error: unknown) =>
    console.error(`swathbook: lawn ${asked.lawnId} could not be left to the workers`, error),
  );

/** What a worker does of what was asked for. */
export async function renewAsked({ lawnId, what, photoId }: Asked): Promise<number> {
  if (photoId === null || what === 'lawn') return renewLawn(lawnId, photoId ?? undefined);
  return what === 'upload' ? renewUpload(photoId) : renewAround(photoId);
}

/** The same for a photo that came in and for what it can have moved, nothing else. */
export async function askUploadRenewal(lawnId: string, photoId: string): Promise<void> {
  if (!workIsElsewhere()) await renewUpload(photoId);
  else await leaveToWorkers({ lawnId, what: 'upload', photoId });
}

/** The same for one photo that somebody looks at, with its viewpoint: nothing where it is being worked on. */
export async function askRenewalAround(lawnId: string, photoId: string): Promise<void> {
  if (workIsElsewhere()) await leaveToWorkers({ lawnId, what: 'viewpoint', photoId });
  else if (!isUnderWay(photoId)) await renewAround(photoId);
}

/** The same for the lawn a photo belongs to. */
export async function askRenewalOf(photoId: string): Promise<void> {
  const [state] = await photoStates([photoId]);
  if (state) await askRenewal(state.lawnId, photoId);
}
