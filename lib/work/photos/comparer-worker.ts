import 'server-only';
import { focalOf } from '@/lib/darkroom/exif';
import { photoAtHand } from '@/lib/darkroom/photos-at-hand';
import { lastingBetween } from '@/lib/lineup/lasting-between';
import { alignAndCompare, lookAtSingle } from './compare-photos';
import type { PairAnswer, PairRequest } from './comparer';
import { findPlots } from './find-plots';
import { findPlotsByCards } from './find-plots-by-cards';

/**
 * On the one comparing thread: finds a viewpoint's plots in a new photo, compares two photos, looks at one by itself,
 * or finds places of one again in another.
 */
export default async function onWorker(request: PairRequest): Promise<PairAnswer> {
  try {
    if ('find' in request) return { found: await findPlots(request.find) };
    if ('cards' in request) return { byCards: await findPlotsByCards(request.cards) };
    if ('look' in request) {
      const { pixels } = await photoAtHand(request.look.path);
      return { looked: lookAtSingle(pixels, request.look.plots) };
    }
    if ('lasting' in request) {
      const [{ pixels: first }, { pixels: second }] = await Promise.all([
        photoAtHand(request.lasting.before),
        photoAtHand(request.lasting.after),
      ]);
      return { lasted: lastingBetween(first, second, request.lasting.places) };
    }
    const { before, after, outlines, trustGiven = false, oneByOne = false } = request.compare;
    const first = photoAtHand(before);
    if (oneByOne) await first;
    const [{ pixels: earlier }, { pixels: later }] = await Promise.all([first, photoAtHand(after)]);
    return {
      compared: alignAndCompare(earlier, later, outlines, {
        trustGiven,
        focal: [await focalOf(before, earlier), await focalOf(after, later)],
      }),
    };
  } catch (error) {
    return { failed: error instanceof Error ? error.message : String(error) };
  }
}
