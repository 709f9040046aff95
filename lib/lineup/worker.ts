import 'server-only';
import { parentPort } from 'node:worker_threads';
import { registerPair } from './register';
import type { LineUpRequest, WorkerReply } from './line-up';

/** The thread that owns the image library: one request at a time, in the order they come. */
if (!parentPort) throw new Error('lib/lineup/worker.ts runs as a worker thread only');
const port = parentPort;

let queue: Promise<void> = Promise.resolve();

port.on('message', ({ id, request }: { id: number; request: LineUpRequest }) => {
  queue = queue.then(async () => {
    const reply: WorkerReply = await registerPair(request.before, request.after, request).then(
      (result) => ({ id, result }),
      (error: unknown) => ({ id, error: error instanceof Error ? error.message : String(error) }),
    );
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker thread, not a window
    port.postMessage(reply);
  });
});
