import 'server-only';
import { findTrial, updateTrialFacts } from '@/lib/diary/trials';
import type { TrialFacts } from '@/lib/forms/trial-form';

/**
 * Changes what a trial is called, asks and when it begins; its layout, sprays and photos stay.
 * @returns false when there is no such trial
 */
export async function changeTrial(trialId: string, facts: TrialFacts): Promise<boolean> {
  if ((await findTrial(trialId)) === null) return false;
  await updateTrialFacts(trialId, facts);
  return true;
}
