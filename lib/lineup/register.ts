import 'server-only';
import {
  betweenCopies,
  betweenFullSize,
  composeHomographies,
  IDENTITY,
  applyHomography,
  invertHomography,
  signedArea,
  type Homography,
} from '@/lib/photo/ground/homography';
import type { Pixels, Point, Polygon } from '@/lib/photo/raster/pixels';
import { grown } from '@/lib/photo/raster/region';
import { coarseSearch, distinct } from './coarse';
import { findBoardsIn, type Boards } from './find-boards';
import {
  confirmed,
  contradicted,
  judge,
  knowsItself,
  offOdds,
  passesGuards,
  SAME_PLACE,
  type Evidence,
  type Gaps,
  type Verdict,
} from './judge';
import { findCameraMove, SURE, type CameraMove } from './camera-move';
import { featureWidth, findFeaturesIn, type Features } from './features';
import {
  changeBetween,
  groundOnly,
  lastingOf,
  inOrder,
  refineGround,
  searchGround,
  type GroundFit,
  type Lasting,
} from './ground';
import { knownNormal } from './known-normal';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import { onceFor } from './once';
import { fitAndRival } from './rival';
import { matchFeatures, type Matches } from './match-features';
import { change, refine } from './refine';
import { gap, settle, uncertaintyAt, type SettleOptions, type Settled } from './settle';
import {
  compress,
  halve,
  hideBoards,
  makePlanes,
  makeView,
  turfOnly,
  withoutLight,
  type Planes,
  type View,
} from './views';
import { sight, type WindowOptions } from './windows';
import { uprightOfPair } from './upright';
import { layPair } from './warp';
import { askTurf, type Witness } from './witness';

