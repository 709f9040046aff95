import { CODE_SIDE_MM } from './card-design';
import { applyHomography, composeHomographies, homographyFrom4, invertHomography, type Homography } from './homography';
import { solveRows } from './linear-solve';
import type { Point } from '../raster/pixels';

/** A card seen in a photo, and how it would lie, not turned, in the frame that is to be mapped to the photo. */
export interface CardOnGround {
  readonly number: number;
  /** Corners of the black square in the photo: top left, top right, bottom right, bottom left as printed. */
  readonly corners: readonly Point[];
  /** From metres on the card (middle of its code 0, 0; x right, y down) to the frame. */
  readonly toFrame: Homography;
  /** How far from its place it may lie, a standard deviation in each direction, metres; LAYING_SD_M unless told. */
  readonly layingSdM?: number;
}

/** The camera, as far as its file tells. */
export interface CardCamera {
  /** Focal length, pixels, known to FOCAL_SD. */
  readonly focalPx: number;
  readonly middle: Point;
  /** From metres on the ground to the frame; the identity's like where the frame is in metres. */
  readonly metresToFrame: Homography;
}

export interface CardFitting {
  /** The print's scale is to be found as well. */
  readonly scaleFree: boolean;
  /** How well a corner is seen, a standard deviation in each direction, pixels. */
  readonly cornerSdPx?: number;
  readonly camera?: CardCamera | undefined;
}

/** The ground as the cards give it. */
export interface CardGround {
  /** Frame to photo. */
  readonly map: Homography;
  /** Root mean square distance between the cards' corners and where the map puts them, pixels. */
  readonly residualPx: number;
  /** Sum of squared misses in standard deviations over the degrees of freedom: about 1 where all is as it should be. */
  readonly chi2PerFreedom: number;
  /**
   * Side of the printed squares over the side meant: 0.95 says a printer shrank them by 5 %. 1 where it isn't asked.
   */
  readonly printScale: number;
  readonly cards: readonly number[];
  /** How far each of the cards lies from its place, in standard deviations of laying. */
  readonly layingOff: readonly number[];
  /** Standard error of where the map puts a point of the frame, pixels, the larger of the two directions. */
  readonly sigmaPxAt: (point: Point) => number;
}

/** The middle of a card laid by hand over a flush peg: common practice, no source. */
export const LAYING_SD_M = 0.004;

/** Spread of ln(focal length) between what a file names and what the photo has (rounding, cropping): own estimate. */
const FOCAL_SD = 0.05;

/** How far from square a metre's grid may come out under the right camera: lens and ground bend. Own estimate. */
const SQUARE_SD = 0.003;

const HALF_M = CODE_SIDE_MM / 2000;
const SQUARE: readonly Point[] = [
  [-HALF_M, -HALF_M],
  [HALF_M, -HALF_M],
  [HALF_M, HALF_M],
  [-HALF_M, HALF_M],
];

/** Corners are known to about this many pixels, whatever the fit's own residual: lens and paper bend. */
const CORNER_SD_PX = 0.35;

/** A card lying unturned at a place of the lawn's plan (metres, y away from the viewer, so against the card's y). */
export function cardAtPlace([xM, yM]: Point): Homography {
  return [1, 0, xM, 0, -1, yM, 0, 0, 1];
}

/** Metres on the card to the photo, from its four corners alone; null when they are no square seen in perspective. */
export function cardToPhoto(corners: readonly Point[]): Homography | null {
  return homographyFrom4(SQUARE, corners);
}

/**
 * The map from a frame (the plan in metres, or another photo) to the photo that two or more cards fix together. Each
 * card may be turned about its peg and lie a little off it, and all may be printed at another scale; with a camera
 * given, the ground's metres must look square through it. Found by damped least squares on the corners of all cards,
 * each miss by its standard deviation.
 * @returns null with fewer than two cards, or where no map keeps their corners within an eighth of a card's side
 * @see Marquardt 1963, J. SIAM 11:431-441; Hartley & Zisserman 2004, Multiple View Geometry, 2nd ed., section 5.2
 *   (covariance), 8.6 (what a plane's image says of the camera)
 */
