import 'server-only';
import { LINEAR_OF_CODE } from '@/lib/colour/srgb';
import { applyHomography, homographyFrom4 } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { onceFor } from './once';
import { distance, findQuads, type Corners, type Quad } from './quads';
import { makeView, type View } from './views';

export interface Boards {
  readonly chart?: {
    /** Outer edge of the board (frame included), clockwise from the corner beside patch 1: then beside 6, 24, 19. */
    readonly corners: Corners;
    /** Centres of patches 1 to 24 in the published order (row by row from dark skin to black). */
    readonly patchCentres: readonly Point[];
    /** Correlation of the 24 colours found with the published ones, 0..1; accepted from 0.8. */
    readonly confidence: number;
  };
  readonly greyCard?: {
    /** Outer edge, clockwise from the corner nearest the photo's top left. */
    readonly corners: Corners;
    /** How even, neutral and straight-edged it is, 0..1; accepted from 0.5. */
    readonly confidence: number;
  };
}

/**
 * sRGB colours of the 24-patch chart, bytes, in published order: McCamy, Marcus & Davidson 1976 (J. Appl. Photogr. Eng.
 * 2, 95-99), in the 8-bit sRGB rendering commonly printed with the chart. Only used to tell the chart and its
 * orientation; colour correction has its own, finer table.
 */
const CHART = [
  [115, 82, 68],
  [194, 150, 130],
  [98, 122, 157],
  [87, 108, 67],
  [133, 128, 177],
  [103, 189, 170],
  [214, 126, 44],
  [80, 91, 166],
  [193, 90, 99],
  [94, 60, 108],
  [157, 188, 64],
  [224, 163, 46],
  [56, 61, 150],
  [70, 148, 73],
  [175, 54, 60],
  [231, 199, 31],
  [187, 86, 149],
  [8, 133, 161],
  [243, 243, 242],
  [200, 200, 200],
  [160, 160, 160],
  [122, 122, 121],
  [85, 85, 85],
  [52, 52, 52],
] as const;

/** Width of the copy that is searched. */
const BOARD_VIEW_WIDTH = 800;

/**
 * Looks for a 24-patch colour chart and a grey card lying in the photo, in any orientation. A board is a patch that is
 * not the colour of turf, with four straight sides, inside the frame. Full-size pixels out.
 */
export function findBoards(pixels: Pixels): Boards {
  return findBoardsIn(makeView(pixels, BOARD_VIEW_WIDTH));
}

/** The same on a copy already made; corners and centres still in full-size pixels. */
export function findBoardsIn(view: View): Boards {
  return boardsOnce(view, '', () => lookForBoards(view));
}

const boardsOnce = onceFor<View, Boards>();

function lookForBoards(view: View): Boards {
  const quads = findQuads(view);
  let chart: Boards['chart'];
  let greyCard: Boards['greyCard'];
  let chartQuad: Quad | undefined;
  for (const quad of quads) {
    const found = readChart(view, quad);
    if (found && found.confidence >= 0.8 && found.confidence > (chart?.confidence ?? 0)) {
      chart = found;
      chartQuad = quad;
    }
  }
  for (const quad of quads) {
    if (quad === chartQuad) continue;
    const confidence = readGrey(view, quad);
    if (confidence >= 0.5 && confidence > (greyCard?.confidence ?? 0))
      greyCard = { corners: fromTopLeft(quad.corners), confidence };
  }
  const full = ([x, y]: Point): Point => [(x + 0.5) / view.scale - 0.5, (y + 0.5) / view.scale - 0.5];
  return {
    ...(chart && {
      chart: {
        ...chart,
        corners: chart.corners.map(full) as unknown as Corners,
        patchCentres: chart.patchCentres.map(full),
      },
    }),
    ...(greyCard && { greyCard: { ...greyCard, corners: greyCard.corners.map(full) as unknown as Corners } }),
  };
}

/** Widths of the frame between the board's edge and the patch grid that are tried, as shares of the board's length. */
const FRAMES = [0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06] as const;
/** Length of the usual board over its breadth, to turn a frame's share of one into a share of the other. */
const ASPECT = 1.4;

