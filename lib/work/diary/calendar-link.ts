import 'server-only';
import { createHash, randomBytes } from 'node:crypto';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { readSetting, writeSetting } from '@/lib/diary/settings';

/** Fingerprints of the private calendar addresses, by lawn: one each, the address itself is shown once. */
const SETTING = 'calendar-links';

const hashOf = (token: string): string => createHash('sha256').update(token).digest('hex');

async function links(): Promise<Record<string, string>> {
  const kept = await readSetting(SETTING);
  return typeof kept === 'object' && kept !== null
    ? Object.fromEntries(Object.entries(kept).filter(([, hash]) => typeof hash === 'string'))
    : {};
}

/**
 * Makes the address under which a calendar may look up the lawn's days; an earlier one opens nothing any more.
 * @returns its token, 144 random bits
 */
export async function makeCalendarLink(lawnId: string): Promise<string> {
  const token = randomBytes(18).toString('base64url');
  await writeSetting(SETTING, { ...(await links()), [lawnId]: hashOf(token) });
  return token;
}

export async function revokeCalendarLink(lawnId: string): Promise<void> {
  const { [lawnId]: _gone, ...others } = await links();
  await writeSetting(SETTING, others);
}

export const hasCalendarLink = async (lawnId: string): Promise<boolean> => (await links())[lawnId] !== undefined;

/** The lawn whose days a token opens; null for one that is unknown, malformed or revoked. */
export async function lawnOfCalendarToken(token: string): Promise<Lawn | null> {
  if (!/^[\w-]{24}$/.test(token)) return null;
  const hash = hashOf(token);
  const lawnId = Object.entries(await links()).find(([, kept]) => kept === hash)?.[0];
  return lawnId === undefined ? null : findLawn(lawnId);
}