export function fitCardGround(
  cards: readonly CardOnGround[],
  { scaleFree, cornerSdPx = CORNER_SD_PX, camera }: CardFitting,
): CardGround | null {
  if (cards.length < 2) return null;
  const fit: Fit = { cards, scaleFree, cornerSdPx, camera, normal: normaliser(cards) };
  let best: Settled | null = null;
  const leftOver = ({ unknowns }: Settled): number => {
    const corners = misses(fit, unknowns).subarray(0, 8 * cards.length);
    return Math.sqrt(dot(corners, corners) / (4 * cards.length)) * cornerSdPx;
  };
  // A start that ends within a pixel has found the map; another can only find it again.
  for (let i = 0; i < cards.length && !(best && leftOver(best) < 1); i++) {
    const start = startFrom(fit, i);
    const settled = start && settle(fit, start);
    if (settled && (best === null || settled.cost < best.cost)) best = settled;
  }
  if (!best) return null;
  const { unknowns, cost } = best;
  const residualPx = leftOver(best);
  if (residualPx > Math.min(...cards.map(({ corners: [a, b] }) => Math.hypot(a![0] - b![0], a![1] - b![1]))) / 8)
    return null;
  const map = toPhoto(fit, unknowns);
  const rows = jacobian(fit, unknowns);
  const inverse = inverseNormal(rows);
  const chi2PerFreedom = cost / Math.max(1, rows[0]!.length - unknowns.length);
  const wider = Math.sqrt(Math.max(1, chi2PerFreedom));
  const { offsets, logScale } = placesOf(fit, unknowns);
  return {
    map,
    residualPx,
    chi2PerFreedom,
    printScale: Math.exp(logScale),
    cards: cards.map((card) => card.number),
    layingOff: offsets.map(([x, y]) => Math.hypot(x, y)),
    sigmaPxAt: (point) => (inverse ? wider * spreadAt(fit, unknowns, inverse, point) : Infinity),
  };
}

/**
 * What is to be found: eight numbers of the map between both sides moved and scaled to about unit size; a turn for each
 * card (radians); how far each lies off its place (two numbers a card, standard deviations); the logarithm of the
 * print's scale where it is free, and of the focal length (standard deviations) where a camera is given.
 */
interface Fit {
  readonly cards: readonly CardOnGround[];
  readonly scaleFree: boolean;
  readonly cornerSdPx: number;
  readonly camera: CardCamera | undefined;
  readonly normal: { readonly frame: Homography; readonly photo: Homography; readonly photoScale: number };
}

/** The unknowns behind the map, by name. */
function placesOf(
  { cards, scaleFree, camera }: Fit,
  unknowns: Float64Array,
): { turns: Float64Array; offsets: Point[]; logScale: number; focal: number } {
  const n = cards.length;
  const end = 8 + 3 * n;
  return {
    turns: unknowns.subarray(8, 8 + n),
    offsets: cards.map((_, j): Point => [unknowns[8 + n + 2 * j]!, unknowns[8 + n + 2 * j + 1]!]),
    logScale: scaleFree ? unknowns[end]! : 0,
    focal: camera ? unknowns[end + (scaleFree ? 1 : 0)]! : 0,
  };
}

interface Settled {
  readonly unknowns: Float64Array;
  readonly cost: number;
}

function normaliser(cards: readonly CardOnGround[]): Fit['normal'] {
  const frame = toUnit(cards.flatMap((card) => SQUARE.map((p) => applyHomography(card.toFrame, p))));
  const photo = toUnit(cards.flatMap((card) => [...card.corners]));
  return { frame: frame.map, photo: photo.map, photoScale: photo.scale };
}

function toUnit(points: readonly Point[]): { map: Homography; scale: number } {
  const cx = points.reduce((s, p) => s + p[0], 0) / points.length;
  const cy = points.reduce((s, p) => s + p[1], 0) / points.length;
  const scale = points.length / points.reduce((s, p) => s + Math.hypot(p[0] - cx, p[1] - cy), 0);
  return { map: [scale, 0, -scale * cx, 0, scale, -scale * cy, 0, 0, 1], scale };
}

const unitMap = (u: Float64Array): Homography => [u[0]!, u[1]!, u[2]!, u[3]!, u[4]!, u[5]!, u[6]!, u[7]!, 1];

