import 'server-only';
import { createReadStream } from 'node:fs';
import { rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { BucketTrouble, onShelf, unshelve } from '@/lib/darkroom/bucket';
import { putInStore, readFromStore, STORE_FOLDERS } from '@/lib/darkroom/store-files';
import { archiveMadeAt, discardArchive, listArchives, type KeptArchive } from './keep-archive';
import { filesLieInStore } from './shared-files';

const keyOf = (name: string): string => `${STORE_FOLDERS.archives}${name}`;

type Listed = Omit<KeptArchive, 'path'> & { readonly path: string | null };

/**
 * Archives that whoever is asked can give: those of its data folder and those in the store, newest first; `trouble`: in a
 * sentence, why those in the store are not among them.
 */
export async function allArchives(): Promise<{ archives: Listed[]; trouble: string | null }> {
  const archives: Listed[] = await listArchives();
  let trouble: string | null = null;
  try {
    if (filesLieInStore())
      for await (const { key, bytes } of onShelf(STORE_FOLDERS.archives)) {
        const name = key.slice(STORE_FOLDERS.archives.length);
        const madeAt = archiveMadeAt(name);
        if (madeAt !== null && archives.every((archive) => archive.name !== name))
          archives.push({ name, path: null, bytes, madeAt });
      }
  } catch (error) {
    if (!(error instanceof BucketTrouble)) throw error;
    trouble = `${error.message} Archives that lie there are not shown.`;
  }
  return { archives: archives.sort((a, b) => b.name.localeCompare(a.name)), trouble };
}

/** Puts an archive where every process can give it. One of the same name is replaced. */
export async function shareArchive(archive: KeptArchive, onProgress: (doneBytes: number) => void): Promise<void> {
  if (!filesLieInStore()) return;
  await putInStore(keyOf(archive.name), archive.path, { onProgress });
  await rm(archive.path, { force: true });
}

/** A kept archive's bytes, in full or from `from` to `to` inclusive; null when there is none of that name. */
export async function archiveBytes(
  name: string,
): Promise<{ bytes: number; stream: (from: number, to: number) => Promise<ReadableStream<Uint8Array> | null> } | null> {
  const found = (await allArchives()).archives.find((archive) => archive.name === name);
  if (!found) return null;
  const { path, bytes } = found;
  return {
    bytes,
    stream: async (from, to) =>
      path === null
        ? readFromStore(keyOf(name), { from, to })
        : (Readable.toWeb(createReadStream(path, { start: from, end: to })) as ReadableStream<Uint8Array>),
  };
}

/** Removes one kept archive, wherever it lies. Gone already is fine. */
export async function removeKeptArchive(name: string): Promise<void> {
  if (archiveMadeAt(name) === null) return;
  await discardArchive(name);
  if (filesLieInStore()) await unshelve(keyOf(name));
}
