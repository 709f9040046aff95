import 'server-only';
import { betweenCopies, betweenFullSize, IDENTITY, applyHomography, signedArea, type Homography } from '@/lib/photo/homography';
import type { Pixels, Point, Polygon } from '@/lib/photo/pixels';
import { grown } from '@/lib/photo/region';
import { coarseSearch, distinct } from './coarse';
import { findBoardsIn, type Boards } from './find-boards';
import { judge, type Evidence, type Verdict } from './judge';
import { change, refine } from './refine';
import { gap, settle, uncertaintyAt, type Settled } from './settle';
import { compress, halve, hideBoards, makePlanes, makeView, turfOnly, type Planes, type View } from './views';
import { sight, type WindowOptions } from './windows';
import { correlate, makeWarped, warp } from './warp';
import { askTurf } from './witness';

export interface RegisterOptions {
  /** Outlines of the plots in the earlier photo: where the answer must be right. Without: the photo's middle. */
  readonly plotCornersBefore?: readonly Polygon[] | undefined;
  /** Corners of the boards (chart, grey card) in each photo, laid anew each time and so left out; looked for when not given. */
  readonly boardsBefore?: readonly Polygon[] | undefined;
  readonly boardsAfter?: readonly Polygon[] | undefined;
  /** Copies already made with `registrationView`, to save making them again. */
  readonly views?: { readonly before: View; readonly after: View } | undefined;
}

export interface Registration extends Verdict {
  /** Earlier photo to later photo, upright full-size pixels; with status 'taps' only a first guess to draw. */
  readonly homography: Homography;
  readonly ms: number;
  readonly evidence: Evidence;
  /** Boards found in each photo; undefined where they were given. */
  readonly boards: { readonly before: Boards | undefined; readonly after: Boards | undefined };
}

/** Width of the largest copy looked at. */
const WORKING_WIDTH = 800;
/** Boards are hidden with a margin: their edges and shadows move with them. */
const BOARD_MARGIN = 1.35;

interface Pair<T> {
  readonly before: T;
  readonly after: T;
}

interface Candidate {
  readonly map: Homography;
  readonly score: number;
}

const both = <A, B>({ before, after }: Pair<A>, make: (one: A) => B): Pair<B> => ({ before: make(before), after: make(after) });

/**
 * The map that carries outlines from one photo of a viewpoint to a later one, and whether to trust it.
 * Works on copies 100 to 800 pixels wide whatever the photos' size; the same input gives the same answer.
 * @throws RangeError when a photo is too small to look at
 */
export function registerPair(before: Pixels, after: Pixels, options: RegisterOptions = {}): Registration {
  for (const photo of [before, after]) {
    if (photo.width < 200 || photo.height < 150) {
      throw new RangeError(`registerPair: expected photos of at least 200 x 150 pixels, got ${photo.width} x ${photo.height}`);
    }
  }
  const started = performance.now();
  const photos = { before, after };
  const views = options.views ?? both(photos, registrationView);
  const boards = {
    before: options.boardsBefore ? undefined : findBoardsIn(views.before),
    after: options.boardsAfter ? undefined : findBoardsIn(views.after),
  };
  const ready = prepare(photos, views, {
    before: options.boardsBefore ?? outlinesOf(boards.before), after: options.boardsAfter ?? outlinesOf(boards.after),
  }, options.plotCornersBefore);
  const starts = findStarts(ready);
  const best = starts[0] ?? { map: IDENTITY, score: 0 };
  const { map, evidence } = closeIn(ready, best, starts);
  return { ...judge(evidence), homography: map, ms: performance.now() - started, evidence, boards };
}

/** The copy of a photo that registration looks at; `findBoardsIn` takes it too. */
export function registrationView(photo: Pixels): View {
  return makeView(photo, WORKING_WIDTH);
}

function outlinesOf(boards: Boards | undefined): Polygon[] {
  return [boards?.chart?.corners, boards?.greyCard?.corners].filter((c) => c !== undefined);
}

/** Photos made ready: copies at four sizes (smallest first), their planes, and where the answer must be right. */
interface Prepared {
  readonly photos: Pair<Pixels>;
  readonly plots: readonly Point[];
  readonly outlines: readonly Polygon[];
  readonly raw: readonly Pair<Planes>[];
}

/** Smoothing and the reach of the local level at each size, pixels of that copy. */
const PLANES = [[1.2, 9], [1.5, 9], [1.5, 10], [1.5, 10]] as const;

