import { applyHomography, type Homography } from './homography';
import type { Point, Polygon } from './pixels';

/** One way to the new photo: a map from the viewpoint's reference photo, with whether its registration was accepted. */
export interface Route {
  readonly fromReference: Homography;
  readonly accepted: boolean;
}

export interface Agreement {
  /** 'agree': both ways end within the tolerance. 'one': only one way was accepted. 'doubt': they differ or none was. */
  readonly verdict: 'agree' | 'one' | 'doubt';
  /** The map to use: the direct one when accepted, else the one by the last photo; a guess only when 'doubt'. */
  readonly fromReference: Homography;
  /** Largest distance between the two ways at the plots' corners, percent of the photo's diagonal; undefined for one way. */
  readonly gapPercent?: number;
}

/**
 * Holds a chain of photos to its start: each new photo is lined up with the viewpoint's reference and with its last
 * accepted photo, whose own map from the reference is known. Small errors can't add up from photo to photo unseen,
 * since the way through the last photo must end where the direct way ends, within `tolerancePercent` of the diagonal.
 */
export function agreeOrDoubt(
  direct: Route, byLast: Route | undefined, outlines: readonly Polygon[], diagonal: number, tolerancePercent = 1,
): Agreement {
  if (!byLast) return { verdict: direct.accepted ? 'one' : 'doubt', fromReference: direct.fromReference };
  const points = outlines.flat();
  const gapPercent = (100 * widest(direct.fromReference, byLast.fromReference, points)) / diagonal;
  const best = direct.accepted || !byLast.accepted ? direct.fromReference : byLast.fromReference;
  if (direct.accepted && byLast.accepted) {
    return { verdict: gapPercent <= tolerancePercent ? 'agree' : 'doubt', fromReference: best, gapPercent };
  }
  return { verdict: direct.accepted || byLast.accepted ? 'one' : 'doubt', fromReference: best, gapPercent };
}

function widest(a: Homography, b: Homography, points: readonly Point[]): number {
  let most = 0;
  for (const p of points) {
    const [ax, ay] = applyHomography(a, p);
    const [bx, by] = applyHomography(b, p);
    const distance = Math.hypot(ax - bx, ay - by);
    most = Number.isNaN(distance) ? Infinity : Math.max(most, distance);
  }
  return most;
}
