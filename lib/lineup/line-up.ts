import 'server-only';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import type { Pixels } from '@/lib/photo/pixels';
import type { RegisterOptions, Registration } from './register';

export interface LineUpRequest extends RegisterOptions {
  readonly before: Pixels;
  readonly after: Pixels;
}

export type WorkerReply =
  | { readonly id: number; readonly result: Registration }
  | { readonly id: number; readonly error: string };

/** Longest wait for one answer, and how long an idle thread is kept with its 80 MB. */
const LIMITS = { answerMs: 60_000, idleMs: 120_000 } as const;

interface Waiting {
  readonly resolve: (result: Registration) => void;
  readonly reject: (error: Error) => void;
  readonly timer: NodeJS.Timeout;
}

let worker: Worker | undefined;
let idle: NodeJS.Timeout | undefined;
let next = 1;
const waiting = new Map<number, Waiting>();

/**
 * Lines up two photos in the one thread that owns the image library; starts it when needed and lets it go after two
 * idle minutes. The pixels are copied, the caller keeps its own.
 * @throws Error when the thread dies or gives no answer within `answerMs`
 */
export function lineUp(request: LineUpRequest, answerMs: number = LIMITS.answerMs): Promise<Registration> {
  clearTimeout(idle);
  const thread = worker ?? start();
  const id = next++;
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => {
      stop(new Error(`lineUp: expected an answer within ${answerMs} ms, got none`));
    }, answerMs);
    waiting.set(id, { resolve, reject, timer });
    thread.ref();
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker thread, not a window
    thread.postMessage({ id, request });
  });
}

/** Ends the thread; answers still awaited are refused. */
export async function stopLineUp(): Promise<void> {
  await stop(new Error('lineUp: the worker was stopped'));
}

function start(): Worker {
  const thread = new Worker(path.join(process.cwd(), 'lib', 'lineup', 'worker-start.mjs'), {
    execArgv: ['--conditions=react-server'],
  });
  thread.on('message', (reply: WorkerReply) => {
    const one = waiting.get(reply.id);
    if (!one) return;
    waiting.delete(reply.id);
    clearTimeout(one.timer);
    if ('error' in reply) one.reject(new Error(reply.error));
    else one.resolve(reply.result);
    if (waiting.size === 0) rest(thread);
  });
  thread.on('error', (error) => {
    if (worker === thread) void stop(error instanceof Error ? error : new Error(String(error)));
  });
  thread.on('exit', () => {
    if (worker === thread) void stop(new Error('lineUp: the worker ended before it answered'));
  });
  worker = thread;
  return thread;
}

/** Nothing to do: don't keep the process alive for it, and let it go after a while. */
function rest(thread: Worker): void {
  thread.unref();
  idle = setTimeout(() => void stop(new Error('lineUp: the worker was idle')), LIMITS.idleMs);
  idle.unref();
}

async function stop(reason: Error): Promise<void> {
  const thread = worker;
  worker = undefined;
  clearTimeout(idle);
  for (const one of waiting.values()) {
    clearTimeout(one.timer);
    one.reject(reason);
  }
  waiting.clear();
  await thread?.terminate();
}
