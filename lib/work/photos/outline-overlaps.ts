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

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

function boxRound(outline: Polygon): Box {
  const [xs, ys] = [outline.map(([x]) => x), outline.map(([, y]) => y)];
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

/** Most outlines of a photo lie apart, and their boxes tell. */
const boxesMeet = (one: Box, other: Box): boolean =>
  one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;

/**
 * What is to be said of a photo's measured outlines that lie on each other: by the names their plots have now, without
 * those in the bin.
 */
export function overlapCautions(outlines: readonly StateOutline[]): KeptCaution[] {
  const live = outlines
    .filter((outline) => outline.accepted && !outline.plotBinned)
    .map((outline) => ({ ...outline, box: boxRound(outline.corners) }));
  const pairs = live.flatMap((one, i) =>
    live.slice(i + 1).flatMap((other) => {
      if (!boxesMeet(one.box, other.box)) return [];
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
