import 'server-only';
import {
  betweenCopies,
  composeHomographies,
  homographyFrom4,
  invertHomography,
  type Homography,
} from '@/lib/photo/ground/homography';
import type { Point, Polygon } from '@/lib/photo/raster/pixels';
import { fitOf, sampleBox } from './ground-fit';
import type { Planes } from './views';

/** Shifts looked at, in the outlines' own widths and depths: what repeats (strips, stakes, joints) repeats by these. */
const SHIFTS = [0.5, 1, 2] as const;
/** A shift is looked for this far to each side, as a share of an outline's width or depth. */
const GIVE = [-0.16, -0.08, 0, 0.08, 0.16] as const;

/**
 * How well the plots' surroundings look the same under a map, and the best they do when the answer is slid over the
 * ground by a plot's width or depth: a grid of stakes on plain turf looks the same one strip on. Correlations, -1..1.
 */
export function fitAndRival(
  before: Planes,
  after: Planes,
  map: Homography,
  outlines: readonly Polygon[],
): { fit: number; rivalFit: number } {
  const fitAt = fitOf(before, after, sampleBox(before, outlines.flat()));
  const at = (full: Homography): number => fitAt(betweenCopies(full, before.scale, after.scale));
  const fit = at(map);
  let rivalFit = -1;
  const outline = outlines[Math.floor(outlines.length / 2)]!;
  const square = outline.length === 4 ? homographyFrom4(UNIT, outline) : null;
  const back = square && invertHomography(square);
  if (!square || !back) return { fit, rivalFit };
  for (const shift of SHIFTS) {
    for (const [dx, dy] of [
      [shift, 0],
      [-shift, 0],
      [0, shift],
      [0, -shift],
    ] as const) {
      for (const give of GIVE) {
        const [sx, sy] = dx !== 0 ? [dx + give, 0] : [0, dy + give];
        const slid = composeHomographies(square, composeHomographies([1, 0, sx, 0, 1, sy, 0, 0, 1], back));
        rivalFit = Math.max(rivalFit, at(composeHomographies(map, slid)));
      }
    }
  }
  return { fit, rivalFit };
}

const UNIT: readonly Point[] = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
];