function toPhoto(fit: Fit, unknowns: Float64Array): Homography {
  return composeHomographies(
    invertHomography(fit.normal.photo)!,
    composeHomographies(unitMap(unknowns), fit.normal.frame),
  );
}

/**
 * The map by one card's own perspective, turned so that the other cards lie where they are seen; null when it can't be.
 */
function startFrom(fit: Fit, i: number): Float64Array | null {
  const card = fit.cards[i]!;
  const perspective = cardToPhoto(card.corners);
  const photoToCard = perspective && invertHomography(perspective);
  const frameToCard = invertHomography(card.toFrame);
  if (!perspective || !photoToCard || !frameToCard) return null;
  const others = fit.cards.filter((other) => other !== card);
  const turn = turnBetween(
    others.map((other) => applyHomography(frameToCard, applyHomography(other.toFrame, [0, 0]))),
    others.map((other) => applyHomography(photoToCard, middleOf(other.corners))),
  );
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const full = composeHomographies(perspective, composeHomographies([c, -s, 0, s, c, 0, 0, 0, 1], frameToCard));
  const unit = composeHomographies(fit.normal.photo, composeHomographies(full, invertHomography(fit.normal.frame)!));
  const turns = fit.cards.map((one) => {
    const back = invertHomography(composeHomographies(full, one.toFrame));
    return back
      ? turnBetween(
          SQUARE,
          one.corners.map((corner) => applyHomography(back, corner)),
        )
      : 0;
  });
  const start = Float64Array.from([
    ...unit.slice(0, 8).map((v) => v / unit[8]),
    ...turns,
    ...new Float64Array(2 * fit.cards.length + (fit.scaleFree ? 1 : 0) + (fit.camera ? 1 : 0)),
  ]);
  return start.every(Number.isFinite) ? start : null;
}

/** The turn about the origin (radians, x towards y) that brings points nearest to others. */
function turnBetween(from: readonly Point[], to: readonly Point[]): number {
  let [sin, cos] = [0, 0];
  from.forEach(([x, y], k) => {
    const [u, v] = to[k]!;
    cos += x * u + y * v;
    sin += x * v - y * u;
  });
  return Math.atan2(sin, cos);
}

/**
 * What is left between the unknowns and what is seen or known before, each in its standard deviations: corners, then
 * how far cards lie off, then the camera's.
 */
function misses(fit: Fit, unknowns: Float64Array): Float64Array {
  const { cards, cornerSdPx, camera, normal } = fit;
  const { turns, offsets, logScale, focal } = placesOf(fit, unknowns);
  const map = composeHomographies(unitMap(unknowns), normal.frame);
  const scale = Math.exp(logScale);
  const out = new Float64Array(10 * cards.length + (camera ? 3 : 0));
  const sd = cornerSdPx * normal.photoScale;
  cards.forEach((card, j) => {
    const [c, s] = [scale * Math.cos(turns[j]!), scale * Math.sin(turns[j]!)];
    const [dx, dy] = offsets[j]!.map((v) => v * (card.layingSdM ?? LAYING_SD_M)) as [number, number];
    SQUARE.forEach(([x, y], k) => {
      const [u, v] = applyHomography(map, applyHomography(card.toFrame, [c * x - s * y + dx, s * x + c * y + dy]));
      const [su, sv] = applyHomography(normal.photo, card.corners[k]!);
      out[8 * j + 2 * k] = (u - su) / sd;
      out[8 * j + 2 * k + 1] = (v - sv) / sd;
    });
  });
  out.set(offsets.flat(), 8 * cards.length);
  if (camera) out.set([focal, ...skewThrough(fit, camera, unknowns, focal)], 10 * cards.length);
  return out;
}

/** How far from square, and from equal sides, the ground's metres come out through the camera, in standard deviations. */
function skewThrough(
  fit: Fit,
  { focalPx, middle, metresToFrame }: CardCamera,
  unknowns: Float64Array,
  focal: number,
): [number, number] {
  const h = composeHomographies(toPhoto(fit, unknowns), metresToFrame);
  const f = focalPx * Math.exp(FOCAL_SD * focal);
  const [a, b] = [0, 1].map((k) => {
    const depth = h[6 + k]!;
    return [(h[k]! - middle[0] * depth) / f, (h[3 + k]! - middle[1] * depth) / f, depth] as const;
  }) as [readonly [number, number, number], readonly [number, number, number]];
  const [aa, bb] = [Math.hypot(...a), Math.hypot(...b)];
  const along = (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) / (aa * bb);
  return [along / SQUARE_SD, Math.log(aa / bb) / SQUARE_SD];
}

