import 'server-only';
import type { Homography } from '@/lib/photo/ground/homography';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { decide, oneWay } from './both-ways';
import type { Evidence, Verdict } from './judge';
import { lookAtBoth, type FoundBoards, type RegisterOptions } from './pair-looked';

export interface Registration extends Verdict {
  /** Earlier photo to later photo, upright full-size pixels; with status 'taps' only a first guess to draw. */
  readonly homography: Homography;
  readonly ms: number;
  readonly evidence: Evidence;
  readonly boards: FoundBoards;
}

/**
 * The map that carries outlines from one photo of a viewpoint to a later one, and whether to trust it. An answer that
 * is not sure by itself, or that another one contradicts, is put to the test: the photos are lined up the other way
 * round, which meets other windows, other starts and other repeats; what is right ends at the same place. Works on
 * copies 100 to 1200 pixels wide whatever the photos' size; the same input gives the same answer.
 * @throws RangeError when a photo is too small to look at
 */
export function registerPair(before: Pixels, after: Pixels, options: RegisterOptions = {}): Registration {
  const started = performance.now();
  const looked = lookAtBoth(before, after, options);
  const { verdict, map, evidence } = decide(looked, oneWay(looked, options), options);
  return { ...verdict, homography: map, ms: performance.now() - started, evidence, boards: looked.found };
}
