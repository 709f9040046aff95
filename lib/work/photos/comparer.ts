import 'server-only';
import { availableParallelism, freemem } from 'node:os';
import path from 'node:path';
import { Tinypool } from 'tinypool';
import { openingCost } from '@/lib/darkroom/decode';
import { inDecodeRoom, ONE_PHOTO_BYTES } from '@/lib/darkroom/decode-room';
import type { OutlinesFile } from '@/lib/forms/outlines-file';
import type { Point } from '@/lib/photo/raster/pixels';
import type { SinglePlot } from '@/lib/photo/marks/look-at-one';
import type { ComparedPair, LookedAt } from './compare-photos';
import type { FindPlotsRequest, FoundPlots } from './find-plots';
import type { CardRequest, FoundByCards } from './find-plots-by-cards';

export interface CompareRequest {
  /** Paths of the two photos' files. */
  readonly before: string;
  readonly after: string;
  readonly outlines: OutlinesFile;
  /** The later photo's corners were found by lining up, or surveyed: they are taken as they are. */
  readonly trustGiven?: boolean;
  /** Set here for large photos: the second is opened when the first is. */
  readonly oneByOne?: boolean;
}

/** One photo to be looked at by itself. */
export interface LookRequest {
  readonly path: string;
  readonly plots: readonly SinglePlot[];
}

/** Two photos, and places of the earlier one to be found again in the later. */
export interface LastingRequest {
  readonly before: string;
  readonly after: string;
  readonly places: readonly Point[];
}

export type PairRequest =
  | { readonly compare: CompareRequest }
  | { readonly find: FindPlotsRequest }
  | { readonly cards: CardRequest }
  | { readonly look: LookRequest }
  | { readonly lasting: LastingRequest };
interface Failed {
  readonly failed: string;
}
export type PairAnswer =
  | { readonly compared: ComparedPair }
  | { readonly found: FoundPlots }
  | { readonly byCards: FoundByCards | null }
  | { readonly looked: LookedAt }
  | { readonly lasted: readonly (Point | null)[] | null }
  | Failed;

const otherAnswer: Failed = { failed: 'the comparing thread answered another question' };

const idleMs = 60_000;
const patienceMs = 120_000;
const pagePatienceMs = 4_000;

// One thread a process compares photos, so that memory stays bounded, also when a development server loads this file
// anew.
const shared = globalThis as { swathbookComparer?: Tinypool; swathbookComparerTurn?: Promise<unknown> };

function pool(): Tinypool {
  shared.swathbookComparer ??= new Tinypool({
    runtime: 'worker_threads',
    filename: path.join(process.cwd(), 'lib', 'work', 'photos', 'comparer-boot.mjs'),
    minThreads: 0,
    maxThreads: 1,
    concurrentTasksPerWorker: 1,
    idleTimeout: idleMs,
  });
  return shared.swathbookComparer;
}

/** What a thread may hold at its peak with two photos of 16 megapixels. */
const THREAD_BYTES = 450_000_000;

/**
 * Compares many pairs for a command, one a processor at a time as far as half the free memory goes; the answers come in
 * the order asked, each as soon as it and those before it are there. Never throws: a failure is an answer.
 */
export async function* compareMany(
  requests: readonly CompareRequest[],
): AsyncGenerator<{ readonly compared: ComparedPair } | Failed> {
  const threads = Math.max(
    1,
    Math.min(availableParallelism(), requests.length, Math.floor(freemem() / 2 / THREAD_BYTES)),
  );
  const many = new Tinypool({
    runtime: 'worker_threads',
    filename: path.join(process.cwd(), 'lib', 'work', 'photos', 'compare-many-boot.mjs'),
    minThreads: threads,
    maxThreads: threads,
    concurrentTasksPerWorker: 1,
  });
  try {
    const answers = requests.map(
      (compare) =>
        many.run({ compare }).catch((error: unknown): Failed => ({
          failed: error instanceof Error ? error.message : String(error),
        })) as Promise<PairAnswer>,
    );
    for (const waited of answers) {
      const answer = await waited;
      yield 'compared' in answer || 'failed' in answer ? answer : otherAnswer;
    }
  } finally {
    await many.destroy();
  }
}

/** A pair that holds more than this is opened one photo after the other. */
const manyBytes = 250_000_000;

