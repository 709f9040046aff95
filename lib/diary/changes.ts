import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';
import { holdPhoto } from './hold-photo';
import { inParts } from './in-parts';

export type ChangeInput = Omit<Prisma.ChangeUncheckedCreateInput, 'id' | 'photoId' | 'createdAt'>;
export type Change = Omit<Prisma.ChangeGetPayload<object>, 'createdAt'>;

/** Puts a photo's changes against its baseline in place of the earlier ones. */
export async function replaceChanges(photoId: string, changes: readonly ChangeInput[]): Promise<void> {
  await diary().$transaction([
    holdPhoto(photoId),
    diary().change.deleteMany({ where: { photoId } }),
    ...changes.map((change) => diary().change.create({ data: { photoId, ...change } })),
  ]);
}

export async function changesOfPhotos(photoIds: readonly string[]): Promise<Change[]> {
  return inParts(photoIds, (part) => diary().change.findMany({ where: { photoId: { in: part } } }));
}