const STEP = 1e-6;

/** Partial derivatives of the misses by central differences: a row for each unknown. */
function jacobian(fit: Fit, unknowns: Float64Array): Float64Array[] {
  return Array.from(unknowns, (value, k) => {
    const [up, down] = [value + STEP, value - STEP].map((v) =>
      misses(
        fit,
        unknowns.map((u, i) => (i === k ? v : u)),
      ),
    );
    return up!.map((v, i) => (v - down![i]!) / (2 * STEP));
  });
}

function settle(fit: Fit, start: Float64Array): Settled | null {
  let unknowns = start;
  let left = misses(fit, unknowns);
  let cost = dot(left, left);
  let damping = 1e-3;
  for (let round = 0; round < 50; round++) {
    const rows = jacobian(fit, unknowns);
    const before = cost;
    for (; damping < 1e8; damping *= 10) {
      const step = solveRows(
        rows.map((row, a) =>
          Float64Array.from([
            ...rows.map((other, b) => dot(row, other) * (a === b ? 1 + damping : 1)),
            -dot(row, left),
          ]),
        ),
      );
      const next = unknowns.map((v, k) => v + step[k]!);
      const nextLeft = misses(fit, next);
      const nextCost = dot(nextLeft, nextLeft);
      if (!(nextCost < cost)) continue;
      [unknowns, left, cost] = [next, nextLeft, nextCost];
      damping = Math.max(1e-12, damping / 10);
      break;
    }
    if (!(before - cost > 1e-9 * before)) break;
  }
  return Number.isFinite(cost) ? { unknowns, cost } : null;
}

/** Inverse of the normal matrix of a Jacobian given by a row an unknown; null when it has none. */
function inverseNormal(rows: readonly Float64Array[]): Float64Array[] | null {
  const size = rows.map((row) => Math.sqrt(dot(row, row)));
  const columns = rows.map((_, unit) =>
    solveRows(
      rows.map((row, a) =>
        Float64Array.from([...rows.map((other, b) => dot(row, other) / (size[a]! * size[b]!)), a === unit ? 1 : 0]),
      ),
    ),
  );
  if (!columns.every((column) => column.every(Number.isFinite))) return null;
  return columns.map((column, b) => column.map((v, a) => v / (size[a]! * size[b]!)));
}

/** Standard error at a point of the frame, pixels: its derivatives through the inverse normal matrix. */
function spreadAt(fit: Fit, unknowns: Float64Array, inverse: readonly Float64Array[], point: Point): number {
  const at = (u: Float64Array): Point => applyHomography(toPhoto(fit, u), point);
  const slopes = Array.from({ length: 8 }, (_, k): Point => {
    const [up, down] = [STEP, -STEP].map((d) => at(unknowns.map((u, i) => (i === k ? u + d : u))));
    return [(up![0] - down![0]) / (2 * STEP), (up![1] - down![1]) / (2 * STEP)];
  });
  const variance = ([0, 1] as const).map((axis) => {
    let sum = 0;
    for (let a = 0; a < 8; a++)
      for (let b = 0; b < 8; b++) sum += slopes[a]![axis] * inverse[a]![b]! * slopes[b]![axis];
    return sum;
  });
  return Math.sqrt(Math.max(...variance));
}

/** The diagonals' crossing: the middle of a square in any perspective. */
function middleOf(corners: readonly Point[]): Point {
  const [a, b, c, d] = corners as [Point, Point, Point, Point];
  const [ux, uy, vx, vy] = [c[0] - a[0], c[1] - a[1], d[0] - b[0], d[1] - b[1]];
  const s = ((b[0] - a[0]) * vy - (b[1] - a[1]) * vx) / (ux * vy - uy * vx);
  return [a[0] + s * ux, a[1] + s * uy];
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
