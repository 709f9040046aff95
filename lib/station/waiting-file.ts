import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { randomUUID } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { mkdir, open, readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';

/** A logger's file lies here between upload and import, so that neither a reload nor a restart loses it. */
export interface WaitingFile {
  readonly id: string;
  readonly name: string;
  readonly bytes: number;
}

/** Five-minute readings of twenty years, with room. */
const MOST_FILE_BYTES = 300_000_000;
export const KEPT_DAYS = 14;

const folderOf = (dataFolder: string) => path.join(dataFolder, 'incoming');
function filePath(dataFolder: string, id: string, ending: 'csv' | 'json'): string {
  if (!/^[0-9a-f-]{36}$/.test(id)) throw new RangeError(`waiting file: expected its id, got '${id.slice(0, 60)}'`);
  return path.join(folderOf(dataFolder), `${id}.${ending}`);
}

/** Where a waiting file's bytes lie. */
export const waitingFilePath = (dataFolder: string, id: string): string => filePath(dataFolder, id, 'csv');

/**
 * Writes an upload to disk as it comes. On any failure nothing is left behind.
 * @returns the file, or one sentence why it was not taken
 */
export async function keepWaitingFile(
  dataFolder: string,
  name: string,
  source: AsyncIterable<Uint8Array> | ReadableStream<Uint8Array>,
  mostBytes = MOST_FILE_BYTES,
  id = randomUUID() as string,
): Promise<({ ok: true } & WaitingFile) | { ok: false; full: boolean; sentence: string }> {
  const part = path.join(folderOf(dataFolder), `${randomUUID()}.part`);
  try {
    await mkdir(folderOf(dataFolder), { recursive: true });
    await dropOldFiles(dataFolder);
    const file = await open(part, 'w');
    let bytes = 0;
    try {
      for await (const piece of source as AsyncIterable<Uint8Array>) {
        bytes += piece.byteLength;
        if (bytes > mostBytes)
          return {
            ok: false,
            full: false,
            sentence: `Weather file: expected at most ${Math.round(mostBytes / 1e6)} MB, got more; import it in parts.`,
          };
        await file.write(piece);
      }
      await file.sync();
    } finally {
      await file.close();
    }
    if (bytes === 0)
      return { ok: false, full: false, sentence: 'Weather file: expected a table of readings, got an empty file.' };
    await writeFile(filePath(dataFolder, id, 'json'), JSON.stringify({ name, bytes }));
    await rename(part, filePath(dataFolder, id, 'csv'));
    return { ok: true, id, name, bytes };
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? String(error.code) : '';
    await rm(filePath(dataFolder, id, 'json'), { force: true }).catch(() => undefined);
    if (code === 'ENOSPC' || code === 'EDQUOT')
      return { ok: false, full: true, sentence: 'Weather file: the disk is full; nothing was kept.' };
    if (code === 'EROFS' || code === 'EACCES' || code === 'EPERM')
      return { ok: false, full: true, sentence: 'Weather file: the data folder can’t be written; nothing was kept.' };
    throw error;
  } finally {
    await rm(part, { force: true }).catch(() => undefined);
  }
}

/** A waiting file by its id, or null when it is not there (any more). */
export async function findWaitingFile(dataFolder: string, id: string): Promise<WaitingFile | null> {
  if (!/^[0-9a-f-]{36}$/.test(id)) return null;
  try {
    const [facts, { size }] = await Promise.all([
      readFile(filePath(dataFolder, id, 'json'), 'utf8'),
      stat(filePath(dataFolder, id, 'csv')),
    ]);
    return { id, name: String((JSON.parse(facts) as { name?: unknown }).name ?? 'file'), bytes: size };
  } catch {
    return null; // gone, or never there
  }
}

/** All files that wait, the latest first. */
export async function listWaitingFiles(dataFolder: string): Promise<WaitingFile[]> {
  const names = await readdir(folderOf(dataFolder)).catch(() => [] as string[]); // no folder yet: none has come
  const found = await Promise.all(
    names
      .filter((name) => name.endsWith('.csv'))
      .map(async (name) => ({
        file: await findWaitingFile(dataFolder, name.slice(0, -4)),
        at: (await stat(path.join(folderOf(dataFolder), name)).catch(() => ({ mtimeMs: 0 }))).mtimeMs,
      })),
  );
  return found.sort((a, b) => b.at - a.at).flatMap(({ file }) => (file ? [file] : []));
}

/** The first bytes of a waiting file. */
export async function headOfWaitingFile(dataFolder: string, id: string, bytes: number): Promise<Uint8Array> {
  const file = await open(filePath(dataFolder, id, 'csv'), 'r');
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(bytes), 0, bytes, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}

/** The whole file, piece by piece; opened when the first piece is asked for. */
export async function* readWaitingFile(dataFolder: string, id: string): AsyncGenerator<Uint8Array> {
  yield* createReadStream(filePath(dataFolder, id, 'csv'), { highWaterMark: 64 * 1024 }) as AsyncIterable<Uint8Array>;
}

export async function dropWaitingFile(dataFolder: string, id: string): Promise<void> {
  await Promise.all((['csv', 'json'] as const).map((ending) => rm(filePath(dataFolder, id, ending), { force: true })));
}

/** Files nobody came back for go after two weeks. */
async function dropOldFiles(dataFolder: string): Promise<void> {
  for (const name of await readdir(folderOf(dataFolder))) {
    const file = path.join(folderOf(dataFolder), name);
    const age = Date.now() - (await stat(file).catch(() => ({ mtimeMs: Date.now() }))).mtimeMs;
    if (age > KEPT_DAYS * DAY_MS) await rm(file, { force: true });
  }
}
