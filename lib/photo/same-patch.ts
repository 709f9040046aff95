import { applyHomography, homographyFrom4 } from './homography';
import type { Point, Polygon } from './pixels';

/** Where a patch lies on its plot: 0..1 across and along, whatever the photo. */
export interface PlaceOnPlot {
  readonly across: number;
  readonly along: number;
}

/**
 * The middle of a patch as a place on its plot.
 * @param patch its outline in the photo
 * @param plot the plot's four corners in the same photo: far-left, far-right, near-right, near-left
 * @returns null when the plot isn't a quadrilateral
 */
export function placeOnPlot(patch: Polygon, plot: Polygon): PlaceOnPlot | null {
  if (plot.length !== 4 || patch.length === 0) return null;
  const toPlot = homographyFrom4(plot, [[0, 0], [1, 0], [1, 1], [0, 1]]);
  if (toPlot === null) return null;
  const middle: Point = [mean(patch.map(([x]) => x)), mean(patch.map(([, y]) => y))];
  const [across, along] = applyHomography(toPlot, middle);
  return { across, along };
}

/** Two patches count as one when their middles lie nearer than this share of the plot's sides (our own choice, no source). */
export const SAME_PATCH_WITHIN = 0.15;

/** Whether two places are of one patch. */
export function isSamePlace(a: PlaceOnPlot, b: PlaceOnPlot): boolean {
  return Math.abs(a.across - b.across) <= 2 * SAME_PATCH_WITHIN && Math.abs(a.along - b.along) <= SAME_PATCH_WITHIN;
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
