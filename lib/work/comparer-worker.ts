import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { alignAndCompare } from './compare-photos';
import type { PairAnswer, PairRequest } from './comparer';
import { findPlots } from './find-plots';

/** On the one comparing thread: finds a viewpoint's plots in a new photo, or compares two photos. */
export default async function onWorker(request: PairRequest): Promise<PairAnswer> {
  try {
    if ('find' in request) return { found: await findPlots(request.find) };
    const { before, after, outlines, trustGiven = false } = request.compare;
    const [first, second] = await Promise.all([decodePhoto(before), decodePhoto(after)]);
    return { compared: alignAndCompare(first.pixels, second.pixels, outlines, { trustGiven }) };
  } catch (error) {
    return { failed: error instanceof Error ? error.message : String(error) };
  }
}
