import 'server-only';
import { discardPrints } from '@/lib/darkroom/prints';
import { discardPhoto } from '@/lib/darkroom/originals';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { removeBinnedPhoto, type BinKind } from '@/lib/diary/bin';
import { lawnOfEntry } from '@/lib/diary/lawn-of';
import { dataFolder } from '@/lib/forms/environment';
import type { Right } from '@/lib/visit';
import type { Asked } from '../people/rights';

/**
 * Deletes a photo that is in the bin for good: its row first, then its prints and its file, so that a stop in between
 * leaves at most a file that the clean-up finds, never a row without one.
 * @returns false when there is no such photo in the bin
 */
export async function deletePhotoForGood(id: string): Promise<boolean> {
  const photo = await removeBinnedPhoto(id);
  if (!photo) return false;
  await discardPrints(dataFolder(), photo.sha256);
  await discardPhoto(dataFolder(), photo.sha256, photo.kind as PhotoKind);
  return true;
}

/**
 * The right that putting an entry back asks: that of moving it to the bin. One that was deleted for good is of no lawn
 * any more: then it is that right on some lawn, and there is nothing to put back.
 */
export async function rightToPutBack(kind: BinKind, id: string): Promise<[Right, Asked]> {
  if (kind === 'product') return ['keeps', 'some-lawn'];
  const right = kind === 'plot' || kind === 'trial' ? 'keeps' : 'works';
  return [right, (await lawnOfEntry[kind](id)) === null ? 'some-lawn' : { [kind]: id }];
}
