import 'server-only';
import { sendRenewal, workIsElsewhere } from '@/lib/diary/work-queue';
import { photoStates } from '@/lib/diary/worked-out';
import { renewLawn } from './worked-out';

/**
 * Sees to it that everything worked out of a lawn's photos comes up to date: in this process, or, where the settings leave work to
 * workers, by whichever of them is free.
 * @param firstId a photo to begin with
 */
export async function askRenewal(lawnId: string, firstId?: string): Promise<void> {
  if (!workIsElsewhere()) await renewLawn(lawnId, firstId);
  else await sendRenewal({ lawnId, photoId: firstId ?? null }).catch((error: unknown) => console.error(`swathbook: lawn ${lawnId} could not be left to the workers`, error));
}

/** The same for the lawn a photo belongs to. */
export async function askRenewalOf(photoId: string): Promise<void> {
  const [state] = await photoStates([photoId]);
  if (state) await askRenewal(state.lawnId, photoId);
}
