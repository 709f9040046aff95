import { applyHomography, homographyFrom4 } from './ground/homography';
import type { Point, Polygon } from './raster/pixels';

/**
 * How a plot is cut out to be looked at: a rectangle of ground from straight above. A long plot lies on its side, its
 * far end at the right.
 */
export interface CutFrame {
  readonly width: number;
  readonly height: number;
  readonly turned: boolean;
}

const LONG_SIDE_PX = 400;
/** A squarish plot is drawn smaller, so that no cut-out takes more room or bytes than a strip does. */
const MOST_PX = 60_000;
/**
 * A plot narrower than this share of its length lies on its side: two such then compare along a seam as wide as the
 * screen.
 */
const LIES_BELOW = 0.75;
/** As plots from above are drawn where nobody said how large they are. */
const UNKNOWN_ASPECT = 0.5;

/** The frame of a plot; without its size on the ground it is taken to be twice as long as wide. */
export function cutFrame(size: { readonly widthM: number; readonly lengthM: number } | null): CutFrame {
  const known = size !== null && size.widthM > 0 && size.lengthM > 0;
  // Beyond 1:12 there would be nothing to see across.
  const aspect = Math.min(12, Math.max(1 / 12, known ? size.widthM / size.lengthM : UNKNOWN_ASPECT));
  const turned = aspect < LIES_BELOW;
  const wide = turned ? 1 / aspect : aspect;
  const long = Math.min(LONG_SIDE_PX, Math.sqrt(MOST_PX * Math.max(wide, 1 / wide)));
  return {
    width: Math.round(wide >= 1 ? long : long * wide),
    height: Math.round(wide >= 1 ? long / wide : long),
    turned,
  };
}

/**
 * A plot's corners (far-left, far-right, near-right, near-left) in the order top left, top right, bottom right, bottom
 * left of its cut-out.
 */
export function cutCorners(corners: Polygon, turned: boolean): Point[] {
  const [farLeft, farRight, nearRight, nearLeft] = corners as readonly [Point, Point, Point, Point];
  return turned ? [nearLeft, farLeft, farRight, nearRight] : [farLeft, farRight, nearRight, nearLeft];
}

/**
 * Where an outline in the photo lies on the plot's cut-out, 0-1 to the right and down; null when the plot is no
 * quadrilateral.
 */
export function onCut(outline: Polygon, corners: Polygon, turned: boolean): Point[] | null {
  if (corners.length !== 4) return null;
  const toCut = homographyFrom4(cutCorners(corners, turned), [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ]);
  return toCut === null ? null : outline.map((point) => applyHomography(toCut, point));
}
