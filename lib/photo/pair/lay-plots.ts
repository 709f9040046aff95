import { composeHomographies, type Homography } from '../ground/homography';
import { fitHomography } from '../ground/homography-fit';
import type { Polygon } from '../raster/pixels';
import { withoutThings } from '../covered';
import { cellsToPhoto, type PlotFrame } from '../plot-frame';
import { inPictureShare, LEAST_IN_PICTURE } from '../raster/region';
import { rectifyLinear, type GroundRaster } from '../ground/rectify';
import type { PairInput, PairPlot } from './pair-input';

/** In words, when too little of a plot lies in one of the photos. */
export function leavesPhoto({ before, after }: PairInput, plot: PairPlot): string | null {
  for (const [words, photo, corners] of [
    ['later', after, plot.cornersAfter],
    ['earlier', before, plot.cornersBefore],
  ] as const) {
    const share = inPictureShare(corners, photo.width, photo.height);
    if (share < LEAST_IN_PICTURE) return `leaves the ${words} photo (${Math.floor(100 * share)}% of it in the picture)`;
  }
  return null;
}

export interface Laid {
  readonly before: GroundRaster;
  readonly after: GroundRaster;
  readonly toBefore: Homography;
  readonly toAfter: Homography;
  readonly cellsToGround: Homography;
}

/** One plot seen from above in both photos, and the maps that lead there; boards and what lies on it left out. */
export function layPlot(input: PairInput, plot: PairPlot, frame: PlotFrame): Laid {
  const toBefore = cellsToPhoto(frame, plot.cornersBefore);
  const toAfter = cellsToPhoto(frame, plot.cornersAfter);
  const above = (when: 'before' | 'after', toPhoto: Homography): GroundRaster =>
    withoutThings(rectifyLinear(input[when], toPhoto, frame.width, frame.height), thingsLying(input, when), toPhoto);
  return {
    before: above('before', toBefore),
    after: above('after', toAfter),
    toBefore,
    toAfter,
    cellsToGround: composeHomographies(groundOf(input.plots), toBefore),
  };
}

/** Earlier photo to ground metres, where all plots tell them; else the photo's own pixels stand for the ground. */
export function groundOf(plots: readonly PairPlot[]): Homography {
  const from = plots.flatMap((plot) => [...plot.cornersBefore]);
  const to = plots.flatMap((plot) => [...(plot.groundMetres ?? [])]);
  return (from.length === to.length ? fitHomography(from, to) : null) ?? [1, 0, 0, 0, 1, 0, 0, 0, 1];
}

/** Outlines of what lies on the ground in one of the photos and is no turf: boards, papers of plot cards. */
export function thingsLying(input: PairInput, when: 'before' | 'after'): Polygon[] {
  return [input.chart?.[when], input.greyCard?.[when], ...(input.lying?.[when] ?? [])].filter(
    (thing) => thing !== undefined,
  );
}
