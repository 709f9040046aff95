import 'server-only';
import { diary } from './client';

/**
 * The sessions of those who signed in: a cookie is worth something as long as its row is here. Only its hash is kept.
 */
export async function addDoorSession(
  hash: string,
  now: Date,
  endsAt: Date,
  personId: string | null = null,
): Promise<void> {
  await diary().doorSession.deleteMany({ where: { endsAt: { lte: now } } });
  await diary().doorSession.create({ data: { hash, createdAt: now, endsAt, personId } });
}

/** Whether somebody who signed in without a name has this session. */
export async function hasDoorSession(hash: string, now: Date): Promise<boolean> {
  return (await diary().doorSession.count({ where: { hash, endsAt: { gt: now }, personId: null } })) > 0;
}

export async function endDoorSession(hash: string): Promise<void> {
  await diary().doorSession.deleteMany({ where: { hash } });
}

/** Ends every session, or every one of a person. */
export async function endAllDoorSessions(personId?: string): Promise<void> {
  await diary().doorSession.deleteMany({ where: personId === undefined ? {} : { personId } });
}
