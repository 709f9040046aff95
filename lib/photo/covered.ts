import { applyHomography, invertHomography, type Homography } from './ground/homography';
import type { GroundRaster } from './ground/rectify';
import type { Polygon } from './raster/pixels';
import { grown, regionOf } from './raster/region';

/** A thing's outline is taken this much larger: its edge's blur, and the bright line a phone's sharpening draws round it. */
const MARGIN = 1.1;

/**
 * A plot seen from above without what lies on it (papers of plot cards, colour charts, grey cards): those cells count
 * as not seen, since there is no turf to be measured.
 * @param things their outlines, pixels of the photo
 * @param toPhoto from the plot's cells to that photo
 * @returns the raster itself where nothing lies on the plot
 */
export function withoutThings(plot: GroundRaster, things: readonly Polygon[], toPhoto: Homography): GroundRaster {
  const { width, height } = plot;
  const toCells = invertHomography(toPhoto);
  if (things.length === 0 || toCells === null) return plot;
  let seen: Uint8Array | null = null;
  for (const thing of things) {
    const onPlot = grown(thing, MARGIN).map((p) => applyHomography(toCells, p));
    if (!onPlot.every((p) => p.every(Number.isFinite))) continue;
    const { runs } = regionOf(onPlot, width, height);
    for (let at = 0; at < runs.length; at += 3)
      (seen ??= plot.seen.slice()).fill(0, runs[at]! * width + runs[at + 1]!, runs[at]! * width + runs[at + 2]!);
  }
  return seen === null ? plot : { ...plot, seen };
}