/** Reads the 24 colours in each orientation and with each frame width; likest colours first, then evenest patches. */
function readChart(view: View, quad: Quad): Boards['chart'] | undefined {
  if (quad.fill < 0.45) return undefined;
  let best: Boards['chart'];
  let bestRank = 0;
  for (let turn = 0; turn < 4; turn++) {
    const corners = [0, 1, 2, 3].map((i) => quad.corners[(i + turn) % 4]!) as unknown as Corners;
    const toBoard = homographyFrom4(
      [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      corners,
    );
    if (toBoard === null) return undefined;
    for (const fx of FRAMES) {
      const fy = fx * ASPECT;
      const place = (i: number, u: number, v: number): Point =>
        applyHomography(toBoard, [
          fx + (1 - 2 * fx) * (((i % 6) + u) / 6),
          fy + (1 - 2 * fy) * ((Math.floor(i / 6) + v) / 4),
        ]);
      const patchCentres = CHART.map((_, i) => place(i, 0.5, 0.5));
      const confidence = likeness(view, patchCentres);
      if (confidence < 0.6) continue;
      let uneven = 0;
      for (let i = 0; i < 24; i++) {
        const middle = logColour(averageAt(view, patchCentres[i]!, 0));
        for (const [u, v] of [
          [0.2, 0.2],
          [0.8, 0.2],
          [0.8, 0.8],
          [0.2, 0.8],
        ] as const) {
          const corner = logColour(averageAt(view, place(i, u, v), 0));
          uneven +=
            Math.min(
              1,
              Math.abs(corner[0] - middle[0]) + Math.abs(corner[1] - middle[1]) + Math.abs(corner[2] - middle[2]),
            ) / 96;
        }
      }
      const rank = confidence - uneven;
      if (!best || rank > bestRank) [best, bestRank] = [{ corners, patchCentres, confidence }, rank];
    }
  }
  return best;
}

/**
 * Correlation of the colours at 24 places with the published ones, on the two chromaticity planes freed of their means
 * (the light's colour). The chart may lie half in shade, which is another light: the means are also taken apart on
 * either side of each line between its columns or rows, and the best split counts. 0 when the grey row does not darken.
 */
function likeness(view: View, centres: readonly Point[]): number {
  const found = centres.map((p) => logColour(averageAt(view, p, 2)));
  for (let i = 19; i < 24; i++) if (found[i]![0] > found[i - 1]![0] + 0.15) return 0;
  if (found[23]![0] > found[18]![0] - 0.8) return 0;
  let best = 0;
  for (let split = 0; split <= 8; split++) {
    const side = (i: number): number => (split < 6 ? (i % 6 < split ? 0 : 1) : Math.floor(i / 6) < split - 5 ? 0 : 1);
    best = Math.max(best, groupedCorrelation(found, side));
  }
  return best;
}

function groupedCorrelation(found: readonly [number, number, number][], side: (i: number) => number): number {
  let [ab, aa, bb] = [0, 0, 0];
  for (const k of [1, 2] as const) {
    for (const group of [0, 1]) {
      const members = found.map((_, i) => i).filter((i) => side(i) === group);
      const mf = members.reduce((s, i) => s + found[i]![k], 0) / Math.max(1, members.length);
      const mk = members.reduce((s, i) => s + KNOWN[i]![k], 0) / Math.max(1, members.length);
      for (const i of members) {
        const [x, y] = [found[i]![k] - mf, KNOWN[i]![k] - mk];
        ab += x * y;
        aa += x * x;
        bb += y * y;
      }
    }
  }
  return Math.max(0, ab / Math.sqrt(aa * bb + 1e-12));
}

function logColour([r, g, b]: readonly [number, number, number]): [number, number, number] {
  const [lr, lg, lb] = [Math.log(r + 0.01), Math.log(g + 0.01), Math.log(b + 0.01)];
  return [lg, lr - lg, lb - lg];
}

const KNOWN = CHART.map(([r, g, b]) => logColour([LINEAR_OF_CODE[r]!, LINEAR_OF_CODE[g]!, LINEAR_OF_CODE[b]!]));

function averageAt({ width: w, height: h, rgb }: View, [x, y]: Point, radius: number): [number, number, number] {
  const sum: [number, number, number] = [0, 0, 0];
  let n = 0;
  for (let yy = Math.round(y) - radius; yy <= Math.round(y) + radius; yy++) {
    for (let xx = Math.round(x) - radius; xx <= Math.round(x) + radius; xx++) {
      if (xx < 0 || yy < 0 || xx >= w || yy >= h) continue;
      n++;
      for (let c = 0; c < 3; c++) sum[c]! += rgb[c]![yy * w + xx]!;
    }
  }
  return [sum[0] / n, sum[1] / n, sum[2] / n];
}

/**
 * How much a quadrilateral looks like a grey card: even lightness and colour inside, near neutral, full, card-shaped.
 */
function readGrey(view: View, quad: Quad): number {
  const toBoard = homographyFrom4(
    [
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 1],
    ],
    quad.corners,
  );
  if (toBoard === null) return 0;
  const samples: [number, number, number][] = [];
  for (let j = 0; j < 9; j++) {
    for (let i = 0; i < 9; i++)
      samples.push(
        logColour(averageAt(view, applyHomography(toBoard, [0.15 + (0.7 * i) / 8, 0.15 + (0.7 * j) / 8]), 0)),
      );
  }
  const [l, rg, bg] = [0, 1, 2].map((k) => {
    const values = samples.map((s) => s[k]!).sort((a, b) => a - b);
    return { middle: values[40]!, width: values[69]! - values[11]! };
  }) as [Spread, Spread, Spread];
  const sides = [0, 1, 2, 3].map((i) => distance(quad.corners[i]!, quad.corners[(i + 1) % 4]!));
  const aspect = (sides[0]! + sides[2]!) / (sides[1]! + sides[3]!);
  return (
    quad.fill *
    soft(l.width, 0.35) *
    soft(rg.width, 0.25) *
    soft(bg.width, 0.25) *
    soft(rg.middle, 0.6) *
    soft(bg.middle, 0.8) *
    soft(Math.log(aspect), 1.1)
  );
}

/** 1 for a small value, 0.5 at `half`, towards 0 beyond. */
function soft(value: number, half: number): number {
  return 1 / (1 + (value / half) ** 4);
}

interface Spread {
  readonly middle: number;
  readonly width: number;
}

function fromTopLeft(corners: Corners): Corners {
  let first = 0;
  for (let i = 1; i < 4; i++) if (corners[i]![0] + corners[i]![1] < corners[first]![0] + corners[first]![1]) first = i;
  return [0, 1, 2, 3].map((i) => corners[(i + first) % 4]!) as unknown as Corners;
}