export interface RegisterOptions {
  /** Outlines of the plots in the earlier photo: where the answer must be right. Without: the photo's middle. */
  readonly plotCornersBefore?: readonly Polygon[] | undefined;
  /**
   * Corners of the boards (chart, grey card) in each photo, laid anew each time and so left out; looked for when not
   * given.
   */
  readonly boardsBefore?: readonly Polygon[] | undefined;
  readonly boardsAfter?: readonly Polygon[] | undefined;
  /** The plots' corners in metres on the ground, same order: they tell which way the ground lies. */
  readonly plotMetresBefore?: readonly (Polygon | undefined)[] | undefined;
  /** How the earlier photo's camera was held, from the phone's sensor, degrees: see `cameraTilt`. */
  readonly tiltBefore?: { readonly pitchDeg: number; readonly rollDeg: number | null } | undefined;
  /** Focal lengths over the long side of the upright full photo, where the files name them. */
  readonly focal?: readonly [number | undefined, number | undefined] | undefined;
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

const both = <A, B>({ before, after }: Pair<A>, make: (one: A) => B): Pair<B> => ({
  before: make(before),
  after: make(after),
});

/**
 * The map that carries outlines from one photo of a viewpoint to a later one, and whether to trust it. An answer that
 * is not sure by itself, or that another one contradicts, is put to the test: the photos are lined up the other way
 * round, which meets other windows, other starts and other repeats; what is right ends at the same place. Works on
 * copies 100 to 1200 pixels wide whatever the photos' size; the same input gives the same answer.
 * @throws RangeError when a photo is too small to look at
 */
export function registerPair(before: Pixels, after: Pixels, options: RegisterOptions = {}): Registration {
  const started = performance.now();
  const looked = lookAtBoth(before, after, options);
  const { verdict, map, evidence } = decide(looked, oneWay(looked, options), options);
  return { ...verdict, homography: map, ms: performance.now() - started, evidence, boards: looked.found };
}

/** More of the photos' points, and which take each other for their nearest: the same whichever way round. */
interface Closer {
  readonly features: Pair<Features>;
  readonly matches: Matches;
}

/** Two photos made ready, whichever way they are then lined up. */
interface Looked {
  readonly photos: Pair<Pixels>;
  readonly views: Pair<View>;
  readonly found: Registration['boards'];
  readonly raw: readonly Pair<Planes>[];
  readonly features: Pair<Features>;
  /** The same looked at more closely: see `CLOSER`. */
  readonly closer: () => Closer;
}

function lookAtBoth(before: Pixels, after: Pixels, options: RegisterOptions): Looked {
  for (const photo of [before, after]) {
    if (photo.width < 200 || photo.height < 150) {
      throw new RangeError(
        `registerPair: expected photos of at least 200 x 150 pixels, got ${photo.width} x ${photo.height}`,
      );
    }
  }
  const photos = { before, after };
  const views = options.views ?? both(photos, registrationView);
  const found = {
    before: options.boardsBefore ? undefined : findBoardsIn(views.before),
    after: options.boardsAfter ? undefined : findBoardsIn(views.after),
  };
  const boards = {
    before: (options.boardsBefore ?? outlinesOf(found.before)).map((b) => grown(b, BOARD_MARGIN)),
    after: (options.boardsAfter ?? outlinesOf(found.after)).map((b) => grown(b, BOARD_MARGIN)),
  };
  const features = { before: featuresOf(before, boards.before), after: featuresOf(after, boards.after) };
  const [planesBefore, planesAfter] = [planesOf(views.before, boards.before), planesOf(views.after, boards.after)];
  const closer = once((): Closer => {
    const more = { before: closerOf(before, boards.before), after: closerOf(after, boards.after) };
    return { features: more, matches: matchFeatures(more.before, more.after) };
  });
  return {
    photos,
    views,
    found,
    raw: planesBefore.map((planes, i) => ({ before: planes, after: planesAfter[i]! })),
    features,
    closer,
  };
}

const swapped = <T>({ before, after }: Pair<T>): Pair<T> => ({ before: after, after: before });

/** The same photos, the later one taken for the earlier. */
const turnedRound = ({ photos, views, found, raw, features, closer }: Looked): Looked => ({
  photos: swapped(photos),
  views: swapped(views),
  found: { before: found.after, after: found.before },
  raw: raw.map(swapped),
  features: swapped(features),
  closer: once(() => {
    const { features: more, matches } = closer();
    return { features: swapped(more), matches: { ...matches, first: matches.second, second: matches.first } };
  }),
});

/** The answers of one direction, the likeliest first. */
/**
 * Every answer looked at closely, the likeliest first: those the camera's move gives, then, when none of them can be
 * trusted, the one a search on colours gives.
 */
function oneWay(looked: Looked, options: RegisterOptions): Answer[] {
  const ready = readyFor(looked, options);
  const moved = findMove(looked, options);
  const answers: Answer[] = [];
  if (moved)
    for (const fit of groundStarts(ready, moved, looked.views, options))
      answers.push(closeIn(ready, fit.map, { moved, fit }));
  if (!answers.some((answer) => answer.verdict.status === 'ok' && !wantsWitness(answer))) {
    const starts = findStarts(ready);
    answers.push(closeIn(ready, starts[0]?.map ?? IDENTITY, undefined));
  }
  return answers.sort((a, b) => a.verdict.offChance - b.verdict.offChance);
}

/**
 * Few lasting points, or most of them in the ground itself, may place the ground a little off: the search on colours is
 * asked too.
 */
function wantsWitness({ evidence: { move } }: Answer): boolean {
  return move !== undefined && (move.surprise < 200 || move.within > 0.3);
}

/** Two answers further apart than this at a plot's corner are different answers, percent of the diagonal. */
const DIFFERENT = 0.7;
/** A different answer whose odds are not worse by this much (logarithm) is a rival. */
const RIVAL_ODDS = 1;
/** The other direction's answer must be as likely as this to give a new start. */
const SHOWS_THE_WAY = -3;

/** Both directions' log odds together where one was started from the other's end, and so says less. */
const STARTED_THERE = -6;

/** An answer with worse odds than these contradicts nothing. */
const HOPELESS = 1;

/**
 * The pair's answer out of one direction's, the likeliest first; asks the other direction where that doesn't settle it.
 */
function decide(looked: Looked, answers: readonly Answer[], options: RegisterOptions): Answer {
  const { photos } = looked;
  const ready = readyFor(looked, options);
  const apart = (a: Homography, b: Homography): number => gapInSight(a, b, ready.outlines, photos.after);
  const hasRival = (answer: Answer): boolean =>
    answers.some(
      (other) =>
        apart(other.map, answer.map) > DIFFERENT &&
        offOdds(other.evidence) < offOdds(answer.evidence) + RIVAL_ODDS &&
        !outspoken(answer, other),
    );
  const best = answers[0]!;
  const contested = hasRival(best);
  if (best.verdict.status === 'ok' && !contested) return best;
  const refused = contested ? { ...best, verdict: contradicted(best.verdict) } : best;
  const other = otherWay(looked, best, options);
  if (!other) return refused;
  const [back, toAfter, ownToAfter] = other;
  const gapsFrom = (answer: Answer): Gaps => {
    const own = answer.own();
    return { maps: apart(answer.map, toAfter), byTurf: own && ownToAfter ? apart(own, ownToAfter) : undefined };
  };
  const gaps = gapsFrom(best);
  const verdict = confirmed(best.evidence, back.evidence, gaps);
  if (verdict) return { ...best, map: between(best, toAfter, ownToAfter, ready.outlines), verdict };
  if (gaps.maps <= SAME_PLACE) return refused;
  // It ends elsewhere. When it is much the likelier, this direction may never have come near: it is started from there.
  if (offOdds(back.evidence) <= SHOWS_THE_WAY && passesGuards(back.evidence)) {
    const again = closeIn(ready, toAfter, undefined);
    if (!hasRival(again) && apart(again.map, toAfter) <= SAME_PLACE) {
      if (again.verdict.status === 'ok') return again;
      const both = confirmed(again.evidence, back.evidence, gapsFrom(again), STARTED_THERE);
      if (both) return { ...again, map: between(again, toAfter, ownToAfter, ready.outlines), verdict: both };
    }
  }
  return contested || offOdds(back.evidence) > HOPELESS ? refused : { ...best, verdict: contradicted(best.verdict) };
}

/** Where the turf plainly knows itself under one answer and not under another, that other one is no rival. */
function outspoken(answer: Answer, other: Answer): boolean {
  return (
    knowsItself(answer.evidence.turf) &&
    other.evidence.turf.median < 0.6 * answer.evidence.turf.median &&
    other.evidence.turf.z < answer.evidence.turf.z
  );
}

/** The middle of what the two directions say, with and without the plots' own turf. */
function between(
  best: Answer,
  toAfter: Homography,
  ownToAfter: Homography | undefined,
  outlines: readonly Polygon[],
): Homography {
  const own = best.own();
  const maps = [best.map, toAfter, ...(own && ownToAfter ? [own, ownToAfter] : [])];
  const from = outlines.flat();
  const to = from.map((p): Point => {
    const all = maps.map((map) => applyHomography(map, p));
    return [0, 1].map((k) => all.reduce((sum, q) => sum + q[k]!, 0) / all.length) as unknown as Point;
  });
  return fitHomography(from, to) ?? best.map;
}

/** Points along each side of an outline that are held against each other. */
const ALONG = 4;

/**
 * Largest distance between where two maps put the outlines' sides, as far as the later photo shows them; percent of its
 * diagonal.
 */
function gapInSight(a: Homography, b: Homography, outlines: readonly Polygon[], after: Pixels): number {
  let [most, seen] = [0, 0];
  for (const outline of outlines) {
    outline.forEach(([x, y], i) => {
      const [ex, ey] = outline[(i + 1) % outline.length]!;
      for (let k = 0; k < ALONG; k++) {
        const p: Point = [x + ((ex - x) * k) / ALONG, y + ((ey - y) * k) / ALONG];
        const [u, v] = [applyHomography(a, p), applyHomography(b, p)];
        if (![u, v].some(([px, py]) => px >= 0 && py >= 0 && px <= after.width - 1 && py <= after.height - 1)) continue;
        seen++;
        most = Math.max(most, Math.hypot(u[0] - v[0], u[1] - v[1]));
      }
    });
  }
  return seen === 0 ? Infinity : (100 * most) / Math.hypot(after.width, after.height);
}

/**
 * The likeliest answer of the photos lined up the other way round, and its maps turned back (its own turf's last);
 * undefined where the guess can't be followed.
 */
function otherWay(
  looked: Looked,
  best: Answer,
  options: RegisterOptions,
): [Answer, Homography, Homography | undefined] | undefined {
  const plots = options.plotCornersBefore?.length ? options.plotCornersBefore : [middle(looked.photos.before)];
  const moved = plots.map((plot) => plot.map((p) => applyHomography(best.map, p)));
  if (!moved.flat(2).every(Number.isFinite)) return undefined;
  const [back] = oneWay(turnedRound(looked), {
    plotCornersBefore: moved,
    plotMetresBefore: options.plotMetresBefore,
    ...(options.focal ? { focal: [options.focal[1], options.focal[0]] as const } : {}),
  });
  const toAfter = back && invertHomography(back.map);
  const own = toAfter && back.own();
  return toAfter ? [back, toAfter, (own && invertHomography(own)) ?? undefined] : undefined;
}

/** A camera's move that is sure, and the lasting points it was found by. */
interface Moved {
  readonly move: CameraMove;
  readonly points: Lasting;
}

/**
 * How the camera moved between the photos, by everything outside the boards; undefined when they may not show one
 * place.
 */
function findMove({ features, closer }: Looked, options: RegisterOptions): Moved | undefined {
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

/** A move less surprising than this is looked for again among more points. */
const PLAIN = 50;
/** Points a cell may give then: where light and leaves changed, the strongest points are not those that last. */
const CLOSER = { each: 40 } as const;

const featuresOnce = onceFor<Pixels, Features>();

/** A photo's lasting points outside its boards. */
function featuresOf(photo: Pixels, boards: readonly Polygon[]): Features {
  return featuresOnce(photo, JSON.stringify(boards), () =>
    findFeaturesIn(hideBoards(makeView(photo, featureWidth(photo)), boards), photo),
  );
}

const closerOnce = onceFor<Pixels, Features>();

function closerOf(photo: Pixels, boards: readonly Polygon[]): Features {
  return closerOnce(photo, JSON.stringify(boards), () =>
    findFeaturesIn(hideBoards(makeView(photo, featureWidth(photo)), boards), photo, CLOSER),
  );
}

/** A plane that more than this share of the lasting points lie under is no ground. */
const UNDER = 0.15;
/** Guesses of the ground looked at closely. */
const GROUND_STARTS = 2;

/** Where the move may take the ground, best first. */
function groundStarts(
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

/** The copy of a photo that registration looks at; `findBoardsIn` takes it too. */
export function registrationView(photo: Pixels): View {
  return viewOnce(photo, '', () => makeView(photo, WORKING_WIDTH));
}

const viewOnce = onceFor<Pixels, View>();

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
const PLANES = [
  [1.2, 9],
  [1.5, 9],
  [1.5, 10],
  [1.5, 10],
] as const;

function readyFor({ photos, raw }: Looked, { plotCornersBefore: plots }: RegisterOptions): Prepared {
  const outlines = plots?.length ? plots : [middle(photos.before)];
  return { photos, plots: outlines.flat(), outlines, raw };
}

const planesOnce = onceFor<View, Planes[]>();

/** The planes of a photo without its boards, at four sizes, smallest first. */
function planesOf(view800: View, boards: readonly Polygon[]): Planes[] {
  return planesOnce(view800, JSON.stringify(boards), () => {
    const views = [hideBoards(view800, boards)];
    for (let i = 0; i < 3; i++) views.unshift(halve(views[0]!));
    return views.map((view, i) => {
      const [smooth, local] = PLANES[i]!;
      return makePlanes(view, smooth, local);
    });
  });
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

/** Looks ever closer: size of the copy (index into the copies), windows. */
// prettier-ignore
const STEPS: readonly (readonly [number, readonly WindowOptions[]])[] = [
  [1, [{ half: 12, reach: 7, spacing: 8, independent: 27 }, { half: 7, reach: 12, spacing: 'striking', independent: 20 }]],
  [2, [{ half: 12, reach: 7, spacing: 14, independent: 27 }, { half: 9, reach: 12, spacing: 'striking', independent: 28 }]],
  [2, [{ half: 12, reach: 5, spacing: 14, independent: 27 }, { half: 9, reach: 8, spacing: 'striking', independent: 28 }]],
  [3, [{ half: 15, reach: 6, spacing: 24, independent: 41 }, { half: 12, reach: 8, spacing: 'striking', independent: 40 }]],
];

/** The last look is repeated while it moves the corners by more than this. */
const STILL_PERCENT = 0.35;

const NOTHING_SEEN: Evidence['steps'][number] = {
  sigmaPercent: 99,
  withoutOnePercent: 99,
  agreement: 0,
  sightings: 0,
  movedPercent: 99,
};

/** Not for photos that are plainly no pair: they move for ever. */
function worthAnotherLook(found: Evidence['steps'][number]): boolean {
  return found.sigmaPercent < 0.8 && found.sightings >= 20;
}

/** A map looked at closely. */
export interface Answer {
  readonly map: Homography;
  readonly evidence: Evidence;
  readonly verdict: Verdict;
  /** The map that the plots' own turf gives, looked at from this one; undefined where it says too little. */
  readonly own: () => Homography | undefined;
}

/** Worked out when first asked for. */
function once<Made>(make: () => Made): () => Made {
  let made: { readonly value: Made } | undefined;
  return () => (made ??= { value: make() }).value;
}

/** From a start to the answer, with what was seen on the way; held by the camera's move where one is known. */
function closeIn(
  ready: Prepared,
  start: Homography,
  by: { readonly moved: Moved; readonly fit: GroundFit } | undefined,
): Answer {
  const { plots, outlines, photos, raw } = ready;
  const percent = 100 / Math.hypot(photos.after.width, photos.after.height);
  const levels = raw.map((pair, i) => {
    if (i === 0) return pair;
    const level = both(pair, (p) => compress(p, 4));
    return by
      ? { before: groundOnly(level.before, by.fit.plane, by.fit.move.focal[0], photos.before), after: level.after }
      : level;
  });
  const percentOf = (level: Pair<Planes>): number => 100 / Math.hypot(level.before.width, level.before.height);
  const step = (
    from: Homography,
    size: number,
    windows: readonly WindowOptions[],
    held: boolean | 'own',
  ): { map: Homography; found: Evidence['steps'][number] } => {
    const level = levels[size]!;
    const settled = look(
      level,
      from,
      windows,
      held === 'own' ? OWN : held && by ? heldBy(by.fit, from, level) : by ? FREED : [0.05, 0.03],
      plots,
      held === 'own' ? CLOSE_ROUND : held ? AROUND : undefined,
    );
    if (!settled || !(by ? inOrder(settled.full, plots, photos) : plausible(settled.full, photos)))
      return { map: from, found: NOTHING_SEEN };
    const s = level.before.scale;
    const small = plots.map(([x, y]): Point => [(x + 0.5) * s - 0.5, (y + 0.5) * s - 0.5]);
    return {
      map: settled.full,
      found: {
        sigmaPercent:
          percentOf(level) * Math.max(...small.map((p) => uncertaintyAt(level.before, settled.covariance, p))),
        withoutOnePercent:
          percentOf(level) * Math.max(0, ...settled.without.map((d) => gap(change(d, level.before), IDENTITY, small))),
        agreement: settled.agreement,
        sightings: settled.kept.length,
        movedPercent: gap(from, settled.full, plots) * percent,
      },
    };
  };
  const climb = (
    from: Homography,
    held: boolean | 'own',
    path: typeof STEPS,
  ): { map: Homography; steps: Evidence['steps'][number][] } => {
    let map = from;
    const steps: Evidence['steps'][number][] = [];
    for (const [size, windows] of path) {
      for (let looks = 1; looks <= 3; looks++) {
        const next = step(map, size, windows, held);
        map = next.map;
        steps[steps.length - (looks > 1 ? 1 : 0)] = next.found;
        if (size !== 3 || next.found.movedPercent <= STILL_PERCENT || !worthAnotherLook(next.found)) break;
      }
    }
    return { map, steps };
  };
  const first = climb(start, by !== undefined, by ? STEPS.slice(1) : STEPS);
  let { map } = first;
  let steps = first.steps.slice(-3);
  let whole = wholeFit(ready, map, by);
  let freedPercent = 0;
  if (by) {
    // Where the ground itself holds much that lasts, it is surer than the move: let it settle by itself, and see.
    const freed = climb(map, false, STEPS.slice(2));
    const fit = wholeFit(ready, freed.map, by);
    freedPercent = gap(map, freed.map, plots) * percent;
    if (freed.steps.at(-1)!.sigmaPercent < steps.at(-1)!.sigmaPercent && fit.fit > whole.fit - NO_WORSE) {
      ({ map } = freed);
      steps = [steps[0]!, ...freed.steps];
      whole = fit;
    }
  }
  const asked = both(raw[2]!, (p) => compress(p, 1));
  const ask = (by: Homography): Witness => askTurf(asked.before, asked.after, toCopy(by, asked), outlines, 12, 16);
  const turf = ask(map);
  const own = once((): Homography | undefined => {
    if (!(turf.median >= SPEAKS.median && turf.z >= SPEAKS.z && turf.offset <= SPEAKS.offset)) return undefined;
    const looked = climb(map, 'own', STEPS.slice(2));
    return looked.steps.at(-1) === NOTHING_SEEN ? undefined : looked.map;
  });
  const coarse = both(raw[1]!, (p) => compress(p, 1));
  const blotches = askTurf(coarse.before, coarse.after, toCopy(map, coarse), outlines, 12, 10);
  const ofColour = knowsItself(turf) ? both(asked, withoutLight) : undefined;
  const colour = ofColour && askTurf(ofColour.before, ofColour.after, toCopy(map, ofColour), outlines, 12, 16);
  const inFrame =
    plots.filter((p) => {
      const [x, y] = applyHomography(map, p);
      return x >= 0 && y >= 0 && x <= photos.after.width - 1 && y <= photos.after.height - 1;
    }).length / plots.length;
  const evidence: Evidence = {
    steps,
    turf,
    blotches,
    ...(colour ? { colour } : {}),
    cornersInFrame: inFrame,
    ...whole,
    ...(by ? moveEvidence(by, photos, map, plots, freedPercent) : {}),
  };
  return { map, evidence, verdict: judge(evidence), own };
}

/** How well the surroundings of the plots look the same under a map, and how well they do a plot's width or so away. */
function wholeFit(
  ready: Prepared,
  map: Homography,
  by: { readonly fit: GroundFit } | undefined,
): Pick<Evidence, 'fit' | 'rivalFit'> {
  const level = both(ready.raw[2]!, (p) => compress(p, 4));
  const before = by ? groundOnly(level.before, by.fit.plane, by.fit.move.focal[0], ready.photos.before) : level.before;
  return fitAndRival(before, level.after, map, ready.outlines);
}

function moveEvidence(
  { moved: { move, points }, fit }: { readonly moved: Moved; readonly fit: GroundFit },
  sizes: Pair<Pixels>,
  map: Homography,
  plots: readonly Point[],
  freedPercent: number,
): NonNullable<Pick<Evidence, 'move'>> {
  const percent = 100 / Math.hypot(sizes.after.width, sizes.after.height);
  return {
    move: {
      surprise: move.surprise,
      parallax: move.parallax,
      agreeing: points.count,
      under: fit.under,
      within: fit.within,
      groundFit: fit.fit,
      offPercent: gap(map, fit.map, plots) * percent,
      freedPercent,
    },
  };
}

/** How far a ground let go may move: shift and affine part, perspective part (half-diagonals). */
const FREED = [0.03, 0.02] as const;
/** The same where only the plots and their edges are looked at. */
const OWN = [0.03, 0.02] as const;
const CLOSE_ROUND = 0.1;
/** From here on the turf inside the plots says enough to be asked where they are. */
const SPEAKS = { median: 0.1, z: 2, offset: 4 } as const;
/** A ground let go may look this much less the same and still be preferred for being surer. */
const NO_WORSE = 0.01;

/** What the camera's move allows, as a change against the map at hand. */
function heldBy(fit: GroundFit, map: Homography, level: Pair<Planes>): SettleOptions['loose'] {
  const mean = changeBetween(toCopy(map, level), toCopy(fit.allowed.centre, level), level.before);
  return mean ? { mean, information: fit.allowed.information } : [0.05, 0.03];
}

/** Extra doubt, pixels per pixel outside the plots' bounding box: what stands behind a lawn is not in its plane. */
const OUTSIDE_DOUBT = 0.015;

function look(
  level: Pair<Planes>,
  full: Homography,
  windows: readonly WindowOptions[],
  loose: SettleOptions['loose'],
  plots: readonly Point[],
  crop?: number,
): (Settled & { full: Homography }) | undefined {
  const map = toCopy(full, level);
  const scale = level.before.scale;
  const [x0, x1, y0, y1] = [0, 0, 1, 1].map(
    (k, i) => scale * (i % 2 === 0 ? Math.min : Math.max)(...plots.map((p) => p[k]!)),
  ) as [number, number, number, number];
  const part =
    crop !== undefined ? cropped(level.before, crop, x0, x1, y0, y1) : { planes: level.before, left: 0, top: 0 };
  const partMap = composeHomographies(map, [1, 0, part.left, 0, 1, part.top, 0, 0, 1]);
  const sightings = sight(part.planes, level.after, partMap, windows).map((found) => {
    const s = { ...found, x: found.x + part.left, y: found.y + part.top };
    const outside = Math.hypot(Math.max(0, x0 - s.x, s.x - x1), Math.max(0, y0 - s.y, s.y - y1));
    const doubt = (OUTSIDE_DOUBT * outside) ** 2;
    return { ...s, xx: s.xx + doubt, yy: s.yy + doubt };
  });
  const settled = settle(level.before, map, sightings, { floor: 0.4, cell: level.before.width / 11, loose });
  return settled && { ...settled, full: toFull(settled.map, level) };
}

/**
 * How far about the plots their surroundings are looked at when the camera's move holds the rest, as a share of their
 * extent.
 */
const AROUND = 0.5;

/** The part of a copy about the plots' box (left, right, top, bottom), and where it lies. */
function cropped(
  planes: Planes,
  around: number,
  x0: number,
  x1: number,
  y0: number,
  y1: number,
): { planes: Planes; left: number; top: number } {
  const box = [around, x0, x1, y0, y1].join();
  const known = crops.get(planes);
  if (known?.box === box) return known;
  const [mx, my] = [around * (x1 - x0) + 24, around * (y1 - y0) + 24];
  const left = Math.max(0, Math.floor(x0 - mx));
  const top = Math.max(0, Math.floor(y0 - my));
  const width = Math.min(planes.width, Math.ceil(x1 + mx)) - left;
  const height = Math.min(planes.height, Math.ceil(y1 + my)) - top;
  const whole = width >= planes.width && height >= planes.height;
  const data = whole ? planes.data : new Float32Array(4 * width * height);
  if (!whole)
    for (let y = 0; y < height; y++)
      data.set(
        planes.data.subarray(4 * ((top + y) * planes.width + left), 4 * ((top + y) * planes.width + left + width)),
        4 * y * width,
      );
  const part = whole
    ? { box, planes, left: 0, top: 0 }
    : { box, planes: { width, height, scale: planes.scale, data }, left, top };
  crops.set(planes, part);
  return part;
}

/** The part of each copy that was asked for last: one copy is looked at more than once. */
const crops = new WeakMap<Planes, { box: string; planes: Planes; left: number; top: number }>();

const toCopy = (full: Homography, l: Pair<Planes>): Homography => betweenCopies(full, l.before.scale, l.after.scale);
const toFull = (map: Homography, l: Pair<Planes>): Homography => betweenFullSize(map, l.before.scale, l.after.scale);

function middle({ width: w, height: h }: Pixels): Point[] {
  return [
    [0.15 * w, 0.15 * h],
    [0.85 * w, 0.15 * h],
    [0.85 * w, 0.75 * h],
    [0.15 * w, 0.75 * h],
  ];
}

/** A second photo from about the same place: area within a factor of 2.2, turned less than 30 degrees, still convex. */
function plausible(
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
