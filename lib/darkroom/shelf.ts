import 'server-only';
import { createHash, randomUUID } from 'node:crypto';
import { constants } from 'node:fs';
import { access, mkdir, open, readdir, rename, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { inspectPhoto, type FileFacts } from './decode';
import { PhotoRefused } from './refused';
import { KIND_FACTS, type PhotoKind } from './sniff';

/** A photo larger than this is refused while it comes in: 100 MB, several times what phones write. */
export const MAX_PHOTO_BYTES = 100_000_000;

export interface StoredPhoto extends FileFacts {
  /** SHA-256 of the file's bytes in hex: the photo's name on the shelf. */
  readonly sha256: string;
  /** True when the same bytes lay there already. */
  readonly existed: boolean;
  readonly path: string;
}

export interface StoreOptions {
  readonly maxBytes?: number;
  /** A last look at the whole file (decoding it, say) before it counts as stored; throwing leaves nothing behind. */
  readonly verify?: (temporaryPath: string, facts: FileFacts, sha256: string) => Promise<void>;
}

/**
 * The shelf itself can't keep a photo: the disk is full, or the folder isn't ours to write. Says so in one sentence.
 */
export class ShelfTrouble extends Error {
  override readonly name = 'ShelfTrouble';
  readonly code: 'disk-full' | 'not-writable' | 'other';

  constructor(code: ShelfTrouble['code'], sentence: string, options?: ErrorOptions) {
    super(sentence, options);
    this.code = code;
  }
}

/**
 * Where a stored photo lies under the data folder.
 * @throws RangeError for a name that is no hash, so that no path can be made up
 */
export function photoPath(dataFolder: string, sha256: string, kind: PhotoKind): string {
  expectHash(sha256);
  return path.join(dataFolder, 'photos', sha256.slice(0, 2), `${sha256}.${KIND_FACTS[kind].extension}`);
}

export function expectHash(sha256: string): void {
  if (!/^[0-9a-f]{64}$/.test(sha256))
    throw new RangeError(`sha256: expected 64 hex digits, got '${sha256.slice(0, 80)}'`);
}

/**
 * Takes one photo in: its bytes go to a temporary file while they are hashed, then it is looked at, flushed to disk and
 * moved to its place. Once this returns the photo outlives a crash. On any failure nothing is left behind.
 * @param source a web or Node stream of bytes, or anything else that gives chunks
 * @throws PhotoRefused for a file that is too large or no photo; ShelfTrouble when the disk won't take it
 */
export async function storeUpload(
  dataFolder: string,
  source: AsyncIterable<Uint8Array> | ReadableStream<Uint8Array>,
  { maxBytes = MAX_PHOTO_BYTES, verify }: StoreOptions = {},
): Promise<StoredPhoto> {
  const temporary = path.join(dataFolder, 'photos', 'tmp', `${randomUUID()}.part`);
  try {
    await mkdir(path.dirname(temporary), { recursive: true });
    const sha256 = await writeHashed(temporary, source, maxBytes);
    const facts = await inspectPhoto(temporary);
    await verify?.(temporary, facts, sha256);
    const target = photoPath(dataFolder, sha256, facts.kind);
    const existed = (await sizeOf(target)) === facts.bytes;
    if (!existed) {
      await mkdir(path.dirname(target), { recursive: true });
      await rename(temporary, target);
      await syncFolder(path.dirname(target));
    }
    return { ...facts, sha256, existed, path: target };
  } catch (error) {
    throw shelfTroubleFor(error);
  } finally {
    await rm(temporary, { force: true }).catch(() => undefined);
  }
}

/** How much past the limit is still read before the connection is cut. */
const DRAIN_BYTES = 900_000_000;

const tooLarge = (maxBytes: number) =>
  new PhotoRefused('too-large', `Expected a photo of at most ${Math.round(maxBytes / 1e6)} MB, got a larger file.`);

/**
 * Writes a stream to a new file, synced, while hashing it.
 * @returns the SHA-256 in hex
 * @throws PhotoRefused past `maxBytes`
 */
export async function writeHashed(
  to: string,
  source: AsyncIterable<Uint8Array> | ReadableStream<Uint8Array>,
  maxBytes: number,
): Promise<string> {
  const hash = createHash('sha256');
  const file = await open(to, 'wx');
  try {
    let bytes = 0;
    for await (const chunk of chunksOf(source)) {
      bytes += chunk.length;
      if (bytes > maxBytes + DRAIN_BYTES) throw tooLarge(maxBytes);
      // What comes past the limit is read and let go, so that the sender hears why.
      if (bytes > maxBytes) continue;
      hash.update(chunk);
      await file.writeFile(chunk);
    }
    if (bytes > maxBytes) throw tooLarge(maxBytes);
    await file.sync();
  } finally {
    await file.close();
  }
  return hash.digest('hex');
}

/**
 * Reads a photo that won't be kept to its end and lets it go, so that its sender hears why; past the limit it is cut
 * off.
 */
export async function letRunOut(source: AsyncIterable<Uint8Array> | ReadableStream<Uint8Array>): Promise<void> {
  let bytes = 0;
  for await (const chunk of chunksOf(source)) if ((bytes += chunk.length) > MAX_PHOTO_BYTES) return;
}

function chunksOf(source: AsyncIterable<Uint8Array> | ReadableStream<Uint8Array>): AsyncIterable<Uint8Array> {
  return source as AsyncIterable<Uint8Array>;
}

async function sizeOf(file: string): Promise<number | null> {
  return stat(file).then(
    (s) => s.size,
    () => null,
  );
}

async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, constants.O_RDONLY);
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** Disk trouble as a ShelfTrouble with its sentence; any other error as it is. */
export function shelfTroubleFor(error: unknown): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'ENOSPC' || code === 'EDQUOT') {
    return new ShelfTrouble(
      'disk-full',
      'The disk is full: the photo was not kept. Free some space and send it again.',
      { cause: error },
    );
  }
  if (code === 'EROFS' || code === 'EACCES' || code === 'EPERM') {
    return new ShelfTrouble('not-writable', 'The data folder can’t be written to: the photo was not kept.', {
      cause: error,
    });
  }
  return error;
}

