import 'server-only';
import { applyHomography, signedArea, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { findCameraMove, SURE, type CameraMove } from './camera-move';
import { look } from './closer-look';
import { coarseSearch, distinct } from './coarse';
import type { Features } from './features';
import { lastingOf, type Lasting } from './ground';
import { knownNormal } from './known-normal';
import { matchFeatures, type Matches } from './match-features';
import { both, toCopy, toFull, type Looked, type Pair, type RegisterOptions, type Prepared } from './pair-looked';
import { refine } from './refine';
import { refineGround, type GroundFit } from './refine-ground';
import { searchGround } from './search-ground';
import { gap } from './settle';
import { uprightOfPair } from './upright';
import { compress, turfOnly, type Planes, type View } from './views';
import { layPair } from './warp';
import type { WindowOptions } from './windows';

/** A camera's move that is sure, and the lasting points it was found by. */
export interface Moved {
  readonly move: CameraMove;
  readonly points: Lasting;
}

/** A move less surprising than this is looked for again among more points. */
const PLAIN = 50;

/**
 * How the camera moved between the photos, by everything outside the boards; undefined when they may not show one
 * place.
 */
export function findMove({ features, closer }: Looked, options: RegisterOptions): Moved | undefined {
  const first = moveBy(features, matchFeatures(features.before, features.after), options);
  if (first && first.move.surprise >= PLAIN) return first;
  const more = closer();
  const second = moveBy(more.features, more.matches, options);
  const best = second && second.move.surprise > (first?.move.surprise ?? 0) ? second : first;
  return best && best.move.surprise >= SURE ? best : undefined;
}

function moveBy({ before, after }: Pair<Features>, matches: Matches, options: RegisterOptions): Moved | undefined {
  const move = findCameraMove(before, after, matches, options.focal ? { focal: options.focal } : {});
  return move && { move, points: lastingOf(move, before, after, matches) };
}

/** A plane that more than this share of the lasting points lie under is no ground. */
const UNDER = 0.15;
/** Guesses of the ground looked at closely. */
const GROUND_STARTS = 2;

/** Where the move may take the ground, best first. */
export function groundStarts(
  ready: Prepared,
  { move, points }: Moved,
  views: Pair<View>,
  options: RegisterOptions,
): GroundFit[] {
  const { photos: sizes, plots } = ready;
  const known = knownNormal(options, move.focal[0], sizes.before) ?? uprightOfPair(views.before, views.after, move);
  const l2 = both(ready.raw[1]!, (p) => compress(p, 4));
  const l4 = both(ready.raw[2]!, (p) => compress(p, 4));
  const rough = searchGround(l2.before, l2.after, move, points, sizes, plots, known, 5)
    .map((guess) => refineGround([l2], move, points, guess, sizes, plots, known, 6))
    .sort((a, b) => b.rank - a.rank);
  const near = 0.02 * Math.hypot(sizes.after.width, sizes.after.height);
  const apart = rough
    .filter((c, i) => rough.slice(0, i).every((d) => gap(c.map, d.map, plots) > near))
    .slice(0, GROUND_STARTS);
  return apart
    .filter((guess) => guess.under < UNDER)
    .map((guess) => refineGround([l4], move, points, guess, sizes, plots, known, 6))
    .sort((a, b) => b.rank - a.rank);
}

interface Candidate {
  readonly map: Homography;
  readonly score: number;
}

/** Starts looked at closely. */
const STARTS = 4;

/** Starts that may be right, best first: a search over everything at 100 pixels, then a closer look at 200. */
export function findStarts(ready: Prepared): Candidate[] {
  const [raw1, raw2] = ready.raw as [Pair<Planes>, Pair<Planes>];
  const wide = both(raw1, (p) => compress(p, 0.7));
  const turf1 = both(raw1, turfOnly);
  const l1 = both(raw1, (p) => compress(p, 2));
  const l2 = both(raw2, (p) => compress(p, 4));
  const turf2 = both(raw2, turfOnly);
  const agreeing = (pair: Pair<Planes>, full: Homography): { correlation: number; overlap: number } => {
    const laid = layPair(pair.before, pair.after);
    laid.warp(toCopy(full, pair));
    return laid.correlate();
  };
  const score = (full: Homography): number => {
    const [all, ground] = [agreeing(l2, full), agreeing(turf2, full)];
    // Turf counts double: a path alone fits as well a joint further along.
    return (all.correlation + 2 * ground.correlation) * Math.min(1, all.overlap + 0.25);
  };
  const guesses = distinct(
    [...coarseSearch(wide.before, wide.after, 7), ...coarseSearch(turf1.before, turf1.after, 7)],
    wide.before,
    12,
  );
  const ok = (map: Homography): boolean => plausible(map, ready.photos);
  const refined = guesses
    .map((g) => toFull(refine(l1.before, l1.after, g.map, { rounds: 10, block: 10 }).map, l1))
    .filter(ok)
    .map((map): Candidate => ({ map, score: score(map) }))
    .sort((a, b) => b.score - a.score);
  const near = 0.01 * Math.hypot(ready.photos.after.width, ready.photos.after.height);
  const apart = refined.filter((c, i) => refined.slice(0, i).every((d) => gap(c.map, d.map, ready.plots) > near));
  return apart
    .slice(0, STARTS)
    .map((c): Candidate => {
      const settled = look(l2, c.map, FIRST_LOOK, [0.06, 0.04], ready.plots);
      if (!settled || !ok(settled.full)) return c;
      const better = score(settled.full);
      return better > c.score ? { map: settled.full, score: better } : c;
    })
    .sort((a, b) => b.score - a.score);
}

const FIRST_LOOK: readonly WindowOptions[] = [
  { half: 12, reach: 8, spacing: 10, independent: 27 },
  { half: 7, reach: 15, spacing: 'striking', independent: 20 },
];

/** A second photo from about the same place: area within a factor of 2.2, turned less than 30 degrees, still convex. */
export function plausible(
  map: Homography,
  { before, after }: Pair<{ readonly width: number; readonly height: number }>,
): boolean {
  const [w, h] = [before.width - 1, before.height - 1];
  const corners: Point[] = [
    [0, 0],
    [w, 0],
    [w, h],
    [0, h],
  ];
  if (!map.every(Number.isFinite) || corners.some(([x, y]) => map[6] * x + map[7] * y + map[8] <= 0.2)) return false;
  const to = corners.map((c) => applyHomography(map, c));
  const area = signedArea(to) / (after.width * after.height);
  if (!(area > 1 / 2.2 && area < 2.2)) return false;
  for (let i = 0; i < 4; i++) {
    if (signedArea([to[i]!, to[(i + 1) % 4]!, to[(i + 2) % 4]!]) <= 0) return false;
  }
  const turn = Math.atan2(to[1]![1] - to[0]![1], to[1]![0] - to[0]![0]);
  return Math.abs(turn) < (30 * Math.PI) / 180;
}