function prepare(
  photos: Pair<Pixels>, views800: Pair<View>, boards: Pair<readonly Polygon[]>, plots: readonly Polygon[] | undefined,
): Prepared {
  const views: Pair<View>[] = [{
    before: hideBoards(views800.before, boards.before.map((b) => grown(b, BOARD_MARGIN))), after: hideBoards(views800.after, boards.after.map((b) => grown(b, BOARD_MARGIN))),
  }];
  for (let i = 0; i < 3; i++) views.unshift(both(views[0]!, halve));
  const outlines = plots?.length ? plots : [middle(photos.before)];
  const raw = views.map((pair, i) => {
    const [smooth, local] = PLANES[i]!;
    return both(pair, (v) => makePlanes(v, smooth, local));
  });
  return { photos, plots: outlines.flat(), outlines, raw };
}

/** Starts looked at closely. */
const STARTS = 4;

/** Starts that may be right, best first: a search over everything at 100 pixels, then a closer look at 200. */
function findStarts(ready: Prepared): Candidate[] {
  const [raw1, raw2] = ready.raw as [Pair<Planes>, Pair<Planes>];
  const wide = both(raw1, (p) => compress(p, 0.7));
  const turf1 = both(raw1, turfOnly);
  const l1 = both(raw1, (p) => compress(p, 2));
  const l2 = both(raw2, (p) => compress(p, 4));
  const turf2 = both(raw2, turfOnly);
  const warped = makeWarped(l2.before.width * l2.before.height);
  const score = (full: Homography): number => {
    warp(l2.before, l2.after, toCopy(full, l2), warped);
    const all = correlate(l2.before, warped);
    warp(turf2.before, turf2.after, toCopy(full, l2), warped);
    const ground = correlate(turf2.before, warped);
    // Turf counts double: a path alone fits as well a joint further along.
    return (all.correlation + 2 * ground.correlation) * Math.min(1, all.overlap + 0.25);
  };
  const guesses = distinct(
    [...coarseSearch(wide.before, wide.after, 7), ...coarseSearch(turf1.before, turf1.after, 7)], wide.before, 12);
  const ok = (map: Homography): boolean => plausible(map, ready.photos);
  const refined = guesses.map((g) => toFull(refine(l1.before, l1.after, g.map, { rounds: 10, block: 10 }).map, l1))
    .filter(ok).map((map): Candidate => ({ map, score: score(map) })).sort((a, b) => b.score - a.score);
  const near = 0.01 * Math.hypot(ready.photos.after.width, ready.photos.after.height);
  const apart = refined.filter((c, i) => refined.slice(0, i).every((d) => gap(c.map, d.map, ready.plots) > near));
  return apart.slice(0, STARTS).map((c): Candidate => {
    const settled = look(l2, c.map, FIRST_LOOK, [0.06, 0.04], ready.plots);
    if (!settled || !ok(settled.full)) return c;
    const better = score(settled.full);
    return better > c.score ? { map: settled.full, score: better } : c;
  }).sort((a, b) => b.score - a.score);
}

const FIRST_LOOK: readonly WindowOptions[] = [
  { half: 12, reach: 8, spacing: 10, independent: 27 }, { half: 7, reach: 15, spacing: 'striking', independent: 20 },
];

/** Looks ever closer: size of the copy (index into the copies), windows. */
const STEPS: readonly (readonly [number, readonly WindowOptions[]])[] = [
  [1, [{ half: 12, reach: 7, spacing: 8, independent: 27 }, { half: 7, reach: 12, spacing: 'striking', independent: 20 }]],
  [2, [{ half: 12, reach: 7, spacing: 14, independent: 27 }, { half: 9, reach: 12, spacing: 'striking', independent: 28 }]],
  [2, [{ half: 12, reach: 5, spacing: 14, independent: 27 }, { half: 9, reach: 8, spacing: 'striking', independent: 28 }]],
  [3, [{ half: 15, reach: 6, spacing: 24, independent: 41 }, { half: 12, reach: 8, spacing: 'striking', independent: 40 }]],
];

/** The last look is repeated while it moves the corners by more than this. */
const STILL_PERCENT = 0.35;

const NOTHING_SEEN: Evidence['steps'][number] = { sigmaPercent: 99, withoutOnePercent: 99, agreement: 0, sightings: 0, movedPercent: 99 };

/** Not for photos that are plainly no pair: they move for ever. */
function worthAnotherLook(found: Evidence['steps'][number]): boolean {
  return found.sigmaPercent < 0.8 && found.sightings >= 20;
}

