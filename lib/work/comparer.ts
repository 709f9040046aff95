import 'server-only';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import type { OutlinesFile } from '@/lib/forms/outlines-file';
import type { ComparedPair } from './compare-photos';

export interface CompareRequest {
  /** Paths of the two photos' files. */
  readonly before: string;
  readonly after: string;
  readonly outlines: OutlinesFile;
}

export type CompareAnswer = { readonly compared: ComparedPair } | { readonly failed: string };

const idleMs = 60_000;
const patienceMs = 120_000;

interface Comparer {
  worker: Worker;
  waiting: Map<number, (answer: CompareAnswer) => void>;
  next: number;
  idle?: NodeJS.Timeout;
}

// One comparer a process, also when a development server loads this file anew.
const shared = globalThis as { swathbookComparer?: Comparer };

function start(): Comparer {
  const worker = new Worker(path.join(process.cwd(), 'lib', 'work', 'comparer-boot.mjs'), { execArgv: ['--conditions=react-server'] });
  const comparer: Comparer = { worker, waiting: new Map(), next: 0 };
  const stopped = (why: string) => {
    if (shared.swathbookComparer === comparer) delete shared.swathbookComparer;
    for (const answer of comparer.waiting.values()) answer({ failed: why });
    comparer.waiting.clear();
  };
  worker.on('message', ({ id, answer }: { id: number; answer: CompareAnswer }) => {
    comparer.waiting.get(id)?.(answer);
    comparer.waiting.delete(id);
    if (comparer.waiting.size === 0) comparer.idle = setTimeout(() => void worker.terminate(), idleMs).unref();
  });
  worker.on('error', (error) => stopped(error.message));
  worker.on('exit', () => stopped('the comparing worker stopped'));
  worker.unref();
  return comparer;
}

/** Lines two photos up and compares them on the comparing thread, one pair after another. Never throws: a failure is an answer. */
export function comparePhotos(request: CompareRequest): Promise<CompareAnswer> {
  shared.swathbookComparer ??= start();
  const comparer = shared.swathbookComparer;
  clearTimeout(comparer.idle);
  const id = comparer.next++;
  return new Promise((resolve) => {
    comparer.worker.ref();
    const patience = setTimeout(() => {
      comparer.waiting.delete(id);
      void comparer.worker.terminate();
      resolve({ failed: `comparing took longer than ${patienceMs / 1000} s` });
    }, patienceMs * (1 + comparer.waiting.size));
    comparer.waiting.set(id, (answer) => {
      clearTimeout(patience);
      if (comparer.waiting.size <= 1) comparer.worker.unref();
      resolve(answer);
    });
    comparer.worker.postMessage({ id, ...request });
  });
}

/** Lets the comparing thread go, for the end of a command or a test. */
export async function stopComparer(): Promise<void> {
  const running = shared.swathbookComparer;
  delete shared.swathbookComparer;
  clearTimeout(running?.idle);
  await running?.worker.terminate();
}
