import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { focalOf } from '@/lib/darkroom/exif';
import { alignAndCompare, lookAtSingle } from './compare-photos';
import type { PairAnswer, PairRequest } from './comparer';
import { findPlots } from './find-plots';
import { findPlotsByCards } from './find-plots-by-cards';

/** On the one comparing thread: finds a viewpoint's plots in a new photo, compares two photos, or looks at one by itself. */
export default async function onWorker(request: PairRequest): Promise<PairAnswer> {
  try {
    if ('find' in request) return { found: await findPlots(request.find) };
    if ('cards' in request) return { byCards: await findPlotsByCards(request.cards) };
    if ('look' in request) {
      const { pixels } = await decodePhoto(request.look.path);
      return { looked: lookAtSingle(pixels, request.look.plots) };
    }
    const { before, after, outlines, trustGiven = false, oneByOne = false } = request.compare;
    const first = decodePhoto(before);
    if (oneByOne) await first;
    const [{ pixels: earlier }, { pixels: later }] = await Promise.all([first, decodePhoto(after)]);
    return { compared: alignAndCompare(earlier, later, outlines, { trustGiven, focal: [await focalOf(before, earlier), await focalOf(after, later)] }) };
  } catch (error) {
    return { failed: error instanceof Error ? error.message : String(error) };
  }
}
