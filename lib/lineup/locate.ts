import 'server-only';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { findCameraMove, SURE, USUAL_FOCAL } from './camera-move';
import type { Features } from './features';
import { bitsApart, type Matches } from './match-features';
import { learnPlace } from './learn-place';
import { doubtOfGround, groundBy, poseByGround } from './map-ground';
import { matchMap, pointsAsFeatures } from './map-matches';
import { poseByMap } from './map-pose';
import { startPlaceMap, type PlaceMap } from './place-map';

/**
 * A photo as a viewpoint's map takes it: its lasting points, and its focal length over its long side where the file
 * names one.
 */
export interface Seen {
  readonly features: Features;
  readonly focal: number | undefined;
}

/** Where a viewpoint's map puts the ground of its reference photo in another photo. */
export interface Located {
  /** Reference photo to this photo, upright full-size pixels. */
  readonly fromReference: Homography;
  /**
   * What the map can't know at the worst of the places asked for: one standard deviation, percent of this photo's
   * diagonal.
   */
  readonly doubtPercent: number;
  /** Lasting points of known nearness it was placed by. */
  readonly points: number;
}

/**
 * A map, and how well it foretold the photos it was taught by: gaps at the worst of the places, percent of each one's
 * diagonal, the newest last.
 */
export interface Taught {
  readonly map: PlaceMap;
  readonly missesPercent: readonly number[];
}

/** A map that knows its reference photo and nothing else. */
export function mapOf({ features, focal }: Seen): Taught {
  return { map: startPlaceMap(features, focal ?? USUAL_FOCAL), missesPercent: [] };
}

/**
 * What one more photo teaches, whose outlines count. A photo that doesn't surely show the place teaches nothing.
 * @param fromReference the ground's map from the reference photo to this one, by their outlines
 * @param places where in the reference photo those outlines hold it
 */
export function learnFrom(
  taught: Taught,
  { features, focal }: Seen,
  fromReference: Homography,
  places: readonly Point[],
): Taught {
  const { map } = taught;
  const matches = matchMap(map, features, bitsApart);
  const move = findCameraMove(pointsAsFeatures(map), features, matches, { focal: [map.focal, focal] });
  if (!move || move.surprise < SURE) return taught;
  const foretold = placeBy(map, features, matches, move, places);
  const misses = foretold
    ? [...taught.missesPercent, widest(foretold.fromReference, fromReference, places) * percentOf(features)]
    : taught.missesPercent;
  const byGround = poseByGround(map, features, move, fromReference, places);
  const pose = byGround?.pose ?? (map.ground ? poseByMap(map, features, matches, move) : null);
  return {
    map: learnPlace(map, features, matches, move, pose, byGround?.ground ?? null, bitsApart),
    missesPercent: misses.slice(-FORETOLD),
  };
}

/** How many of the last photos tell how well the map foretells, and how few are too few to say. */
const FORETOLD = 4;
const FEW_FORETOLD = 2;

/**
 * Places a photo by the map's lasting points alone: its pose from those whose nearness is known, then the ground the
 * map has learned. Nothing of how the turf looks today goes in. Null where the map knows no ground yet, has not been
 * put to the test by two photos since, or too little was seen again.
 */
export function locateBy(
  { map, missesPercent }: Taught,
  { features, focal }: Seen,
  places: readonly Point[],
): Located | null {
  if (missesPercent.length < FEW_FORETOLD) return null;
  const matches = matchMap(map, features, bitsApart);
  const move = findCameraMove(pointsAsFeatures(map), features, matches, { focal: [map.focal, focal] });
  const found = move && move.surprise >= SURE ? placeBy(map, features, matches, move, places) : null;
  if (!found) return null;
  const missed = Math.sqrt(missesPercent.reduce((sum, miss) => sum + miss ** 2, 0) / missesPercent.length);
  return { ...found, doubtPercent: Math.hypot(found.doubtPercent, missed) };
}

const percentOf = ({ width, height }: Features): number => 100 / Math.hypot(width, height);

function widest(a: Homography, b: Homography, places: readonly Point[]): number {
  return Math.max(
    ...places.map((p) => {
      const [u, v] = [applyHomography(a, p), applyHomography(b, p)];
      return Math.hypot(u[0] - v[0], u[1] - v[1]);
    }),
  );
}

type Move = NonNullable<ReturnType<typeof findCameraMove>>;

/**
 * By all points that agree; and, for what that can't know, by every other of them: two halves are apart by twice as
 * much.
 */
function placeBy(
  map: PlaceMap,
  features: Features,
  matches: Matches,
  move: Move,
  places: readonly Point[],
): Located | null {
  const by = (agreeing: Int32Array) => {
    const pose = map.ground ? poseByMap(map, features, matches, { ...move, agreeing }) : null;
    const fromReference = pose && groundBy(map, pose);
    return pose && fromReference ? { pose, fromReference } : null;
  };
  const [whole, even, odd] = [
    by(move.agreeing),
    by(move.agreeing.filter((_, k) => k % 2 === 0)),
    by(move.agreeing.filter((_, k) => k % 2 === 1)),
  ];
  if (!whole || !even || !odd) return null;
  const halves = widest(even.fromReference, odd.fromReference, places) / 2;
  return {
    fromReference: whole.fromReference,
    doubtPercent: percentOf(features) * Math.hypot(halves, doubtOfGround(map, whole.pose, places)),
    points: whole.pose.used,
  };
}
