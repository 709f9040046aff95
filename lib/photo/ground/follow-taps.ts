import { applyHomography, composeHomographies, type Homography } from './homography';
import { solveRows } from './linear-solve';
import type { Point } from '../raster/pixels';

/** A thing on the ground: where the guess puts it in the photo, and where a person found it. */
export interface FoundThing {
  readonly guess: Point;
  readonly tap: Point;
}

/**
 * How far off a guess may be before anybody tapped, as standard deviations in units of half the photo's diagonal:
 * shift, size and turn, shear (sides out of proportion), and perspective (sizes out of proportion over the photo).
 */
export interface GuessDoubt {
  readonly shift: number;
  readonly sizeAndTurn: number;
  readonly shear: number;
  readonly perspective: number;
}

/**
 * A guess that the photos themselves gave, though not surely. From hand-held pairs whose lining up was refused; no
 * published source.
 */
export const DOUBT_OF_LINING_UP: GuessDoubt = { shift: 0.06, sizeAndTurn: 0.05, shear: 0.02, perspective: 0.02 };
/**
 * Outlines copied from the earlier photo as they lay there: another stand, another height, another turn of the hand.
 */
export const DOUBT_OF_COPY: GuessDoubt = { shift: 0.35, sizeAndTurn: 0.2, shear: 0.08, perspective: 0.1 };

/** Standard deviation of a finger's tap on the photo at twice its size on a phone, in units of half the diagonal. */
const TAP_SIGMA = 0.008;

export interface Followed {
  /** From where the guess puts things to where they are, both in the photo. */
  readonly correction: Homography;
  /** Standard deviation that is left at a place of the guess, pixels: the larger axis. */
  readonly uncertaintyPx: (place: Point) => number;
  /** How far each tap lies from where the answer puts it, pixels. */
  readonly misfitPx: readonly number[];
}

/**
 * Bends a guess so that it follows the taps as far as they can tell: one tap shifts it, two turn and size it, three
 * also shear it, four and more give the whole perspective map; what the taps leave open stays as the guess had it. The
 * most probable correction by Gauss-Newton on its eight numbers, each with a normal prior about no correction, and
 * normal errors of the taps.
 * @param things at least one; with none the guess stands
 * @param size of the photo, pixels
 * @see Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., section 14.8: prior information as additional data points
 *   of a regression
 */
export function followTaps(
  things: readonly FoundThing[],
  size: { readonly width: number; readonly height: number },
  doubt: GuessDoubt,
): Followed {
  const unit = Math.hypot(size.width, size.height) / 2;
  const [cx, cy] = [(size.width - 1) / 2, (size.height - 1) / 2];
  const into = ([x, y]: Point): Point => [(x - cx) / unit, (y - cy) / unit];
  const pairs = things.map(({ guess, tap }) => ({ from: into(guess), to: into(tap) }));
  const prior = [
    doubt.shift,
    doubt.shift,
    doubt.sizeAndTurn,
    doubt.sizeAndTurn,
    doubt.shear,
    doubt.shear,
    doubt.perspective,
    doubt.perspective,
  ].map((sigma) => 1 / sigma ** 2);
  const theta = new Float64Array(8);
  let information = normalOf(pairs, theta, prior).information;
  for (let round = 0; round < 12; round++) {
    const normal = normalOf(pairs, theta, prior);
    information = normal.information;
    const step = solveRows(information.map((row, i) => Float64Array.of(...row, normal.pull[i]!)));
    let moved = 0;
    for (let i = 0; i < 8; i++) {
      theta[i]! += step[i]!;
      moved = Math.max(moved, Math.abs(step[i]!));
    }
    if (moved < 1e-10) break;
  }
  const covariance = inverse(information);
  const core = mapOf(theta);
  const there: Homography = [1 / unit, 0, -cx / unit, 0, 1 / unit, -cy / unit, 0, 0, 1];
  const back: Homography = [unit, 0, cx, 0, unit, cy, 0, 0, 1];
  return {
    correction: composeHomographies(back, composeHomographies(core, there)),
    uncertaintyPx: (place) => unit * spreadAt(into(place), theta, covariance),
    misfitPx: pairs.map(({ from, to }) => {
      const [x, y] = applyHomography(core, from);
      return unit * Math.hypot(x - to[0], y - to[1]);
    }),
  };
}

/** Shift x, shift y, size, turn, two shears, two perspective numbers. */
function mapOf([tx, ty, size, turn, shearA, shearB, px, py]: Float64Array): Homography {
  return [1 + size! + shearA!, shearB! - turn!, tx!, shearB! + turn!, 1 + size! - shearA!, ty!, px!, py!, 1];
}

/** How a place's image moves with each of the eight numbers: rows for x and y. */
function slopes([x, y]: Point, theta: Float64Array): { at: Point; alongX: Float64Array; alongY: Float64Array } {
  const map = mapOf(theta);
  const w = map[6] * x + map[7] * y + 1;
  const [u, v] = applyHomography(map, [x, y]);
  return {
    at: [u, v],
    alongX: Float64Array.of(1, 0, x, -y, x, y, -u * x, -u * y).map((value) => value / w),
    alongY: Float64Array.of(0, 1, y, x, -y, x, -v * x, -v * y).map((value) => value / w),
  };
}

function normalOf(
  pairs: readonly { from: Point; to: Point }[],
  theta: Float64Array,
  prior: readonly number[],
): { information: Float64Array[]; pull: Float64Array } {
  const information = prior.map((weight, i) => Float64Array.from({ length: 8 }, (_, j) => (i === j ? weight : 0)));
  const pull = Float64Array.from(prior, (weight, i) => -weight * theta[i]!);
  for (const { from, to } of pairs) {
    const { at, alongX, alongY } = slopes(from, theta);
    for (const [slope, miss] of [
      [alongX, to[0] - at[0]],
      [alongY, to[1] - at[1]],
    ] as const) {
      for (let i = 0; i < 8; i++) {
        pull[i]! += (slope[i]! * miss) / TAP_SIGMA ** 2;
        for (let j = 0; j < 8; j++) information[i]![j]! += (slope[i]! * slope[j]!) / TAP_SIGMA ** 2;
      }
    }
  }
  return { information, pull };
}

function inverse(matrix: readonly Float64Array[]): Float64Array[] {
  const columns = matrix.map((_, k) => solveRows(matrix.map((row, i) => Float64Array.of(...row, i === k ? 1 : 0))));
  return matrix.map((_, i) => Float64Array.from(columns, (column) => column[i]!));
}

function spreadAt(place: Point, theta: Float64Array, covariance: readonly Float64Array[]): number {
  const { alongX, alongY } = slopes(place, theta);
  const product = (a: Float64Array, b: Float64Array) =>
    a.reduce((sum, ai, i) => sum + ai * covariance[i]!.reduce((inner, c, j) => inner + c * b[j]!, 0), 0);
  const [xx, yy, xy] = [product(alongX, alongX), product(alongY, alongY), product(alongX, alongY)];
  return Math.sqrt((xx + yy) / 2 + Math.hypot((xx - yy) / 2, xy));
}
