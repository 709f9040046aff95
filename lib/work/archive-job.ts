import 'server-only';
import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { ArchiveRefused } from '@/lib/archive/refused';
import { keepArchive, listArchives, type ArchiveProgress } from './keep-archive';

/** The making of an archive as the pages see it. */
export type ArchiveJob =
  | { readonly state: 'idle' }
  | ({ readonly state: 'running' } & ArchiveProgress)
  | { readonly state: 'done'; readonly name: string; readonly missing: readonly string[] }
  | { readonly state: 'failed'; readonly message: string };

// One a process, shared by the page's action and the route that tells its progress.
const holder = globalThis as { swathbookArchiveJob?: ArchiveJob };

export function archiveJob(): ArchiveJob {
  return holder.swathbookArchiveJob ?? { state: 'idle' };
}

/** Starts making an archive and returns at once; while one is being made, it is that one. */
export function startArchive(now: Date): void {
  if (archiveJob().state === 'running') return;
  holder.swathbookArchiveJob = { state: 'running', step: 'copying the database', doneBytes: 0, totalBytes: 0 };
  keepArchive({ now, onProgress: (progress) => (holder.swathbookArchiveJob = { state: 'running', ...progress }) }).then(
    ({ name, missing }) => (holder.swathbookArchiveJob = { state: 'done', name, missing }),
    (error: unknown) => {
      if (!(error instanceof ArchiveRefused)) console.error('swathbook: making an archive stopped', error);
      holder.swathbookArchiveJob = { state: 'failed', message: error instanceof ArchiveRefused ? error.message : 'Making the archive stopped unexpectedly; the diary is as it was. The log says more.' };
    },
  );
}

/** A kept archive's bytes, in full or from `from` to `to` inclusive; null when there is none of that name. */
export async function archiveBytes(name: string): Promise<{ bytes: number; stream: (from: number, to: number) => ReadableStream<Uint8Array> } | null> {
  const found = (await listArchives()).find((archive) => archive.name === name);
  if (!found) return null;
  return { bytes: found.bytes, stream: (from, to) => Readable.toWeb(createReadStream(found.path, { start: from, end: to })) as ReadableStream<Uint8Array> };
}
