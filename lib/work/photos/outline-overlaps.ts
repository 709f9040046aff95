import 'server-only';
import type { KeptCaution } from '@/lib/diary/photos';
import type { StateOutline } from '@/lib/diary/worked-out';
import type { Polygon } from '@/lib/photo/raster/pixels';
import { polygonArea } from '@/lib/photo/raster/region';
import { sharedAreaM2 } from '@/lib/trial/plot-ground';

/** An earlier version kept it with the reading, where it grew old. */
export const OUTLINES_OVERLAP = 'outlines-overlap';

/**
 * Two outlines that share more than this of the smaller one measure the same ground twice. Our own choice, no source.
 */
const OVERLAP_SHARE = 0.02;

/** Whether the upright boxes round two outlines meet: most outlines of a photo lie apart. */
function boxesMeet(one: Polygon, other: Polygon): boolean {
  return ([0, 1] as const).every((axis) => {
    const along = (outline: Polygon) => outline.map((corner) => corner[axis]);
    return Math.min(...along(one)) < Math.max(...along(other)) && Math.min(...along(other)) < Math.max(...along(one));
  });
}

/**
 * What is to be said of a photo's measured outlines that lie on each other: by the names their plots have now, without
 * those in the bin.
 */
export function overlapCautions(outlines: readonly StateOutline[]): KeptCaution[] {
  const live = outlines.filter((outline) => outline.accepted && !outline.plotBinned);
  const pairs = live.flatMap((one, i) =>
    live.slice(i + 1).flatMap((other) => {
      if (!boxesMeet(one.corners, other.corners)) return [];
      // The clipping doesn't ask for the unit: here it is pixels.
      const share =
        (sharedAreaM2(one.corners, other.corners) ?? 0) /
        Math.min(Math.abs(polygonArea(one.corners)), Math.abs(polygonArea(other.corners)));
      return share > OVERLAP_SHARE ? [{ names: `${one.plotName} and ${other.plotName}`, share }] : [];
    }),
  );
  if (pairs.length === 0) return [];
  const most = Math.max(...pairs.map(({ share }) => share));
  return [
    {
      code: OUTLINES_OVERLAP,
      value: most,
      sentence: `Outlines overlap: ${pairs.map(({ names, share }) => `${names} share ${(100 * share).toFixed(0)} % of the smaller`).join('; ')}. That ground counts for both, so their difference shrinks.`,
    },
  ];
}
