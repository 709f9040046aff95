import type { Point } from '../raster/pixels';

/**
 * Where things are on a plot card, in millimetres from the middle of its square code: x to the right, y down. The
 * middle of the code lies over the peg, so a card may be turned as it likes.
 */

/** Side of the black square, border included. */
export const CODE_SIDE_MM = 150;

/** A printed field of one colour. */
export interface CardField {
  readonly name: string;
  readonly leftMm: number;
  readonly topMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  /** What is printed, sRGB bytes. A home printer comes near it and no more. */
  readonly srgb: readonly [number, number, number];
}

/** Grey of 18 % reflectance as sRGB: 1.055 * 0.18 ** (1 / 2.4) - 0.055 = 0.461, code 118 (IEC 61966-2-1). */
const GREY = [118, 118, 118] as const;

/** The grey field by which photos are brought to one white. */
export const GREY_FIELD: CardField = { name: 'grey', leftMm: -89, topMm: 95, widthMm: 62, heightMm: 44, srgb: GREY };

/**
 * Colour fields by which one sees whether two photos agree after that: turf's two greens, straw, and a blue far from
 * turf.
 */
export const COLOUR_FIELDS: readonly CardField[] = [
  { name: 'dark green', leftMm: -21, topMm: 95, widthMm: 26, heightMm: 44, srgb: [58, 82, 40] },
  { name: 'light green', leftMm: 7, topMm: 95, widthMm: 26, heightMm: 44, srgb: [126, 158, 74] },
  { name: 'straw', leftMm: 35, topMm: 95, widthMm: 26, heightMm: 44, srgb: [196, 172, 112] },
  { name: 'blue', leftMm: 63, topMm: 95, widthMm: 26, heightMm: 44, srgb: [60, 92, 160] },
];

/** The card's printed area, the code in the middle of its upper part: fits A4 and US letter with margins of 15 mm. */
export const CARD_AREA = { leftMm: -89, topMm: -106, widthMm: 178, heightMm: 249 } as const;

/** Paper a card fits on. ISO 216 A4; ANSI/ASME Y14.1 size A (8.5 by 11 inches). */
const PAPERS = {
  a4: { name: 'A4', widthMm: 210, heightMm: 297 },
  letter: { name: 'US letter', widthMm: 215.9, heightMm: 279.4 },
} as const;

export type Paper = keyof typeof PAPERS;

/** Corners of the black square: top left, top right, bottom right, bottom left. */
export const CODE_CORNERS: readonly Point[] = [
  [-CODE_SIDE_MM / 2, -CODE_SIDE_MM / 2],
  [CODE_SIDE_MM / 2, -CODE_SIDE_MM / 2],
  [CODE_SIDE_MM / 2, CODE_SIDE_MM / 2],
  [-CODE_SIDE_MM / 2, CODE_SIDE_MM / 2],
];

/** Corners of a field, the same way round. */
export function fieldCorners({ leftMm, topMm, widthMm, heightMm }: CardField): Point[] {
  return [
    [leftMm, topMm],
    [leftMm + widthMm, topMm],
    [leftMm + widthMm, topMm + heightMm],
    [leftMm, topMm + heightMm],
  ];
}

/** Corners of the whole paper, the same way round, for hiding the card from whatever looks at turf. */
export function paperCorners(paper: Paper): Point[] {
  const { widthMm, heightMm } = PAPERS[paper];
  const top = CARD_AREA.topMm - (heightMm - CARD_AREA.heightMm) / 2;
  return [
    [-widthMm / 2, top],
    [widthMm / 2, top],
    [widthMm / 2, top + heightMm],
    [-widthMm / 2, top + heightMm],
  ];
}
