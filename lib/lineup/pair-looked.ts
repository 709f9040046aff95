import 'server-only';
import { betweenCopies, betweenFullSize, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point, Polygon } from '@/lib/photo/raster/pixels';
import { grown } from '@/lib/photo/raster/region';
import { featureWidth, findFeaturesIn, type Features } from './features';
import { findBoardsIn, type Boards } from './find-boards';
import { matchFeatures, type Matches } from './match-features';
import { onceFor } from './once';
import { halve, hideBoards, makePlanes, makeView, type Planes, type View } from './views';

/** What is known of two photos before they are lined up. */
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

export interface Pair<T> {
  readonly before: T;
  readonly after: T;
}

export const both = <A, B>({ before, after }: Pair<A>, make: (one: A) => B): Pair<B> => ({
  before: make(before),
  after: make(after),
});

export const swapped = <T>({ before, after }: Pair<T>): Pair<T> => ({ before: after, after: before });

/** Width of the largest copy looked at. */
const WORKING_WIDTH = 800;
/** Boards are hidden with a margin: their edges and shadows move with them. */
const BOARD_MARGIN = 1.35;

/** More of the photos' points, and which take each other for their nearest: the same whichever way round. */
interface Closer {
  readonly features: Pair<Features>;
  readonly matches: Matches;
}

/** Boards found in each photo; undefined where they were given. */
export interface FoundBoards {
  readonly before: Boards | undefined;
  readonly after: Boards | undefined;
}

/** Two photos made ready, whichever way they are then lined up. */
export interface Looked {
  readonly photos: Pair<Pixels>;
  readonly views: Pair<View>;
  readonly found: FoundBoards;
  readonly raw: readonly Pair<Planes>[];
  readonly features: Pair<Features>;
  /** The same looked at more closely: see `CLOSER`. */
  readonly closer: () => Closer;
}

export function lookAtBoth(before: Pixels, after: Pixels, options: RegisterOptions): Looked {
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

/** The same photos, the later one taken for the earlier. */
export const turnedRound = ({ photos, views, found, raw, features, closer }: Looked): Looked => ({
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

/** The copy of a photo that registration looks at; `findBoardsIn` takes it too. */
export function registrationView(photo: Pixels): View {
  return viewOnce(photo, '', () => makeView(photo, WORKING_WIDTH));
}

const viewOnce = onceFor<Pixels, View>();

function outlinesOf(boards: Boards | undefined): Polygon[] {
  return [boards?.chart?.corners, boards?.greyCard?.corners].filter((c) => c !== undefined);
}

/** Smoothing and the reach of the local level at each size, pixels of that copy. */
const PLANES = [
  [1.2, 9],
  [1.5, 9],
  [1.5, 10],
  [1.5, 10],
] as const;

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

/** Two photos made ready one way round: copies at four sizes (smallest first), and where the answer must be right. */
export interface Prepared {
  readonly photos: Pair<Pixels>;
  readonly plots: readonly Point[];
  readonly outlines: readonly Polygon[];
  readonly raw: readonly Pair<Planes>[];
}

export function readyFor({ photos, raw }: Looked, { plotCornersBefore: plots }: RegisterOptions): Prepared {
  const outlines = plots?.length ? plots : [middle(photos.before)];
  return { photos, plots: outlines.flat(), outlines, raw };
}

/** Where the answer must be right when no plots are given. */
export function middle({ width: w, height: h }: Pixels): Point[] {
  return [
    [0.15 * w, 0.15 * h],
    [0.85 * w, 0.15 * h],
    [0.85 * w, 0.75 * h],
    [0.15 * w, 0.75 * h],
  ];
}

/** Worked out when first asked for. */
export function once<Made>(make: () => Made): () => Made {
  let made: { readonly value: Made } | undefined;
  return () => (made ??= { value: make() }).value;
}

export const toCopy = (full: Homography, l: Pair<Planes>): Homography =>
  betweenCopies(full, l.before.scale, l.after.scale);
export const toFull = (map: Homography, l: Pair<Planes>): Homography =>
  betweenFullSize(map, l.before.scale, l.after.scale);
