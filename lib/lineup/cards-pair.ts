import 'server-only';
import { fieldCorners, GREY_FIELD, paperCorners } from '../photo/ground/card-design';
import {
  cardToPhoto,
  fitCardGround,
  LAYING_SD_M,
  type CardCamera,
  type CardGround,
  type CardOnGround,
} from '../photo/ground/card-ground';
import { readBoard } from '../photo/ground/board';
import {
  applyHomography,
  composeHomographies,
  IDENTITY,
  invertHomography,
  type Homography,
} from '../photo/ground/homography';
import type { Pixels, Point, Polygon } from '../photo/raster/pixels';
import type { SeenCard } from './find-cards';

/** Limits for believing cards; from drawn scenes (tests/lineup), no published source. */
export const CARD_LIMITS = {
  /**
   * Twice the standard error of a plot's corner, in shares of the diagonal: then it is off by more than 1 % about once
   * in a thousand times.
   */
  doubt: 0.006,
  /** The same for a guess that a person is to look at. */
  guess: 0.03,
  /** Corners of the cards off the common map, beyond what is usual: a card lies elsewhere than it did. */
  chi2PerFreedom: 2,
  /** A card farther from its place than this many standard deviations of laying strayed. */
  laying: 3.5,
  /** How well corners are seen, in shares of the diagonal, in photos so large that it counts. */
  cornerOfDiagonal: 0.00014,
} as const;

/** A map that cards fix. */
export interface CardRegistration {
  /** Earlier photo to later photo. */
  readonly homography: Homography;
  /** Sure enough to count; else a guess, with corners known to 3 % of the diagonal at worst. */
  readonly sure: boolean;
  /** 0.5 at the limit to 1; below it where it is a guess. */
  readonly confidence: number;
  /** A card that was seen but does not lie where it did. */
  readonly strayed: number | null;
}

/** A photo's size and, where its file tells, its focal length over its long side. */
interface PhotoFrame {
  readonly width: number;
  readonly height: number;
  readonly focal?: number | undefined;
}

/** A photo with the cards seen in it. */
export interface CardPhoto extends PhotoFrame {
  readonly cards: readonly SeenCard[];
}

/** The map between two photos by the cards that both show; null when they don't even give a guess of the plots' corners. */
export function registerByCards(
  before: CardPhoto,
  after: CardPhoto,
  plotCorners: readonly Point[],
): CardRegistration | null {
  const cards = after.cards.flatMap((card): CardOnGround[] => {
    const then = before.cards.find((one) => one.number === card.number);
    const toFrame = then && cardToPhoto(then.corners);
    // It was laid by hand both times.
    const layingSdM = Math.SQRT2 * LAYING_SD_M;
    return toFrame ? [{ number: card.number, corners: card.corners, toFrame, layingSdM }] : [];
  });
  if (cards.length < 2) return null;
  const diagonalPx = Math.hypot(after.width, after.height);
  const found = groundByCards(cards, false, after, metresOf(before));
  const doubt = found ? doubtOf(found.ground, plotCorners, diagonalPx) : 1;
  if (!found || doubt > CARD_LIMITS.guess) return null;
  return {
    homography: found.ground.map,
    sure: doubt <= CARD_LIMITS.doubt,
    confidence: 1 / (1 + doubt / CARD_LIMITS.doubt),
    strayed: found.strayed,
  };
}

/**
 * From metres on the ground to a photo, by cards that lie anywhere on it, all of one size (the first one's place is the
 * origin); null without a focal length or with fewer than two cards.
 */
function metresOf(photo: CardPhoto): Homography | null {
  const camera = cameraOf(photo, IDENTITY);
  const [first] = photo.cards;
  const perspective = first && cardToPhoto(first.corners);
  const toFirst = perspective && invertHomography(perspective);
  if (!camera || !toFirst) return null;
  const cards = photo.cards.map(({ number, corners }, k): CardOnGround => {
    const own = cardToPhoto(corners);
    const [x, y] = own ? applyHomography(toFirst, applyHomography(own, [0, 0])) : [0, 0];
    return { number, corners, toFrame: [1, 0, x, 0, 1, y, 0, 0, 1], layingSdM: k === 0 ? 1e-6 : ANYWHERE_M };
  });
  return fitCardGround(cards, { scaleFree: false, cornerSdPx: cornerSd(photo), camera })?.map ?? null;
}

/** Where nothing is known of a card's place but what one other card lets guess. */
const ANYWHERE_M = 1;

const cornerSd = ({ width, height }: PhotoFrame): number =>
  Math.max(0.35, CARD_LIMITS.cornerOfDiagonal * Math.hypot(width, height));

function cameraOf({ width, height, focal }: PhotoFrame, metresToFrame: Homography): CardCamera | undefined {
  return focal === undefined
    ? undefined
    : { focalPx: focal * Math.max(width, height), middle: [(width - 1) / 2, (height - 1) / 2], metresToFrame };
}

