import 'server-only';
import { parentPort } from 'node:worker_threads';
import { decodePhoto } from '@/lib/darkroom/decode';
import { alignAndCompare } from './compare-photos';
import type { CompareAnswer, CompareRequest } from './comparer';

/** The one thread that owns OpenCV: decodes two photos, lines them up, compares them. */
parentPort?.on('message', async ({ id, before, after, outlines }: CompareRequest & { id: number }) => {
  const answer: CompareAnswer = await (async (): Promise<CompareAnswer> => {
    try {
      const [first, second] = await Promise.all([decodePhoto(before), decodePhoto(after)]);
      return { compared: await alignAndCompare(first.pixels, second.pixels, outlines) };
    } catch (error) {
      return { failed: error instanceof Error ? error.message : String(error) };
    }
  })();
  parentPort?.postMessage({ id, answer });
});
