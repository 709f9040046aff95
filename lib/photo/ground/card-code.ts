/**
 * The square codes on plot cards: the first 64 of the open AprilTag family 36h11 (6 by 6 cells, any two at least 11
 * cells apart in every turn). Each string is 36 cells row by row, four to a hexadecimal figure, first cell highest, 1 =
 * white.
 * @see Olson 2011, AprilTag: a robust and flexible visual fiducial system, IEEE ICRA, 3400-3407; the family's table as
 *   published with the library; these figures were read off OpenCV 4.6.0 (aruco, DICT_APRILTAG_36h11, drawMarker),
 *   2026-11-26
 */
const CODES = [
  '21a146bab',
  '92d18fe9b',
  '7089014bb',
  '193979e27',
  '44153d3d7',
  '35cd5b8cf',
  'a10ba56a0',
  '2b874a608',
  'b57fb8d44',
  '4e20b5a64',
  '61d897f2c',
  'ab3469ffc',
  '594ca45c2',
  'fa1c2d2e2',
  '97c24b972',
  '75928624a',
  '1caafe99a',
  '3236ddc16',
  '884e527d6',
  '5771a8c7e',
  'f52925b81',
  '2e59cc1a1',
  '7fa58ab31',
  'eb43384f9',
  '3913d5345',
  'd79b1a3b5',
  '0dfbe768d',
  '5cd7a031d',
  'b9c8f7a4b',
  '46987e06b',
  '6e0c5d527',
  '5bc567bb4',
  '1e6302bc2',
  '8ac7d046a',
  'a65fe2326',
  '5400eb616',
  'f7a066836',
  '2dd0afdf6',
  '3b9cb60b1',
  'ad6a1caf9',
  '93b62efb5',
  'bb210d93d',
  'dee55094b',
  'a0cd1479b',
  '2a23abb27',
  '4f67f4b5f',
  '58a815818',
  '743427d64',
  '1dec40874',
  '892ab3a02',
  '38d5742ee',
  '0c43567a1',
  '5db311cb1',
  'c957ca1f9',
  'a22457823',
  '29ace98f3',
  'ccc52c528',
  'da8b3578c',
  'd5b4b9e36',
  'ac9cdd3ce',
  'cbdaa8391',
  '1986256b1',
  'bae6cc889',
  'df91b10e5',
] as const;

/** How many different cards there are. */
export const CARD_COUNT = CODES.length;

/** Cells along a side: six of code inside a black border one cell wide. */
export const CARD_CELLS = 8;

/** The cells of card `number` (1 to 64), row by row from the top left, border included: true is white. */
export function cardCells(number: number): boolean[][] {
  if (!Number.isInteger(number) || number < 1 || number > CARD_COUNT) {
    throw new RangeError(`cardCells: expected a card number from 1 to ${CARD_COUNT}, got ${number}`);
  }
  const inner = bitsOf(CODES[number - 1]!);
  return Array.from({ length: CARD_CELLS }, (_, row) =>
    Array.from({ length: CARD_CELLS }, (_, column) => {
      const border = row === 0 || column === 0 || row === CARD_CELLS - 1 || column === CARD_CELLS - 1;
      return !border && inner[(row - 1) * 6 + column - 1]!;
    }),
  );
}

/** A card told from its 36 inner cells. */
export interface CardRead {
  readonly number: number;
  /** Quarter turns by which the cells, as read, must be turned clockwise to stand upright: 0 to 3. */
  readonly quarterTurns: number;
  /** Cells that were read wrong. */
  readonly wrongCells: number;
}

/**
 * The card whose code is nearest to 36 cells read in any turn; null when more than `most` cells differ from every code.
 */
export function readCard(cells: readonly boolean[], most = 2): CardRead | null {
  if (cells.length !== 36) throw new RangeError(`readCard: expected 36 cells, got ${cells.length}`);
  let best: CardRead | null = null;
  let turnedCells = cells;
  for (let quarterTurns = 0; quarterTurns < 4; quarterTurns++) {
    for (let k = 0; k < CARD_COUNT; k++) {
      const code = TABLE[k]!;
      let wrongCells = 0;
      for (let i = 0; i < 36 && wrongCells <= most; i++) if (code[i] !== turnedCells[i]) wrongCells++;
      if (wrongCells <= most && (best === null || wrongCells < best.wrongCells))
        best = { number: k + 1, quarterTurns, wrongCells };
    }
    turnedCells = turnedClockwise(turnedCells);
  }
  return best;
}

function turnedClockwise(cells: readonly boolean[]): boolean[] {
  return Array.from({ length: 36 }, (_, i) => cells[(5 - (i % 6)) * 6 + Math.floor(i / 6)]!);
}

function bitsOf(code: string): boolean[] {
  return [...code].flatMap((figure) => [8, 4, 2, 1].map((bit) => (Number.parseInt(figure, 16) & bit) !== 0));
}

const TABLE = CODES.map(bitsOf);