/**
 * Where whole photos go that no diary row speaks for: they are set aside, not deleted, since it may be the diary that
 * is lost.
 */
export const STRAYS = 'strays';

/**
 * Clears the shelf of what no diary row speaks for: unfinished uploads are removed, whole photos without an owner are
 * set aside; both only when older than an age that leaves uploads in progress alone.
 * @param isKnown whether the diary has a photo with this hash
 * @param before only files last written before this instant are cleared
 * @returns the cleared files, relative to the data folder
 */
export async function clearOrphans(
  dataFolder: string,
  isKnown: (sha256: string) => boolean,
  before: Date,
): Promise<string[]> {
  const root = path.join(dataFolder, 'photos');
  const cleared: string[] = [];
  for (const { file, sha256 } of await orphansIn(dataFolder, isKnown)) {
    const info = await stat(file).catch(() => null);
    if (info === null || info.mtime >= before) continue;
    if (sha256 === null) await rm(file, { force: true });
    else {
      await mkdir(path.join(dataFolder, STRAYS), { recursive: true });
      await rename(file, path.join(dataFolder, STRAYS, path.basename(file)));
    }
    cleared.push(path.relative(dataFolder, file));
  }
  if (cleared.length > 0) await syncFolder(root);
  return cleared;
}

/** Files on the shelf that no diary row speaks for: unfinished uploads (no hash) and whole photos. */
export async function orphansIn(
  dataFolder: string,
  isKnown: (sha256: string) => boolean,
): Promise<{ file: string; sha256: string | null }[]> {
  const root = path.join(dataFolder, 'photos');
  const found: { file: string; sha256: string | null }[] = [];
  for (const folder of await readdir(root, { withFileTypes: true }).catch(() => [])) {
    if (!folder.isDirectory()) continue;
    for (const name of await readdir(path.join(root, folder.name))) {
      const sha256 = /^([0-9a-f]{64})\.\w+$/.exec(name)?.[1] ?? null;
      const ours = folder.name === 'tmp' ? name.endsWith('.part') : sha256 !== null;
      if (ours && (sha256 === null || !isKnown(sha256)))
        found.push({ file: path.join(root, folder.name, name), sha256 });
    }
  }
  return found;
}

/**
 * Files under photos/ that this program never put there, relative to the data folder: a person's own, or another
 * program's.
 */
export async function foreignIn(dataFolder: string): Promise<string[]> {
  const root = path.join(dataFolder, 'photos');
  const files = await readdir(root, { recursive: true, withFileTypes: true }).catch(() => []);
  return files
    .filter((entry) => !entry.isDirectory())
    .map((entry) => path.relative(root, path.join(entry.parentPath, entry.name)).split(path.sep).join('/'))
    .filter((name) => !/^([0-9a-f]{2})\/\1[0-9a-f]{62}\.(?:jpg|png|webp|tif|avif|heic)$|^tmp\/[^/]+\.part$/.test(name))
    .map((name) => `photos/${name}`)
    .sort();
}

/** Whether the data folder can be written to; for a check at start. */
export async function isWritable(dataFolder: string): Promise<boolean> {
  return mkdir(dataFolder, { recursive: true })
    .then(() => access(dataFolder, constants.W_OK))
    .then(
      () => true,
      () => false,
    );
}