/**
 * The ground by cards that agree; one that strayed from its peg is left out where it is clear which. Null when they
 * don't agree.
 * @param metresToFrame from metres on the ground to the frame the cards are laid in, where that is known
 */
export function groundByCards(
  cards: readonly CardOnGround[],
  scaleFree: boolean,
  photo: PhotoFrame,
  metresToFrame: Homography | null,
): { ground: CardGround; strayed: number | null } | null {
  const fitting = {
    scaleFree,
    cornerSdPx: cornerSd(photo),
    camera: metresToFrame ? cameraOf(photo, metresToFrame) : undefined,
  };
  const all = fitCardGround(cards, fitting);
  if (all && agree(all)) return { ground: all, strayed: null };
  if (cards.length < 4) return null;
  const without = cards
    .flatMap((card) => {
      const ground = fitCardGround(
        cards.filter((one) => one !== card),
        fitting,
      );
      return ground && agree(ground) ? [{ ground, strayed: card.number }] : [];
    })
    .sort((a, b) => a.ground.chi2PerFreedom - b.ground.chi2PerFreedom);
  const [best, second] = without;
  // When leaving out either of two cards helps alike, nobody knows which one strayed.
  return !best || (second && second.ground.chi2PerFreedom < 4 * best.ground.chi2PerFreedom) ? null : best;
}

const agree = ({ chi2PerFreedom, layingOff }: CardGround): boolean =>
  chi2PerFreedom <= CARD_LIMITS.chi2PerFreedom && layingOff.every((off) => off <= CARD_LIMITS.laying);

/** Twice the largest standard error of the points' places, in shares of the diagonal. */
export function doubtOf(ground: CardGround, points: readonly Point[], diagonalPx: number): number {
  return (2 * Math.max(...points.map((p) => ground.sigmaPxAt(p)))) / diagonalPx;
}

/** Corners of a paper as wide as the widest and as long as the longest that cards are printed on, metres on the card. */
const PAPER: Polygon = paperCorners('letter').map(([x, y], i): Point => {
  const [ax, ay] = paperCorners('a4')[i]!;
  return [
    (Math.sign(x) * Math.max(Math.abs(x), Math.abs(ax))) / 1000,
    (Math.sign(y) * Math.max(Math.abs(y), Math.abs(ay))) / 1000,
  ];
});

const RING = 16;
/** Wherever a card is turned, its paper lies within a ring of this radius, metres (a ring of RING straight sides). */
const PAPER_REACH_M = Math.max(...PAPER.map(([x, y]) => Math.hypot(x, y))) / Math.cos(Math.PI / RING);

/**
 * Where cards lie in a photo that only the other one lets read (half covered, or cut by the picture's edge): a round
 * piece of ground about each of their pegs.
 * @param toHere from the other photo to this one
 */
export function pegsOfUnread(here: readonly SeenCard[], there: readonly SeenCard[], toHere: Homography): Polygon[] {
  return there
    .filter((card) => !here.some(({ number }) => number === card.number))
    .flatMap((card) => {
      const map = cardToPhoto(card.corners);
      if (!map) return [];
      const about = composeHomographies(toHere, map);
      const ring = Array.from({ length: RING }, (_, k): Point => {
        const turn = (2 * Math.PI * k) / RING;
        return applyHomography(about, [PAPER_REACH_M * Math.cos(turn), PAPER_REACH_M * Math.sin(turn)]);
      });
      return ring.every((p) => p.every(Number.isFinite)) ? [ring] : [];
    });
}

/** The papers of cards in a photo, to be left out by what looks at the ground. */
export function paperOf(cards: readonly SeenCard[]): Polygon[] {
  return cards.flatMap((card) => {
    const map = cardToPhoto(card.corners);
    return map ? [PAPER.map((p) => applyHomography(map, p))] : [];
  });
}

/**
 * The grey field of the card that lies in the most light without being overexposed: four corners in the photo, or
 * undefined. A card in shade would bring sunlit plots to a wrong white.
 */
export function greyFieldOf(photo: Pixels, cards: readonly SeenCard[]): Polygon | undefined {
  let best: { corners: Polygon; light: number } | undefined;
  for (const card of cards) {
    const map = cardToPhoto(card.corners);
    if (!map) continue;
    const corners = fieldCorners(GREY_FIELD).map(([x, y]): Point => applyHomography(map, [x / 1000, y / 1000]));
    const reading = readBoard(photo, corners);
    if (reading === null || reading.clippedShare > 0 || reading.unevenness > 1.25) continue;
    if (!best || reading.linear[1] > best.light) best = { corners, light: reading.linear[1] };
  }
  return best?.corners;
}
