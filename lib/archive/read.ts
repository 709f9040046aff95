import 'server-only';
import { createHash } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { mkdir, statfs } from 'node:fs/promises';
import path from 'node:path';
import { Transform, Writable, type Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { openPromise, type Entry, type ZipFile } from 'yauzl';
import { databaseEntry, hashOfPhotoEntry, manifestEntry, type ArchiveManifest } from './entries';
import { ArchiveRefused } from './refused';
import { sentenceFor, flushToDisk } from './write';

/** A manifest larger than this is refused: it would list more than half a million photos. */
const MAX_MANIFEST_BYTES = 128 * 1024 * 1024;
/** No photo was ever taken in that is larger. */
const MAX_PHOTO_BYTES = 100_000_000;
/**
 * A diary's database packs to a fifth or so, photos hardly at all: what unpacks to a hundred times its size is a bomb.
 */
const MAX_RATIO = 100;

export interface ReadArchive {
  readonly file: string;
  /** Where to unpack; null only verifies. Made when absent; must hold nothing of ours yet. */
  readonly into: string | null;
  /** Reads the manifest's text. @throws Error with a sentence */
  readonly parseManifest: (text: string) => ArchiveManifest;
  readonly onProgress?: (doneBytes: number, totalBytes: number) => void;
}

/**
 * Reads a whole archive: every name, size and hash must be as the manifest says, and the manifest must list every
 * entry. Nothing outside `into` is ever written, whatever the entries are called.
 * @throws ArchiveRefused with the reason; what was unpacked until then is the caller's to throw away
 */
export async function readArchive({ file, into, parseManifest, onProgress }: ReadArchive): Promise<ArchiveManifest> {
  let zip: ZipFile;
  try {
    zip = await openPromise(file, {
      lazyEntries: true,
      autoClose: false,
      strictFileNames: true,
      validateEntrySizes: true,
    });
  } catch (error) {
    throw refusalFor(error, file);
  }
  try {
    const entries = await listEntries(zip);
    const manifest = await readManifest(zip, entries, parseManifest);
    compareNames(entries, manifest);
    const total = manifest.entries.reduce((sum, entry) => sum + entry.bytes, 0);
    if (into !== null) await expectRoom(into, total);
    let done = 0;
    for (const listed of manifest.entries) {
      const sha256 = await unpack(
        zip,
        entries.get(listed.name) as Entry,
        into === null ? null : path.join(into, ...listed.name.split('/')),
        (bytes) => {
          done += bytes;
          onProgress?.(done, total);
        },
      );
      if (sha256 !== listed.sha256)
        throw new ArchiveRefused(
          `Expected ${listed.name} to have the hash that the manifest gives, got another: the archive is damaged or was changed.`,
        );
    }
    return manifest;
  } catch (error) {
    throw refusalFor(error, file);
  } finally {
    zip.close();
  }
}

async function listEntries(zip: ZipFile): Promise<Map<string, Entry>> {
  const entries = new Map<string, Entry>();
  for await (const entry of zip.eachEntry()) {
    const name = entry.fileName;
    if (name !== databaseEntry && name !== manifestEntry && hashOfPhotoEntry(name) === null) {
      throw new ArchiveRefused(
        `Expected an archive made by Swathbook, got one with the foreign entry '${name.slice(0, 120)}'.`,
      );
    }
    if (entries.has(name)) throw new ArchiveRefused(`Expected every entry once, got '${name}' twice.`);
    const kind = (entry.externalFileAttributes >>> 16) & 0o170000;
    if (kind !== 0 && kind !== 0o100000)
      throw new ArchiveRefused(`Expected plain files only, got '${name}' as a link or a device.`);
    if (!entry.canDecodeFileData())
      throw new ArchiveRefused(
        `Expected entries that can be unpacked, got '${name}' encrypted or in an unknown packing.`,
      );
    if (name !== databaseEntry && name !== manifestEntry && entry.uncompressedSize > MAX_PHOTO_BYTES) {
      throw new ArchiveRefused(
        `Expected photos of at most ${megabytes(MAX_PHOTO_BYTES)}, got '${name}' with ${megabytes(entry.uncompressedSize)}.`,
      );
    }
    if (entry.uncompressedSize > 1_000_000 && entry.uncompressedSize > MAX_RATIO * entry.compressedSize) {
      throw new ArchiveRefused(
        `Expected entries that unpack to at most ${MAX_RATIO} times their size, got '${name}', which unpacks from ${entry.compressedSize} bytes to ${megabytes(entry.uncompressedSize)}.`,
      );
    }
    entries.set(name, entry);
  }
  return entries;
}

async function readManifest(
  zip: ZipFile,
  entries: Map<string, Entry>,
  parse: ReadArchive['parseManifest'],
): Promise<ArchiveManifest> {
  const entry = entries.get(manifestEntry);
  if (entry === undefined)
    throw new ArchiveRefused('Expected an archive made by Swathbook, got a zip without its manifest.');
  if (entry.uncompressedSize > MAX_MANIFEST_BYTES)
    throw new ArchiveRefused(
      `Expected a manifest of at most ${MAX_MANIFEST_BYTES / 1048576} MB, got ${Math.round(entry.uncompressedSize / 1048576)} MB.`,
    );
  const chunks: Buffer[] = [];
  for await (const chunk of (await zip.openReadStreamPromise(entry)) as Readable) chunks.push(chunk as Buffer);
  let manifest: ArchiveManifest;
  try {
    manifest = parse(Buffer.concat(chunks).toString('utf8'));
  } catch (error) {
    throw new ArchiveRefused(error instanceof Error ? error.message : String(error), { cause: error });
  }
  return manifest;
}

function compareNames(entries: Map<string, Entry>, manifest: ArchiveManifest): void {
  const listed = new Set(manifest.entries.map((entry) => entry.name));
  if (listed.size !== manifest.entries.length)
    throw new ArchiveRefused('Expected the manifest to list every entry once, got one twice.');
  if (!listed.has(databaseEntry)) throw new ArchiveRefused(`Expected an archive with a ${databaseEntry}, got none.`);
  for (const { name, bytes, sha256 } of manifest.entries) {
    const entry = entries.get(name);
    if (entry === undefined)
      throw new ArchiveRefused(`Expected ${name}, which the manifest lists, got an archive without it.`);
    if (entry.uncompressedSize !== bytes)
      throw new ArchiveRefused(`Expected ${name} with ${bytes} bytes, got ${entry.uncompressedSize}.`);
    const promised = hashOfPhotoEntry(name);
    if (name === manifestEntry || (promised !== null && promised !== sha256))
      throw new ArchiveRefused(`Expected ${name} under the hash of its own bytes, got another hash in the manifest.`);
  }
  for (const name of entries.keys()) {
    if (name !== manifestEntry && !listed.has(name))
      throw new ArchiveRefused(`Expected only entries that the manifest lists, got ${name} as well.`);
  }
}

async function expectRoom(into: string, bytes: number): Promise<void> {
  await mkdir(into, { recursive: true });
  const { bavail, bsize } = await statfs(into);
  if (bavail * bsize < bytes * 1.05) {
    throw new ArchiveRefused(
      `Expected ${megabytes(bytes)} of free disk to unpack into, got ${megabytes(bavail * bsize)}: nothing was changed.`,
    );
  }
}

const megabytes = (bytes: number) => `${Math.ceil(bytes / 1e6)} MB`;

async function unpack(
  zip: ZipFile,
  entry: Entry,
  target: string | null,
  onBytes: (bytes: number) => void,
): Promise<string> {
  const hash = createHash('sha256');
  let bytes = 0;
  const hashing = new Transform({
    transform(chunk: Buffer, _encoding, next) {
      bytes += chunk.length;
      if (bytes > entry.uncompressedSize)
        return next(new ArchiveRefused(`Expected ${entry.fileName} with ${entry.uncompressedSize} bytes, got more.`));
      hash.update(chunk);
      onBytes(chunk.length);
      next(null, chunk);
    },
  });
  if (target !== null) await mkdir(path.dirname(target), { recursive: true });
  const sink =
    target === null
      ? new Writable({ write: (_chunk, _encoding, next) => next() })
      : createWriteStream(target, { flags: 'wx', mode: 0o644 });
  await pipeline(await zip.openReadStreamPromise(entry), hashing, sink);
  if (target !== null) await flushToDisk(target);
  return hash.digest('hex');
}

function refusalFor(error: unknown, file: string): unknown {
  if (error instanceof ArchiveRefused) return error;
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'ENOENT') return new ArchiveRefused(`Expected an archive at '${file}', found none.`, { cause: error });
  if (code === 'EISDIR') return new ArchiveRefused(`Expected an archive at '${file}', got a folder.`, { cause: error });
  const disk = sentenceFor(error);
  if (disk !== error) return disk;
  const words = error instanceof Error ? error.message : String(error);
  const outside = /^(?:absolute path|invalid relative path|invalid characters in fileName): (.*)$/s.exec(words);
  if (outside)
    return new ArchiveRefused(
      `Expected entries that stay inside the data folder, got '${(outside[1] ?? '').slice(0, 120)}'.`,
      { cause: error },
    );
  if (/End of central directory/i.test(words))
    return new ArchiveRefused('Expected a whole archive, got a file that is no zip or is cut off before its end.', {
      cause: error,
    });
  return new ArchiveRefused(`Expected a whole archive, got a damaged one (${words}).`, { cause: error });
}
