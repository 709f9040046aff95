import 'server-only';
import { focalOf } from '@/lib/darkroom/exif';
import { photoAtHand } from '@/lib/darkroom/photos-at-hand';
import { CARD_LIMITS, doubtOf, groundByCards } from '@/lib/lineup/cards-pair';
import { findCards } from '@/lib/lineup/find-cards';
import { cardAtPlace } from '@/lib/photo/ground/card-ground';
import { applyHomography, IDENTITY, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';

/** Where cards are pegged and plots lie, metres on the lawn's plan. */
export interface GroundPlan {
  readonly cards: readonly { readonly number: number; readonly placeM: Point }[];
  readonly plots: readonly { readonly id: string; readonly polygonM: readonly Point[] }[];
}

export interface CardRequest {
  readonly path: string;
  readonly plan: GroundPlan;
}

export interface FoundByCards {
  readonly corners: Readonly<Record<string, Point[]>>;
  readonly confidence: number;
  /** In words, what the cards gave and what is odd about them. */
  readonly sentence: string;
  readonly cards: readonly number[];
}

/** Finds plots by the plot cards in a photo; null when too few are seen or they don't fix the ground well enough. */
export async function findPlotsByCards({ path, plan }: CardRequest): Promise<FoundByCards | null> {
  const { pixels } = await photoAtHand(path);
  return plotsByCards(pixels, plan, await focalOf(path, pixels));
}

/**
 * The same on a photo already decoded. Plots that lie wholly beside the picture are left out.
 * Exported for drawn photos, which lie in no file.
 * @param focal focal length over the photo's long side, where its file names it
 */
export function plotsByCards(photo: Pixels, plan: GroundPlan, focal?: number): FoundByCards | null {
  const seen = findCards(photo).flatMap((card) => {
    const known = plan.cards.find((one) => one.number === card.number);
    return known ? [{ number: card.number, corners: card.corners, toFrame: cardAtPlace(known.placeM) }] : [];
  });
  if (seen.length < 2) return null;
  const diagonal = Math.hypot(photo.width, photo.height);
  const { width, height } = photo;
  const found = groundByCards(seen, true, { width, height, focal }, IDENTITY);
  if (!found) return null;
  const { ground, strayed } = found;
  const corners: Record<string, Point[]> = {};
  let doubt = 0;
  for (const plot of plan.plots) {
    const inPhoto = plot.polygonM.map((p) => applyHomography(ground.map, p));
    const doubtHere = doubtOf(ground, plot.polygonM, diagonal);
    if (
      !plot.polygonM.every((p) => inFront(ground.map, p, seen[0]!.toFrame)) ||
      !overlaps(inPhoto, photo) ||
      doubtHere > CARD_LIMITS.doubt
    )
      continue;
    corners[plot.id] = inPhoto;
    doubt = Math.max(doubt, doubtHere);
  }
  if (Object.keys(corners).length === 0) return null;
  return {
    corners,
    confidence: 1 - (0.5 * doubt) / CARD_LIMITS.doubt,
    cards: ground.cards,
    sentence: sentenceOf(ground.cards, strayed, ground.printScale),
  };
}

/** On the same side of the camera as a card that was seen: what lies behind it comes out mirrored. */
function inFront(map: Homography, [x, y]: Point, cardToPlan: Homography): boolean {
  const depth = map[6] * x + map[7] * y + map[8];
  return depth * (map[6] * cardToPlan[2] + map[7] * cardToPlan[5] + map[8]) > 0;
}

function overlaps(polygon: readonly Point[], { width, height }: Pixels): boolean {
  const [xs, ys] = [polygon.map((p) => p[0]), polygon.map((p) => p[1])];
  return Math.max(...xs) > 0 && Math.min(...xs) < width && Math.max(...ys) > 0 && Math.min(...ys) < height;
}

/** Printed size further off than this share is said: a card copied or printed "to fit" is no longer a measure. */
const PRINT_OFF = 0.02;

function sentenceOf(cards: readonly number[], strayed: number | null, printScale: number): string {
  const list = cards.length === 2 ? cards.join(' and ') : `${cards.slice(0, -1).join(', ')} and ${cards.at(-1)}`;
  return [
    `Plots placed by the plot cards ${list}.`,
    ...(strayed === null ? [] : [`Card ${strayed} does not lie over its peg; it was left out.`]),
    ...(Math.abs(printScale - 1) > PRINT_OFF
      ? [
          `The cards are printed at ${Math.round(100 * printScale)} % of their size; the plots were placed by the pegs, so this does no harm.`,
        ]
      : []),
  ].join(' ');
}
