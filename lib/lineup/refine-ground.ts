import 'server-only';
import { betweenCopies, composeHomographies, invertHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { stepMove, type CameraMove, type Posed } from './camera-move';
import { below, groundMap, NEAR_HORIZON, type GroundPlane, type KnownNormal, type Lasting, type Sizes } from './ground';
import { boxAround, fitOf, sampleGround, type Samples } from './ground-fit';
import { assemble, frame, roomFor, type Sized } from './refine';
import { away, inOrder, rankOf, shares, type GroundGuess } from './search-ground';
import { solveInPlace } from './solve-in-place';
import type { Planes } from './views';
import { layPair } from './warp';

/** Turn (3), direction (2), focal lengths (2), pitch, roll, length: the numbers that place the ground. */
const NUMBERS = 10;

/** A ground plane within a move, refined, with the inverse covariance of its ten numbers. */
export interface GroundFit extends GroundGuess {
  readonly move: Posed;
  /** What the camera's move and the ground's likely normal allow the map: for `settle`. */
  readonly allowed: Allowed;
}

/**
 * A Gaussian over the eight numbers of a change of map (see `change`), in units of the earlier photo's half-diagonal.
 */
export interface Allowed {
  /** The map at which it is centred, full-size pixels. */
  readonly centre: Homography;
  /** Inverse covariance, 8 x 8. */
  readonly information: Float64Array;
}

/** Standard deviations of pitch and roll about what is known or usual, radians; of the length, camera heights. */
const LOOSE = { pitch: 0.2, roll: 0.03, length: 0.4 } as const;

/** How far a lens and a lawn's bumps bend the map off any plane's, in half-diagonals. */
const BENT = 0.004;

/**
 * Matches mislead together (a house's whole front, one moved thing): their say is taken for this much of what it
 * claims.
 */
const TRUST = 0.2;

/** Pixels of a smoothed plane that make one independent witness, over all planes. */
const PER_WITNESS = 40;

interface State {
  readonly move: Posed;
  readonly plane: GroundPlane;
}

function stepped({ move, plane }: State, step: ArrayLike<number>): State {
  return {
    move: stepMove(move, step),
    plane: { pitch: plane.pitch + step[7]!, roll: plane.roll + step[8]!, length: plane.length + step[9]! },
  };
}

/** The change of map (eight numbers, half-diagonals of `size`) that makes `from` into `to`; `change` undoes it. */
export function changeBetween(from: Homography, to: Homography, size: Sized): Float64Array | undefined {
  const back = invertHomography(from);
  if (!back) return undefined;
  const { cx, cy, unit } = frame(size);
  const toUnit: Homography = [1 / unit, 0, -cx / unit, 0, 1 / unit, -cy / unit, 0, 0, 1];
  const fromUnit: Homography = [unit, 0, cx, 0, unit, cy, 0, 0, 1];
  const d = composeHomographies(toUnit, composeHomographies(composeHomographies(back, to), fromUnit));
  return Float64Array.of(d[0] - 1, d[1], d[2], d[3], d[4] - 1, d[5], d[6], d[7]);
}

/** Derivatives of the change of map by the ten numbers, 8 x 10. */
function slopes(state: State, sizes: Sizes): Float64Array {
  const here = groundMap(state.move, state.plane, sizes);
  const out = new Float64Array(8 * NUMBERS);
  const step = new Float64Array(NUMBERS);
  for (let k = 0; k < NUMBERS; k++) {
    step.fill(0);
    step[k] = 1e-5;
    const next = stepped(state, step);
    const d = changeBetween(here, groundMap(next.move, next.plane, sizes), sizes.before);
    if (d) for (let i = 0; i < 8; i++) out[i * NUMBERS + k] = d[i]! / 1e-5;
  }
  return out;
}

/** Prior information on the ten numbers, 10 x 10. */
function priorOf(move: CameraMove, known: KnownNormal | undefined): Float64Array {
  const prior = new Float64Array(NUMBERS * NUMBERS);
  for (let p = 0; p < 7; p++) for (let q = 0; q < 7; q++) prior[p * NUMBERS + q] = move.information[7 * p + q]!;
  prior[77] = 1 / (known?.sd ?? LOOSE.pitch) ** 2;
  prior[88] = 1 / (known?.sure ? known.sd : LOOSE.roll) ** 2;
  prior[99] = 1 / LOOSE.length ** 2;
  return prior;
}

/**
 * Moves the ten numbers to where the ground's planes agree best, held by what the matches say of the move: Gauss-Newton
 * as in `refine`, its eight equations carried over to the ten numbers.
 */
export function refineGround(
  copies: readonly { readonly before: Planes; readonly after: Planes }[],
  move: CameraMove,
  points: Lasting,
  guess: GroundGuess,
  sizes: Sizes,
  plots: readonly Point[],
  known: KnownNormal | undefined,
  rounds: number,
): GroundFit {
  const prior = priorOf(move, known);
  let state: State = { move, plane: guess.plane };
  const moved = new Float64Array(NUMBERS);
  if (known) moved[7] = guess.plane.pitch - known.pitch;
  let samples: Samples | undefined;
  for (const { before, after } of copies) {
    const ground = groundOnly(before, state.plane, state.move.focal[0], sizes.before);
    const block = Math.round(before.width / 16);
    const pair = layPair(ground, after, roomFor(ground, block));
    for (let round = 0; round < rounds; round++) {
      const map = groundMap(state.move, state.plane, sizes);
      pair.warp(betweenCopies(map, before.scale, after.scale));
      const { normal, right } = assemble(pair, ground, block);
      const j = slopes(state, sizes);
      const m = prior.slice();
      const g = new Float64Array(NUMBERS);
      for (let p = 0; p < NUMBERS; p++) for (let q = 0; q < NUMBERS; q++) g[p]! -= prior[p * NUMBERS + q]! * moved[q]!;
      for (let p = 0; p < NUMBERS; p++) {
        for (let i = 0; i < 8; i++) {
          const a = j[i * NUMBERS + p]! / PER_WITNESS;
          g[p]! += a * right[i]!;
          for (let q = 0; q < NUMBERS; q++) {
            let sum = 0;
            for (let k = 0; k < 8; k++) sum += normal[i * 8 + k]! * j[k * NUMBERS + q]!;
            m[p * NUMBERS + q]! += a * sum;
          }
        }
      }
      if (!solveInPlace(m, g, NUMBERS)) break;
      const most = Math.max(1, Math.abs(g[7]!) / 0.1, Math.abs(g[9]!) / 0.1, Math.hypot(g[0]!, g[1]!, g[2]!) / 0.02);
      for (let p = 0; p < NUMBERS; p++) moved[p]! += g[p]! /= most;
      const next = stepped(state, g);
      const after2 = groundMap(next.move, next.plane, sizes);
      if (!inOrder(after2, plots, sizes)) break;
      const shift = Math.max(...plots.map((p) => away(map, after2, p))) * before.scale;
      state = next;
      if (shift < 0.03) break;
    }
    samples = sampleGround(before, state.plane, state.move.focal[0], sizes.before, boxAround(plots));
  }
  const map = groundMap(state.move, state.plane, sizes);
  const last = copies.at(-1)!;
  const fit = samples
    ? fitOf(last.before, last.after, samples)(betweenCopies(map, last.before.scale, last.after.scale))
    : -1;
  const { under, within } = shares(points, state.move, state.plane, sizes);
  return {
    plane: state.plane,
    map,
    fit,
    under,
    within,
    rank: rankOf(fit, under, within, state.plane, known),
    move: state.move,
    allowed: allowedBy(state, prior, sizes),
  };
}

/** What was made of some planes before: the same ground is asked for at every look. */
const masked = new WeakMap<Planes, { readonly plane: GroundPlane; readonly result: Planes }>();

/** The copy with only what can be ground seen. */
export function groundOnly(before: Planes, plane: GroundPlane, focal: number, full: Sized): Planes {
  const known = masked.get(before);
  if (known?.plane === plane) return known.result;
  const { width: w, height: h, scale } = before;
  const data = before.data.slice();
  for (let y = 0; y < h; y++) {
    // Depression grows evenly along a row.
    const at = below(plane, focal, full, [0.5 / scale - 0.5, (y + 0.5) / scale - 0.5]);
    const by = below(plane, focal, full, [1.5 / scale - 0.5, (y + 0.5) / scale - 0.5]) - at;
    for (let x = 0, i = 4 * y * w + 3; x < w; x++, i += 4) if (at + x * by < NEAR_HORIZON) data[i] = 0;
  }
  const result = { ...before, data };
  masked.set(before, { plane, result });
  return result;
}

/** What the ten numbers' prior leaves the map, bent a little by lens and lawn. */
function allowedBy(state: State, prior: Float64Array, sizes: Sizes): Allowed {
  const j = slopes(state, sizes);
  const spread = new Float64Array(64);
  for (let q = 0; q < 8; q++) {
    const column = Float64Array.from({ length: NUMBERS }, (_, k) => j[q * NUMBERS + k]!);
    solveInPlace(prior.slice(), column, NUMBERS);
    for (let i = 0; i < 8; i++) {
      let sum = 0;
      for (let k = 0; k < NUMBERS; k++) sum += j[i * NUMBERS + k]! * column[k]!;
      spread[i * 8 + q] = sum / TRUST;
    }
    spread[q * 9]! += BENT ** 2;
  }
  const information = new Float64Array(64);
  for (let q = 0; q < 8; q++) {
    const column = new Float64Array(8);
    column[q] = 1;
    solveInPlace(spread.slice(), column, 8);
    for (let i = 0; i < 8; i++) information[i * 8 + q] = column[i]!;
  }
  return { centre: groundMap(state.move, state.plane, sizes), information };
}
