import 'server-only';
import { diary } from './client';

/** The sessions of those who signed in: a cookie is worth something as long as its row is here. Only its hash is kept. */
export async function addDoorSession(hash: string, now: Date, endsAt: Date): Promise<void> {
  await diary().doorSession.deleteMany({ where: { endsAt: { lte: now } } });
  await diary().doorSession.create({ data: { hash, createdAt: now, endsAt } });
}

export async function hasDoorSession(hash: string, now: Date): Promise<boolean> {
  return (await diary().doorSession.count({ where: { hash, endsAt: { gt: now } } })) > 0;
}

export async function endDoorSession(hash: string): Promise<void> {
  await diary().doorSession.deleteMany({ where: { hash } });
}

export async function endAllDoorSessions(): Promise<void> {
  await diary().doorSession.deleteMany();
}
