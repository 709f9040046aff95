import 'server-only';
import path from 'node:path';
import { Tinypool } from 'tinypool';
import { coresForPhotos } from './cores';
import { openingBytes } from './decode';
import { inDecodeRoom } from './decode-room';
import type { CutRequest } from './plot-cuts';
import { PhotoRefused, type RefusalCode } from './refused';
import type { ScoredPhoto, ScoreRequest } from './score';

/** What comes back from a worker. */
export type ScoreAnswer =
  | { readonly scored: ScoredPhoto }
  | { readonly refused: { readonly code: RefusalCode; readonly sentence: string } };

/** An idle worker is let go after this long, and its memory with it. */
const IDLE_MS = 30_000;

// One pool a process, also when a development server loads this file anew.
const shared = globalThis as { swathbookScorers?: Tinypool };

/**
 * The workers that decode and measure, one photo each at a time, as many as there are processors for it. Started when
 * first used. The worker is compiled by itself (lib/compiled.mjs): it is not part of the pages' bundles.
 */
function pool(): Tinypool {
  shared.swathbookScorers ??= new Tinypool({
    runtime: 'worker_threads',
    filename: path.join(process.cwd(), 'lib', 'darkroom', 'scorer-boot.mjs'),
    minThreads: 0,
    maxThreads: coresForPhotos(),
    concurrentTasksPerWorker: 1,
    idleTimeout: IDLE_MS,
  });
  return shared.swathbookScorers;
}

/**
 * Decodes a photo and measures its plots on a worker's thread.
 * @param options.signal gives up waiting, or the work itself
 * @throws PhotoRefused when it can't be decoded
 */
export async function scorePhoto(
  request: ScoreRequest,
  { signal }: { signal?: AbortSignal } = {},
): Promise<ScoredPhoto> {
  const answer = await inDecodeRoom(
    await openingBytes(request.path, request.scale ?? 'own'),
    () => pool().run(request, signal === undefined ? {} : { signal }) as Promise<ScoreAnswer>,
  );
  if ('refused' in answer) throw new PhotoRefused(answer.refused.code, answer.refused.sentence);
  return answer.scored;
}

/** Cuts a photo's plots out on a worker's thread, so that whoever serves a page isn't held up. */
export async function cutPlots(request: CutRequest): Promise<void> {
  await pool().run(request, { name: 'cutOnWorker' });
}

/** Lets all workers go, for the end of a command or a test. */
export async function stopScorers(): Promise<void> {
  const running = shared.swathbookScorers;
  delete shared.swathbookScorers;
  await running?.destroy();
}
