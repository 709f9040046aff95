import 'server-only';
import { diary } from './client';

export interface ShareLink {
  id: string;
  createdAt: Date;
  revokedAt: Date | null;
}

/** Only the hash is kept: the token itself is shown once and cannot be read back. */
export async function addShareLink(trialId: string, tokenHash: string): Promise<void> {
  await diary().shareLink.create({ data: { trialId, tokenHash } });
}

export async function listShareLinks(trialId: string): Promise<ShareLink[]> {
  return diary().shareLink.findMany({
    where: { trialId },
    orderBy: { createdAt: 'desc' },
    select: { id: true, createdAt: true, revokedAt: true },
  });
}

export async function revokeShareLink(trialId: string, id: string, at: Date): Promise<void> {
  await diary().shareLink.updateMany({ where: { id, trialId, revokedAt: null }, data: { revokedAt: at } });
}

/** The trial a token opens, or null when it is unknown or revoked, or the trial is in the bin. */
export async function trialOfShareLink(tokenHash: string): Promise<string | null> {
  const row = await diary().shareLink.findFirst({
    where: { tokenHash, revokedAt: null, trial: { deletedAt: null } },
    select: { trialId: true },
  });
  return row?.trialId ?? null;
}
