import { applyHomography, homographyFrom4, signedArea } from './homography';
import type { Point } from '../raster/pixels';

export type StripsFromStakes =
  | { readonly kind: 'laid'; readonly outlines: readonly { readonly plotId: string; readonly corners: Point[] }[] }
  /** The four taps run the other way round than the map: no camera sees ground mirrored. */
  | { readonly kind: 'mirrored' }
  /** Three taps in a line, or crossing. */
  | { readonly kind: 'no-map' };

/**
 * The outlines of all strips of a map from where its four corner stakes stand in a photo, from whichever side it was
 * taken.
 * @param rectangleM the four stakes in metres, x to the right and y away, far left, far right, near right, near left of
 *   the map
 * @param taps the same four in the photo, pixels
 */
export function stripsFromStakes(
  rectangleM: readonly Point[],
  taps: readonly Point[],
  strips: readonly { readonly plotId: string; readonly cornersM: readonly Point[] }[],
): StripsFromStakes {
  const map = homographyFrom4(rectangleM, taps);
  if (map === null) return { kind: 'no-map' };
  // y is away on the map and down in the photo: seen from above, far left to far right to near right is clockwise in
  // both.
  if (-signedArea(rectangleM) * signedArea(taps) <= 0) return { kind: 'mirrored' };
  return {
    kind: 'laid',
    outlines: strips.map(({ plotId, cornersM }) => ({
      plotId,
      corners: cornersM.map((corner) => applyHomography(map, corner)),
    })),
  };
}
