import { CARD_CELLS, cardCells } from '@/lib/photo/ground/card-code';
import { CODE_SIDE_MM, COLOUR_FIELDS, GREY_FIELD, paperCorners, type CardField } from '@/lib/photo/ground/card-design';
import { applyHomography, invertHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { chance, smoothNoise } from './draw-lawn';

/** A card lying on the drawn lawn: peg's place in metres (x right, y away), turned clockwise as seen from above. */
export interface LaidCard {
  readonly number: number;
  readonly xM: number;
  readonly yM: number;
  readonly turnDeg: number;
  /** Light on it: 1 in the sun, 0.25 in shade. */
  readonly light?: number;
  /** Printed size over the size meant. */
  readonly scale?: number;
  /** Share of the card hidden by something dark laid across it from the left. */
  readonly covered?: number;
}

/**
 * The ground's map (metres to photo) of a camera `heightM` above the ground at `yM`, looking down by `tiltDeg`, focal
 * length in pixels.
 */
export function groundView(
  width: number,
  height: number,
  { heightM = 1.6, xM = 1.5, yM = -2, tiltDeg = 35, rollDeg = 0, focalPx = 0.75 * width } = {},
): Homography {
  const [st, ct] = [Math.sin((tiltDeg * Math.PI) / 180), Math.cos((tiltDeg * Math.PI) / 180)];
  const [sr, cr] = [Math.sin((rollDeg * Math.PI) / 180), Math.cos((rollDeg * Math.PI) / 180)];
  // Camera axes: right (1, 0, 0), down (0, -st, -ct), forward (0, ct, -st); a ground point is (x - xM, y - yM,
  // -heightM).
  const right = [1, 0, -xM];
  const down = [0, -st, ct * heightM + st * yM];
  const forward = [0, ct, st * heightM - ct * yM];
  const x = right.map((v, i) => cr * v - sr * down[i]!);
  const y = right.map((v, i) => sr * v + cr * down[i]!);
  const [cx, cy] = [(width - 1) / 2, (height - 1) / 2];
  const rows = [
    x.map((v, i) => focalPx * v + cx * forward[i]!),
    y.map((v, i) => focalPx * v + cy * forward[i]!),
    forward,
  ];
  return rows.flat().map((v) => v / forward[2]!) as unknown as Homography;
}

const encode = (linear: number): number => {
  const v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
  return Math.max(0, Math.min(255, Math.round(255 * v)));
};
const decode = (code: number): number =>
  code / 255 <= 0.04045 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4;

/**
 * Reflectance of a card at a place of its own plane (millimetres); undefined beside the paper. Ink is 4 %, paper 85 %.
 */
function cardColour(card: LaidCard, xMm: number, yMm: number): readonly number[] | undefined {
  const [left, , , bottom] = paperCorners('a4') as [Point, Point, Point, Point];
  if (xMm < left[0] || xMm > -left[0] || yMm < left[1] || yMm > bottom[1]) return undefined;
  if (card.covered !== undefined && xMm < left[0] - 2 * left[0] * card.covered) return [0.05, 0.05, 0.04];
  const cell = CODE_SIDE_MM / CARD_CELLS;
  const [column, row] = [Math.floor(xMm / cell + CARD_CELLS / 2), Math.floor(yMm / cell + CARD_CELLS / 2)];
  if (column >= 0 && row >= 0 && column < CARD_CELLS && row < CARD_CELLS) {
    return CELLS.get(card.number)![row]![column]! ? [0.85, 0.85, 0.85] : [0.04, 0.04, 0.04];
  }
  const inside = (f: CardField): boolean =>
    xMm >= f.leftMm && xMm < f.leftMm + f.widthMm && yMm >= f.topMm && yMm < f.topMm + f.heightMm;
  const field = [GREY_FIELD, ...COLOUR_FIELDS].find(inside);
  return field ? field.srgb.map((code) => decode(code)) : [0.85, 0.85, 0.85];
}

const CELLS = new Map(Array.from({ length: 64 }, (_, k) => [k + 1, cardCells(k + 1)]));

/**
 * Draws turf with cards laid on it; `white` is the light's colour. Averages `samples` squared rays a pixel near a card.
 */
export function drawCards(
  width: number,
  height: number,
  cards: readonly LaidCard[],
  view: Homography,
  { seed = 1, white = [1, 1, 1] as readonly number[], light = 0.9, samples = 4, grain = 0.5 } = {},
): Pixels {
  const back = invertHomography(view)!;
  const patches = smoothNoise(seed, 0.3);
  const random = chance(seed * 31 + 7);
  const data = new Uint8Array(width * height * 3);
  const placed = cards.map((card) => ({
    card,
    c: Math.cos((card.turnDeg * Math.PI) / 180),
    s: Math.sin((card.turnDeg * Math.PI) / 180),
  }));
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [mx, my] = applyHomography(back, [x, y]);
      const near = placed.filter(({ card }) => Math.abs(card.xM - mx) < 0.26 && Math.abs(card.yM - my) < 0.26);
      const blades = 1 + grain * (random() - 0.5) * 2;
      const tone = (1 + 0.3 * patches(mx, my)) * blades;
      const turf = [0.075 * tone, 0.13 * tone, 0.03 * tone];
      const sum = [0, 0, 0];
      const n = near.length > 0 ? samples : 1;
      for (let j = 0; j < n; j++) {
        for (let i = 0; i < n; i++) {
          const [u, v] = n === 1 ? [mx, my] : applyHomography(back, [x - 0.5 + (i + 0.5) / n, y - 0.5 + (j + 0.5) / n]);
          let colour: readonly number[] = turf;
          let shade = 1;
          for (const { card, c, s } of near) {
            const k = 1000 / (card.scale ?? 1);
            const [dx, dy] = [(u - card.xM) * k, -(v - card.yM) * k];
            const found = cardColour(card, c * dx + s * dy, -s * dx + c * dy);
            if (found) [colour, shade] = [found, card.light ?? 1];
          }
          for (let b = 0; b < 3; b++) sum[b]! += colour[b]! * shade;
        }
      }
      for (let b = 0; b < 3; b++) data[(y * width + x) * 3 + b] = encode((light * white[b]! * sum[b]!) / (n * n));
    }
  }
  return { width, height, channels: 3, space: 'srgb', data };
}
