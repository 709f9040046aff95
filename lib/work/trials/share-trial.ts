import 'server-only';
import { createHash, randomBytes } from 'node:crypto';
import { addShareLink, trialOfShareLink } from '@/lib/diary/share-links';

const hashOf = (token: string): string => createHash('sha256').update(token).digest('hex');

/**
 * Makes a read-only link to a trial's report. The token (144 random bits) is given once; the diary keeps its hash only.
 */
export async function shareTrial(trialId: string): Promise<string> {
  const token = randomBytes(18).toString('base64url');
  await addShareLink(trialId, hashOf(token));
  return token;
}

/** The trial a token opens; null for a token that is unknown, malformed or revoked. */
export async function sharedTrialId(token: string): Promise<string | null> {
  return /^[\w-]{24}$/.test(token) ? trialOfShareLink(hashOf(token)) : null;
}
