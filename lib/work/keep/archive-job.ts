import 'server-only';
import { createReadStream } from 'node:fs';
import { hostname } from 'node:os';
import { Readable } from 'node:stream';
import { ArchiveRefused } from '@/lib/archive/refused';
import { claim, heardOf, tell } from '@/lib/diary/told-facts';
import { dataFolder } from '@/lib/forms/environment';
import { keepArchive, listArchives, type ArchiveProgress } from './keep-archive';

/**
 * The making of an archive as the pages see it, whichever process makes it; `on` is the machine the archive lies on.
 */
export type ArchiveJob =
  | { readonly state: 'idle' }
  | ({ readonly state: 'running' } & ArchiveProgress)
  | {
      readonly state: 'done';
      readonly name: string;
      readonly missing: readonly string[];
      readonly on: string;
      readonly isHere: boolean;
    }
  | { readonly state: 'failed'; readonly message: string };

const FACT = 'archive';
/** Who makes an archive says so at least this often; who is silent for longer has stopped. */
const TELL_MS = 500;
const SILENT_MS = 60_000;
const folderName = () => `${hostname()}:${dataFolder()}`;

export async function archiveJob(): Promise<ArchiveJob> {
  const told = await heardOf(FACT);
  if (told === null) return { state: 'idle' };
  const job = told.value as unknown as
    | Exclude<ArchiveJob, { state: 'done' }>
    | { state: 'done'; name: string; missing: string[]; on: string; folder: string };
  if (job.state === 'running' && told.ageMs > SILENT_MS)
    return {
      state: 'failed',
      message: 'Whoever was making the archive has stopped; the diary is as it was. Make it again.',
    };
  if (job.state !== 'done') return job;
  const { folder, ...done } = job;
  return { ...done, isHere: folder === folderName() };
}

/**
 * Starts making an archive and returns at once; while one is being made, by this process or another, it is that one.
 */
export async function startArchive(now: Date): Promise<void> {
  const first = { state: 'running', step: 'copying the database', doneBytes: 0, totalBytes: 0 } as const;
  if (!(await claim(FACT, first, SILENT_MS))) return;
  let latest: ArchiveProgress = first;
  let telling: Promise<unknown> = Promise.resolve();
  const say = () => (telling = telling.then(() => tell(FACT, { state: 'running', ...latest })).catch(() => undefined));
  const timer = setInterval(say, TELL_MS);
  const end = async (job: Parameters<typeof tell>[1]) => {
    clearInterval(timer);
    await telling;
    await tell(FACT, job);
  };
  keepArchive({ now, onProgress: (progress) => (latest = progress) })
    .then(
      ({ name, missing }) => end({ state: 'done', name, missing: [...missing], on: hostname(), folder: folderName() }),
      (error: unknown) => {
        if (!(error instanceof ArchiveRefused)) console.error('swathbook: making an archive stopped', error);
        return end({
          state: 'failed',
          message:
            error instanceof ArchiveRefused
              ? error.message
              : 'Making the archive stopped unexpectedly; the diary is as it was. The log says more.',
        });
      },
    )
    .catch((error: unknown) => console.error('swathbook: an archive’s end could not be told', error));
}

/** A kept archive's bytes, in full or from `from` to `to` inclusive; null when there is none of that name. */
export async function archiveBytes(
  name: string,
): Promise<{ bytes: number; stream: (from: number, to: number) => ReadableStream<Uint8Array> } | null> {
  const found = (await listArchives()).find((archive) => archive.name === name);
  if (!found) return null;
  return {
    bytes: found.bytes,
    stream: (from, to) =>
      Readable.toWeb(createReadStream(found.path, { start: from, end: to })) as ReadableStream<Uint8Array>,
  };
}
