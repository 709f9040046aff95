import 'server-only';
import { fieldCorners, GREY_FIELD, paperCorners } from '../photo/ground/card-design';
import { cardToPhoto, fitCardGround, type CardGround, type CardOnGround } from '../photo/ground/card-ground';
import { readBoard } from '../photo/ground/board';
import { applyHomography, type Homography } from '../photo/ground/homography';
import type { Pixels, Point, Polygon } from '../photo/raster/pixels';
import type { SeenCard } from './find-cards';

/** Limits for believing cards; from drawn scenes (tests/lineup), no published source. */
export const CARD_LIMITS = {
  /** Twice the standard error of a plot's corner, in shares of the diagonal. */
  doubt: 0.003,
  /**
   * Corners of the cards off the common map, beyond both: a card lies elsewhere than it did. Cards in place leave 0.03
   * to 0.07 pixels of a drawn photo with a diagonal of 2000; one laid 2 cm from its peg leaves 0.2 to 0.3, at 4 cm 0.4
   * to 0.6.
   */
  residualPx: 0.35,
  residualOfDiagonal: 0.00018,
} as const;

/** A map that cards fix, sure enough to count. */
export interface CardRegistration {
  /** Earlier photo to later photo. */
  readonly homography: Homography;
  /** 0.5 at the limit to 1. */
  readonly confidence: number;
  /** A card that was seen but does not lie where it did. */
  readonly strayed: number | null;
}

/** The map between two photos by the cards that both show; null when they don't fix the plots' corners well enough. */
export function registerByCards(
  before: readonly SeenCard[],
  after: readonly SeenCard[],
  plotCorners: readonly Point[],
  diagonalAfterPx: number,
): CardRegistration | null {
  const cards = after.flatMap((card): CardOnGround[] => {
    const then = before.find((one) => one.number === card.number);
    const toFrame = then && cardToPhoto(then.corners);
    return toFrame ? [{ number: card.number, corners: card.corners, toFrame }] : [];
  });
  const found = groundByCards(cards, false, diagonalAfterPx);
  const doubt = found ? doubtOf(found.ground, plotCorners, diagonalAfterPx) : 1;
  if (!found || doubt > CARD_LIMITS.doubt) return null;
  return { homography: found.ground.map, confidence: 1 - (0.5 * doubt) / CARD_LIMITS.doubt, strayed: found.strayed };
}

/**
 * The ground by cards that agree; one that strayed from its peg is left out where it is clear which. Null when they
 * don't agree.
 */
export function groundByCards(
  cards: readonly CardOnGround[],
  scaleFree: boolean,
  diagonalPx: number,
): { ground: CardGround; strayed: number | null } | null {
  const most = Math.max(CARD_LIMITS.residualPx, CARD_LIMITS.residualOfDiagonal * diagonalPx);
  const all = fitCardGround(cards, scaleFree);
  if (all && all.residualPx <= most) return { ground: all, strayed: null };
  if (cards.length < 4) return null;
  const without = cards
    .flatMap((card) => {
      const ground = fitCardGround(
        cards.filter((one) => one !== card),
        scaleFree,
      );
      return ground && ground.residualPx <= most ? [{ ground, strayed: card.number }] : [];
    })
    .sort((a, b) => a.ground.residualPx - b.ground.residualPx);
  const [best, second] = without;
  // When leaving out either of two cards helps alike, nobody knows which one strayed.
  return !best || (second && second.ground.residualPx < 2 * best.ground.residualPx) ? null : best;
}

/** Twice the largest standard error of the points' places, in shares of the diagonal. */
export function doubtOf(ground: CardGround, points: readonly Point[], diagonalPx: number): number {
  return (2 * Math.max(...points.map((p) => ground.sigmaPxAt(p)))) / diagonalPx;
}

/** The papers of cards in a photo, to be left out by what looks at the ground. */
export function paperOf(cards: readonly SeenCard[]): Polygon[] {
  const paper = paperCorners('letter').map(([x, y], i): Point => {
    const [ax, ay] = paperCorners('a4')[i]!;
    return [
      (Math.sign(x) * Math.max(Math.abs(x), Math.abs(ax))) / 1000,
      (Math.sign(y) * Math.max(Math.abs(y), Math.abs(ay))) / 1000,
    ];
  });
  return cards.flatMap((card) => {
    const map = cardToPhoto(card.corners);
    return map ? [paper.map((p) => applyHomography(map, p))] : [];
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
