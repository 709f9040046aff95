import 'server-only';
import path from 'node:path';
import { Tinypool } from 'tinypool';
import type { OutlinesFile } from '@/lib/forms/outlines-file';
import type { SinglePlot } from '@/lib/photo/look-at-one';
import type { ComparedPair, LookedAt } from './compare-photos';
import type { FindRequest, FoundPlots } from './find-plots';
import type { CardRequest, FoundByCards } from './find-plots-by-cards';

export interface CompareRequest {
  /** Paths of the two photos' files. */
  readonly before: string;
  readonly after: string;
  readonly outlines: OutlinesFile;
  /** The later photo's corners were found by lining up, or surveyed: they are taken as they are. */
  readonly trustGiven?: boolean;
}

/** One photo to be looked at by itself. */
export interface LookRequest {
  readonly path: string;
  readonly plots: readonly SinglePlot[];
}

export type PairRequest = { readonly compare: CompareRequest } | { readonly find: FindRequest } | { readonly cards: CardRequest } | { readonly look: LookRequest };
interface Failed {
  readonly failed: string;
}
export type PairAnswer = { readonly compared: ComparedPair } | { readonly found: FoundPlots } | { readonly byCards: FoundByCards | null } | { readonly looked: LookedAt } | Failed;

const otherAnswer: Failed = { failed: 'the comparing thread answered another question' };

const idleMs = 60_000;
const patienceMs = 120_000;

// One thread a process compares photos, so that memory stays bounded, also when a development server loads this file anew.
const shared = globalThis as { swathbookComparer?: Tinypool };

function pool(): Tinypool {
  shared.swathbookComparer ??= new Tinypool({
    runtime: 'worker_threads',
    filename: path.join(process.cwd(), 'lib', 'work', 'comparer-boot.mjs'),
    execArgv: ['--conditions=react-server'],
    minThreads: 0,
    maxThreads: 1,
    concurrentTasksPerWorker: 1,
    idleTimeout: idleMs,
  });
  return shared.swathbookComparer;
}

async function ask(request: PairRequest): Promise<PairAnswer> {
  try {
    const waiting = shared.swathbookComparer?.queueSize ?? 0;
    return (await pool().run(request, { signal: AbortSignal.timeout(patienceMs * (1 + waiting)) })) as PairAnswer;
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
export async function findPlotsOf(request: FindRequest): Promise<{ readonly found: FoundPlots } | Failed> {
  const answer = await ask({ find: request });
  return 'found' in answer || 'failed' in answer ? answer : otherAnswer;
}

/** Finds plots by the plot cards in a photo, on the comparing thread; null when they don't fix the ground. Never throws. */
export async function findPlotsByCardsIn(request: CardRequest): Promise<FoundByCards | null> {
  const answer = await ask({ cards: request });
  return 'byCards' in answer ? answer.byCards : null;
}

/** Looks at one photo by itself, on the comparing thread. Never throws: a failure is an answer. */
export async function lookAtPhoto(request: LookRequest): Promise<{ readonly looked: LookedAt } | Failed> {
  const answer = await ask({ look: request });
  return 'looked' in answer || 'failed' in answer ? answer : otherAnswer;
}

/** Lets the comparing thread go, for the end of a command or a test. */
export async function stopComparer(): Promise<void> {
  const running = shared.swathbookComparer;
  delete shared.swathbookComparer;
  await running?.destroy();
}