/** What a request holds at its peak: the photos it opens side by side, or all but the last opened already. */
async function bytesOf(request: PairRequest): Promise<{ bytes: number; request: PairRequest }> {
  if ('look' in request || 'cards' in request)
    return {
      bytes: (await openingCost('look' in request ? request.look.path : request.cards.path)).openingBytes,
      request,
    };
  if ('find' in request) {
    const [after, ...known] = await Promise.all(
      [
        request.find.after,
        request.find.last.path,
        ...(request.find.reference ? [request.find.reference.path] : []),
        ...(request.find.place?.learned ?? []).map(({ photo }) => photo.path),
      ].map((file) => openingCost(file)),
    );
    const held = after?.heldBytes ?? 0;
    return { bytes: Math.max(after?.openingBytes ?? 0, ...known.map((one) => held + one.openingBytes)), request };
  }
  if ('lasting' in request) {
    const [first, second] = await Promise.all([
      openingCost(request.lasting.before),
      openingCost(request.lasting.after),
    ]);
    return { bytes: first.openingBytes + second.openingBytes, request };
  }
  const [before, after] = await Promise.all([openingCost(request.compare.before), openingCost(request.compare.after)]);
  const together = before.openingBytes + after.openingBytes;
  if (together <= manyBytes) return { bytes: together, request };
  return {
    bytes: Math.max(before.openingBytes, before.heldBytes + after.openingBytes),
    request: { compare: { ...request.compare, oneByOne: true } },
  };
}

/** One after another, so that a request takes room only when the thread is free for it. */
async function ask(asked: PairRequest): Promise<PairAnswer> {
  try {
    const { bytes, request } = await bytesOf(asked);
    if (bytes > ONE_PHOTO_BYTES)
      return {
        failed: `expected photos that take at most ${ONE_PHOTO_BYTES / 1e6} MB to open together, got some that take ${Math.ceil(bytes / 1e6)} MB`,
      };
    const before = shared.swathbookComparerTurn ?? Promise.resolve();
    const answered = before.then(() =>
      inDecodeRoom(
        bytes,
        () => pool().run(request, { signal: AbortSignal.timeout(patienceMs) }) as Promise<PairAnswer>,
        { slot: false },
      ),
    );
    shared.swathbookComparerTurn = answered.catch(() => undefined);
    return await answered;
  } catch (error) {
    return { failed: error instanceof Error ? error.message : String(error) };
  }
}

/** Compares two photos on the comparing thread, one pair after another. Never throws: a failure is an answer. */
export async function comparePhotos(request: CompareRequest): Promise<{ readonly compared: ComparedPair } | Failed> {
  const answer = await ask({ compare: request });
  return 'compared' in answer || 'failed' in answer ? answer : otherAnswer;
}

/** Finds a viewpoint's plots in a new photo, on the comparing thread. Never throws: a failure is an answer. */
export async function findPlotsOf(request: FindPlotsRequest): Promise<{ readonly found: FoundPlots } | Failed> {
  const answer = await ask({ find: request });
  return 'found' in answer || 'failed' in answer ? answer : otherAnswer;
}

/**
 * Finds plots by the plot cards in a photo, on the comparing thread; null when they don't fix the ground. Never throws.
 */
export async function findPlotsByCardsIn(request: CardRequest): Promise<FoundByCards | null> {
  const answer = await ask({ cards: request });
  return 'byCards' in answer ? answer.byCards : null;
}

/** Looks at one photo by itself, on the comparing thread. Never throws: a failure is an answer. */
export async function lookAtPhoto(request: LookRequest): Promise<{ readonly looked: LookedAt } | Failed> {
  const answer = await ask({ look: request });
  return 'looked' in answer || 'failed' in answer ? answer : otherAnswer;
}

/**
 * Where places of an earlier photo are seen in a later one, on the comparing thread; null where that can't be told,
 * also when the thread has too much else to do: somebody waits for a page.
 */
export async function findLasting(request: LastingRequest): Promise<readonly (Point | null)[] | null> {
  const tooLong = new Promise<null>((resolve) => setTimeout(resolve, pagePatienceMs, null).unref());
  const answer = await Promise.race([ask({ lasting: request }), tooLong]);
  return answer !== null && 'lasted' in answer ? answer.lasted : null;
}

/** Lets the comparing thread go, for the end of a command or a test. */
export async function stopComparer(): Promise<void> {
  const running = shared.swathbookComparer;
  delete shared.swathbookComparer;
  await running?.destroy();
}