/** From the best start to the answer, with what was seen on the way. */
function closeIn(ready: Prepared, best: Candidate, starts: readonly Candidate[]): { map: Homography; evidence: Evidence } {
  const { plots, outlines, photos, raw } = ready;
  const percent = 100 / Math.hypot(photos.after.width, photos.after.height);
  const levels = raw.map((pair, i) => (i === 0 ? pair : both(pair, (p) => compress(p, 4))));
  const rival = starts.find((c) => gap(c.map, best.map, plots) * percent > 4)?.score ?? 0;
  let map = best.map;
  const steps: Evidence['steps'][number][] = [];
  const step = (size: number, windows: readonly WindowOptions[]): Evidence['steps'][number] => {
    const level = levels[size]!;
    const settled = look(level, map, windows, [0.05, 0.03], plots);
    if (!settled || !plausible(settled.full, photos)) return NOTHING_SEEN;
    const s = level.before.scale;
    const small = plots.map(([x, y]): Point => [(x + 0.5) * s - 0.5, (y + 0.5) * s - 0.5]);
    const smallPercent = 100 / Math.hypot(level.before.width, level.before.height);
    const movedPercent = gap(map, settled.full, plots) * percent;
    map = settled.full;
    return {
      sigmaPercent: smallPercent * Math.max(...small.map((p) => uncertaintyAt(level.before, settled.covariance, p))),
      withoutOnePercent: smallPercent * Math.max(0, ...settled.without.map((d) => gap(change(d, level.before), IDENTITY, small))),
      agreement: settled.agreement,
      sightings: settled.kept.length,
      movedPercent,
    };
  };
  for (const [size, windows] of STEPS) {
    let looks = 1;
    let found = step(size, windows);
    while (steps.length === STEPS.length - 1 && looks < 3 && found.movedPercent > STILL_PERCENT && worthAnotherLook(found)) {
      found = step(size, windows);
      looks++;
    }
    steps.push(found);
  }
  const asked = both(raw[2]!, (p) => compress(p, 1));
  const turf = askTurf(asked.before, asked.after, toCopy(map, asked), outlines, 12, 16);
  const inFrame = plots.filter((p) => {
    const [x, y] = applyHomography(map, p);
    return x >= 0 && y >= 0 && x <= photos.after.width - 1 && y <= photos.after.height - 1;
  }).length / plots.length;
  return { map, evidence: { steps, turf, startScore: best.score, rivalScore: rival, cornersInFrame: inFrame } };
}

/** Extra doubt, pixels per pixel outside the plots' bounding box: what stands behind a lawn is not in its plane. */
const OUTSIDE_DOUBT = 0.015;

function look(
  level: Pair<Planes>, full: Homography, windows: readonly WindowOptions[], loose: readonly [number, number], plots: readonly Point[],
): (Settled & { full: Homography }) | undefined {
  const map = toCopy(full, level);
  const scale = level.before.scale;
  const [x0, x1, y0, y1] = [0, 0, 1, 1].map((k, i) => scale * (i % 2 === 0 ? Math.min : Math.max)(...plots.map((p) => p[k]!))) as [number, number, number, number];
  const sightings = sight(level.before, level.after, map, windows).map((s) => {
    const outside = Math.hypot(Math.max(0, x0 - s.x, s.x - x1), Math.max(0, y0 - s.y, s.y - y1));
    const doubt = (OUTSIDE_DOUBT * outside) ** 2;
    return { ...s, xx: s.xx + doubt, yy: s.yy + doubt };
  });
  const settled = settle(level.before, map, sightings, { floor: 0.4, cell: level.before.width / 11, loose });
  return settled && { ...settled, full: toFull(settled.map, level) };
}

const toCopy = (full: Homography, l: Pair<Planes>): Homography => betweenCopies(full, l.before.scale, l.after.scale);
const toFull = (map: Homography, l: Pair<Planes>): Homography => betweenFullSize(map, l.before.scale, l.after.scale);

function middle({ width: w, height: h }: Pixels): Point[] {
  return [[0.15 * w, 0.15 * h], [0.85 * w, 0.15 * h], [0.85 * w, 0.75 * h], [0.15 * w, 0.75 * h]];
}

/** A second photo from about the same place: area within a factor of 2.2, turned less than 30 degrees, still convex. */
function plausible(map: Homography, { before, after }: Pair<{ readonly width: number; readonly height: number }>): boolean {
  const [w, h] = [before.width - 1, before.height - 1];
  const corners: Point[] = [[0, 0], [w, 0], [w, h], [0, h]];
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
