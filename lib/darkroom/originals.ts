import 'server-only';
import { rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { fetchFromShelf, hasBucket, isShelved, shelve, unshelve } from './bucket';
import { photoPath } from './shelf';
import { KIND_FACTS, type PhotoKind } from './sniff';

export interface Original {
  readonly sha256: string;
  readonly kind: PhotoKind;
}

/** A photo's name in the store: the same as under photos/ in the data folder. */
const shelfKey = ({ sha256, kind }: Original): string =>
  `${sha256.slice(0, 2)}/${sha256}.${KIND_FACTS[kind].extension}`;

const onTheWay = new Map<string, Promise<void>>();

/**
 * Where a photo's own bytes lie on this machine. With a store, the data folder keeps only copies at hand: one that is
 * missing is brought first, whole and with its hash. A photo that is nowhere has its path all the same; whoever opens
 * it says so.
 */
export async function originalOf(dataFolder: string, photo: Original): Promise<string> {
  const file = photoPath(dataFolder, photo.sha256, photo.kind);
  if (!hasBucket()) return file;
  if (
    await stat(file).then(
      (found) => found.isFile(),
      () => false,
    )
  )
    return file;
  let bringing = onTheWay.get(file);
  if (bringing === undefined) {
    bringing = fetchFromShelf(shelfKey(photo), file, photo.sha256)
      .then(() => undefined)
      .finally(() => onTheWay.delete(file));
    onTheWay.set(file, bringing);
  }
  await bringing;
  return file;
}

/** Sees to it that a photo that lies in the data folder lies in the store as well, where there is one. */
export async function keepOriginal(dataFolder: string, photo: Original): Promise<void> {
  if (!hasBucket()) return;
  const file = photoPath(dataFolder, photo.sha256, photo.kind);
  const { size } = await stat(file);
  if (!(await isShelved(shelfKey(photo), size))) await shelve(shelfKey(photo), file, photo.sha256);
}

/** Removes a stored photo, from the folder and then from the store. Gone already is fine. */
export async function discardPhoto(dataFolder: string, sha256: string, kind: PhotoKind): Promise<void> {
  await rm(photoPath(dataFolder, sha256, kind), { force: true });
  if (hasBucket()) await unshelve(shelfKey({ sha256, kind }));
}

/** The hash in a key of the store, or null where the key is none of ours. */
export const hashInKey = (key: string): string | null =>
  /^([0-9a-f]{2})\/(\1[0-9a-f]{62})\.\w+$/.exec(key)?.[2] ?? null;

/** A kept file as one of ours, by its path. */
export function originalAt(file: string): Original | null {
  const [, sha256, extension] = /^([0-9a-f]{64})\.(\w+)$/.exec(path.basename(file)) ?? [];
  const kind = (Object.keys(KIND_FACTS) as PhotoKind[]).find((one) => KIND_FACTS[one].extension === extension);
  return sha256 === undefined || kind === undefined ? null : { sha256, kind };
}
