import { applyHomography, type Homography } from './homography';
import type { Point, Polygon } from '../raster/pixels';

/** One way to the new photo: a map from the viewpoint's reference photo, with whether its registration was accepted. */
export interface Route {
  readonly fromReference: Homography;
  readonly accepted: boolean;
}

export interface Agreement {
  /**
   * 'agree': both ways end within the tolerance. 'one': only one way was accepted. 'doubt': they differ or none was.
   */
  readonly verdict: 'agree' | 'one' | 'doubt';
  /** The map to use: the direct one when accepted, else the one by the last photo; a guess only when 'doubt'. */
  readonly fromReference: Homography;
  /**
   * Largest distance between the two ways at the plots' corners, percent of the photo's diagonal; undefined for one
   * way.
   */
  readonly gapPercent?: number;
}

/**
 * Holds a chain of photos to its start: each new photo is lined up with the viewpoint's reference and with its last
 * accepted photo, whose own map from the reference is known. Small errors can't add up from photo to photo unseen,
 * since the way through the last photo must end where the direct way ends, within `tolerancePercent` of the diagonal.
 */
export function agreeOrDoubt(
  direct: Route,
  byLast: Route | undefined,
  outlines: readonly Polygon[],
  diagonal: number,
  tolerancePercent = 1,
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

/**
 * Where a viewpoint's map of lasting points puts the ground, and how far off that may be: one standard deviation,
 * percent of the diagonal.
 */
export interface ByPlace {
  readonly fromReference: Homography;
  readonly doubtPercent: number;
}

/** A way that may not have been accepted, with how near it came: 0..1, accepted from 0.5. */
export interface Guess extends Route {
  readonly confidence: number;
}

/** A map that knows the place worse than this takes no part, percent. */
const VAGUE = 0.45;
/** A way refused with less than this is no more than a guess and not worth confirming. */
const WORTH_CONFIRMING = 0.2;
/** Two ways as near as this confirm each other, percent. */
const CONFIRMS = 0.7;

/**
 * The loop closed: the way found by how the ground looks must end where the lasting points round it put the ground,
 * which other photos taught. Where it doesn't, none is trusted. A way that fell short by itself is trusted when the map
 * ends at the same place.
 */
export function heldToPlace(
  agreement: Agreement,
  guesses: readonly Guess[],
  place: ByPlace | null,
  outlines: readonly Polygon[],
  diagonal: number,
  tolerancePercent = 1,
): Agreement {
  if (!place || !(place.doubtPercent <= VAGUE)) return agreement;
  const points = outlines.flat();
  const gapTo = (map: Homography): number => (100 * widest(map, place.fromReference, points)) / diagonal;
  if (agreement.verdict !== 'doubt')
    return gapTo(agreement.fromReference) > tolerancePercent + 2 * place.doubtPercent
      ? { ...agreement, verdict: 'doubt' }
      : agreement;
  const near = guesses
    .filter((guess) => guess.confidence >= WORTH_CONFIRMING && gapTo(guess.fromReference) <= CONFIRMS)
    .sort((a, b) => b.confidence - a.confidence)[0];
  // Of two accepted ways that differ, the map says which; of none, the place it puts the ground is the better guess.
  return near
    ? { verdict: 'agree', fromReference: near.fromReference, gapPercent: gapTo(near.fromReference) }
    : guesses.some((guess) => guess.accepted)
      ? agreement
      : { ...agreement, fromReference: place.fromReference };
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
