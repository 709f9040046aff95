import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { alignAndCompare } from './compare-photos';
import type { CompareAnswer, CompareRequest } from './comparer';

/** On the one thread that owns OpenCV: decodes two photos, lines them up, compares them. */
export default async function compareOnWorker({ before, after, outlines }: CompareRequest): Promise<CompareAnswer> {
  try {
    const [first, second] = await Promise.all([decodePhoto(before), decodePhoto(after)]);
    return { compared: await alignAndCompare(first.pixels, second.pixels, outlines) };
  } catch (error) {
    return { failed: error instanceof Error ? error.message : String(error) };
  }
}
