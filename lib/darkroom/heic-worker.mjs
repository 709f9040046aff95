/**
 * Decodes one HEIC on a thread of its own. The decoder's memory grows with the photo and never shrinks; it goes when
 * this thread ends, right after. Plain JavaScript, so that it starts at once.
 */
import { parentPort, workerData } from 'node:worker_threads';

// The decoder logs what it lacks in a browser and the troubles of damaged files: the refusal says what matters.
for (const name of ['log', 'warn', 'error', 'info']) console[name] = () => undefined;
const { default: decodeHeic } = await import('heic-decode');
try {
  const { data, width, height } = await decodeHeic({ buffer: workerData });
  const pixels = new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  const own = pixels.byteLength === pixels.buffer.byteLength ? pixels : pixels.slice();
  parentPort.postMessage({ data: own, width, height }, [own.buffer]);
} catch (error) {
  parentPort.postMessage({ failed: error instanceof Error ? error.message : String(error) });
}
