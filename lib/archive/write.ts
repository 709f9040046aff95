import 'server-only';
import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { mkdir, open, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import { Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { ZipFile } from 'yazl';
import { manifestEntry, type ArchiveEntry } from './entries';
import { ArchiveRefused } from './refused';

export interface FileToKeep {
  /** Its name inside the archive. */
  readonly name: string;
  readonly path: string;
  readonly bytes: number;
  /** The hash its name promises; the archive is not made when the file no longer has it. */
  readonly sha256?: string;
  readonly compress?: boolean;
}

export interface WriteArchive {
  /** The archive's path. It appears there only once it is whole and flushed to disk. */
  readonly target: string;
  /** Where it is written until then: on the same disk, and the caller's to clear when a stop cuts this short. */
  readonly temporary: string;
  readonly files: readonly FileToKeep[];
  /** The manifest's text for what was really written. */
  readonly manifest: (entries: readonly ArchiveEntry[]) => string;
  readonly onProgress?: (doneBytes: number) => void;
}

/**
 * Writes a zip of these files and a manifest with the SHA-256 of each, one file at a time and in little memory.
 * @returns the archive's size in bytes
 * @throws ArchiveRefused when the disk is full or a file is not what its name promises; nothing is left behind then
 */
export async function writeArchive({ target, temporary, files, manifest, onProgress }: WriteArchive): Promise<number> {
  await mkdir(path.dirname(target), { recursive: true });
  try {
    const zip = new ZipFile();
    // The output is wired by hand: an error while adding a file must end the writing.
    const output = zip.outputStream as Readable;
    zip.on('error', (error: Error) => output.destroy(error));
    const entries: ArchiveEntry[] = [];
    let done = 0;
    for (const file of files) {
      zip.addReadStreamLazy(
        file.name,
        { size: file.bytes, compress: file.compress ?? false, mode: 0o100644 },
        (ready) => {
          const hash = createHash('sha256');
          const through = new Transform({
            transform(chunk: Buffer, _encoding, next) {
              hash.update(chunk);
              done += chunk.length;
              onProgress?.(done);
              next(null, chunk);
            },
            flush(next) {
              const sha256 = hash.digest('hex');
              if (file.sha256 !== undefined && sha256 !== file.sha256) {
                return next(
                  new ArchiveRefused(
                    `Expected ${file.name} to hold the bytes its name promises, got others: it changed on disk. 'npm run doctor' says more.`,
                  ),
                );
              }
              entries.push({ name: file.name, bytes: file.bytes, sha256 });
              next();
            },
          });
          const source = createReadStream(file.path);
          source.on('error', (error) => through.destroy(error));
          through.on('error', (error) => output.destroy(error));
          ready(null, source.pipe(through));
        },
      );
    }
    // Entries are read in order, so all hashes are known when the manifest's turn comes.
    zip.addReadStreamLazy(manifestEntry, { compress: true, mode: 0o100644 }, (ready) =>
      ready(null, Readable.from([Buffer.from(manifest(entries))])),
    );
    zip.end();
    await pipeline(output, createWriteStream(temporary, { flags: 'wx' }));
    const bytes = await flushToDisk(temporary);
    await rename(temporary, target);
    await settleFolder(path.dirname(target));
    return bytes;
  } catch (error) {
    throw sentenceFor(error);
  } finally {
    await rm(temporary, { force: true });
  }
}

/** Flushes a file to disk. @returns its size */
export async function flushToDisk(file: string): Promise<number> {
  const handle = await open(file, 'r+');
  try {
    await handle.sync();
    return (await handle.stat()).size;
  } finally {
    await handle.close();
  }
}

/** Flushes a folder's list of names to disk. */
export async function settleFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** Disk trouble in one sentence; any other error as it is. */
export function sentenceFor(error: unknown): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'ENOSPC' || code === 'EDQUOT')
    return new ArchiveRefused(
      'Expected enough room on the disk, got a full one: nothing was changed. Free some space and try again.',
      { cause: error },
    );
  if (code === 'EROFS' || code === 'EACCES' || code === 'EPERM')
    return new ArchiveRefused('Expected a folder that can be written to, got one that can’t: nothing was changed.', {
      cause: error,
    });
  return error;
}
