import 'server-only';
import {
  applyHomography,
  betweenCopies,
  composeHomographies,
  invertHomography,
  type Homography,
} from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { solveInPlace, stepMove, type CameraMove, type Posed } from './camera-move';
import type { Features } from './features';
import type { Matches } from './match-features';
import { lay } from './planes-simd';
import { assemble, frame, roomFor, type Sized } from './refine';
import type { Planes } from './views';
import { layPair } from './warp';

/** The ground as the first camera sees it. */
export interface GroundPlane {
  /** How far the camera looks down from level ground, radians. */
  readonly pitch: number;
  /** How far it is turned about its own axis, radians. */
  readonly roll: number;
  /** Length of the camera's move over its height above the ground; below 0 against the move's direction. */
  readonly length: number;
}

/** Two photos' full sizes. */
export interface Sizes {
  readonly before: Sized;
  readonly after: Sized;
}

/** The ground's downward normal in the first camera's frame. */
function downOf({ pitch, roll }: GroundPlane): [number, number, number] {
  return [Math.sin(roll) * Math.cos(pitch), Math.cos(roll) * Math.cos(pitch), Math.sin(pitch)];
}

/**
 * Where a camera's move takes the ground: H = Kb (R + s t n') Ka^-1, earlier to later photo in full-size pixels
 * (Hartley & Zisserman 2004, result 13.1, written for a normal that points down and s over the camera's height).
 */
export function groundMap(
  { rotation: r, direction: t, focal }: Posed,
  plane: GroundPlane,
  { before, after }: Sizes,
): Homography {
  const n = downOf(plane);
  const s = plane.length;
  const m = r.map((v, i) => v + s * t[Math.floor(i / 3)]! * n[i % 3]!) as unknown as Homography;
  const [fa, fb] = [focal[0] * Math.max(before.width, before.height), focal[1] * Math.max(after.width, after.height)];
  const [ca, cb] = [
    [(before.width - 1) / 2, (before.height - 1) / 2],
    [(after.width - 1) / 2, (after.height - 1) / 2],
  ] as const;
  const inverse: Homography = [1 / fa, 0, -ca[0]! / fa, 0, 1 / fa, -ca[1]! / fa, 0, 0, 1];
  return composeHomographies([fb, 0, cb[0]!, 0, fb, cb[1]!, 0, 0, 1], composeHomographies(m, inverse));
}

/**
 * Sine-like depression of the ray through a pixel below the ground's horizon: n . K^-1 x, above 0 where ground can be
 * seen.
 */
export function below(plane: GroundPlane, focal: number, size: Sized, [x, y]: Point): number {
  const f = focal * Math.max(size.width, size.height);
  const n = downOf(plane);
  return (n[0] * (x - (size.width - 1) / 2)) / f + (n[1] * (y - (size.height - 1) / 2)) / f + n[2];
}

export interface GroundGuess {
  readonly plane: GroundPlane;
  readonly map: Homography;
  /** Mean correlation of the blocks of ground, -1..1. */
  readonly fit: number;
  /** Shares of the lasting points that lie under the plane, and in it. */
  readonly under: number;
  readonly within: number;
  /** What guesses are ranked by. */
  readonly rank: number;
}

/** Rank of a guess: how well the ground looks the same there, less what lasting points lie under it. */
function rankOf(
  fit: number,
  under: number,
  within: number,
  plane: GroundPlane,
  known: KnownNormal | undefined,
): number {
  const unlikely = known ? Math.min(9, ((plane.pitch - known.pitch) / known.sd) ** 2) : 0;
  return fit - 2 * under + 0.1 * Math.min(1, 5 * within) - 0.04 * unlikely;
}

const PITCHES = [-0.08, -0.02, 0.04, 0.1, 0.17, 0.25, 0.34, 0.45, 0.58, 0.74, 0.93, 1.13, 1.35] as const;
/** Moves of up to 1.4 camera heights, in steps that grow with the length. */
const LENGTHS = lengths();

function lengths(): Float64Array {
  const out = [0];
  for (let s = 0.01; s < 1.4; s += Math.max(0.01, 0.09 * s)) out.push(s, -s);
  return Float64Array.from(out).sort();
}

/** Nothing nearer the horizon than this is taken for ground: there a pixel is many metres. */
export const NEAR_HORIZON = 0.06;
/** Blocks across and down in which the fit is taken one by one, so that a wall can't outweigh the ground. */
const BLOCKS = [12, 12] as const;

/**
 * Matches of the move with where each would be if its point were endlessly far: what tells points below a plane from
 * those above.
 */
export interface Lasting {
  readonly count: number;
  /** Place in the earlier photo, full-size pixels. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Place in the later photo, full-size pixels. */
  readonly u: Float64Array;
  readonly v: Float64Array;
}

/** The places of the matches that agree with a move. */
export function lastingOf(move: CameraMove, first: Features, second: Features, matches: Matches): Lasting {
  const pick = (from: Float32Array, by: Int32Array): Float64Array =>
    Float64Array.from(move.agreeing, (k) => from[by[k]!]!);
  return {
    count: move.agreeing.length,
    x: pick(first.x, matches.first),
    y: pick(first.y, matches.first),
    u: pick(second.x, matches.second),
    v: pick(second.y, matches.second),
  };
}

/** Matches within this of a plane's parallax lie in it, shares of the long side: 2.5 pixels of 1200. */
const IN_PLANE = 2.5 / 1200;

/**
 * How the lasting points lie to a plane: `under` are those farther away than the plane along their own line of sight,
 * which nothing that lasts can be if the plane is the ground; `within` lie in it.
 */
export function pointsAbout(
  points: Lasting,
  move: Posed,
  plane: GroundPlane,
  sizes: Sizes,
): { under: number; within: number } {
  const long = Math.max(sizes.after.width, sizes.after.height);
  const far = groundMap(move, { ...plane, length: 0 }, sizes);
  const map = groundMap(move, plane, sizes);
  const n = downOf(plane);
  const f = move.focal[0] * Math.max(sizes.before.width, sizes.before.height);
  const [cx, cy] = [(sizes.before.width - 1) / 2, (sizes.before.height - 1) / 2];
  let [under, within] = [0, 0];
  for (let k = 0; k < points.count; k++) {
    const x = points.x[k]!;
    const y = points.y[k]!;
    if ((n[0] * (x - cx) + n[1] * (y - cy)) / f + n[2] < NEAR_HORIZON / 2) continue;
    const fw = far[6] * x + far[7] * y + far[8];
    const fx = (far[0] * x + far[1] * y + far[2]) / fw;
    const fy = (far[3] * x + far[4] * y + far[5]) / fw;
    const gw = map[6] * x + map[7] * y + map[8];
    const dx = (map[0] * x + map[1] * y + map[2]) / gw - fx;
    const dy = (map[3] * x + map[4] * y + map[5]) / gw - fy;
    const length = Math.sqrt(dx * dx + dy * dy);
    const along = length < 1e-9 ? 0 : ((points.u[k]! - fx) * dx + (points.v[k]! - fy) * dy) / length;
    // A plane as good as endlessly far holds every far point: that says nothing.
    if (Math.abs(along - length) < IN_PLANE * long) within += length > 3 * IN_PLANE * long ? 1 : 0;
    else if (along < length - 2 * IN_PLANE * long) under++;
  }
  return { under, within };
}

/** What is known of the ground's normal: pitch and roll, and how sure (standard deviations, radians). */
export interface KnownNormal {
  readonly pitch: number;
  readonly roll: number;
  readonly sd: number;
  /**
   * True where it is measured (tilt, metres); false where it is only likely (upright edges), which weighs but rules
   * nothing out.
   */
  readonly sure: boolean;
}

/**
 * Slides the length of the move over both signs for each pitch of the camera, and scores where that would put the
 * ground: best first, at most `most` that differ. `plots` (full-size pixels) must lie below the horizon in both photos.
 */
export function searchGround(
  before: Planes,
  after: Planes,
  move: CameraMove,
  points: Lasting,
  sizes: Sizes,
  plots: readonly Point[],
  known: KnownNormal | undefined,
  most: number,
): GroundGuess[] {
  const guesses: GroundGuess[] = [];
  const near = boxAround(plots);
  const pitches = known?.sure ? [known.pitch - known.sd / 2, known.pitch, known.pitch + known.sd / 2] : PITCHES;
  for (const pitch of pitches) {
    const level: GroundPlane = { pitch, roll: known?.sure ? known.roll : 0, length: 0 };
    if (plots.some((p) => below(level, move.focal[0], sizes.before, p) < NEAR_HORIZON)) continue;
    const fitAt = fitOf(before, after, sample(before, level, move.focal[0], sizes.before, near));
    for (const length of LENGTHS) {
      if (move.sided && length < -0.04) continue;
      const plane = { ...level, length };
      const map = groundMap(move, plane, sizes);
      if (!inOrder(map, plots, sizes)) continue;
      const { under, within } = shares(points, move, plane, sizes);
      if (under > 0.3) continue;
      const fit = fitAt(betweenCopies(map, before.scale, after.scale));
      guesses.push({ plane, map, fit, under, within, rank: rankOf(fit, under, within, plane, known) });
    }
  }
  guesses.sort((a, b) => b.rank - a.rank);
  const apart = 0.03 * Math.hypot(sizes.after.width, sizes.after.height);
  const kept: GroundGuess[] = [];
  for (const guess of guesses) {
    if (kept.every((k) => plots.some((p) => away(k.map, guess.map, p) > apart))) kept.push(guess);
    if (kept.length >= most) break;
  }
  return kept;
}

function shares(points: Lasting, move: Posed, plane: GroundPlane, sizes: Sizes): { under: number; within: number } {
  const { under, within } = pointsAbout(points, move, plane, sizes);
  return { under: under / Math.max(1, points.count), within: within / Math.max(1, points.count) };
}

function away(a: Homography, b: Homography, p: Point): number {
  const [u, v] = [applyHomography(a, p), applyHomography(b, p)];
  return Math.hypot(u[0] - v[0], u[1] - v[1]);
}

/** The plots land before the later camera, mostly inside its photo, not shrunk or blown up beyond three times. */
export function inOrder(map: Homography, plots: readonly Point[], { after }: Sizes): boolean {
  let inside = 0;
  for (const [x, y] of plots) {
    if (!(map[6] * x + map[7] * y + map[8] > 0.2)) return false;
    const [u, v] = applyHomography(map, [x, y]);
    if (u > -0.1 * after.width && v > -0.1 * after.height && u < 1.1 * after.width && v < 1.1 * after.height) inside++;
  }
  return inside >= 0.6 * plots.length;
}

function boxAround(plots: readonly Point[]): readonly [number, number, number, number] {
  const [xs, ys] = [plots.map((p) => p[0]), plots.map((p) => p[1])];
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const [w, h] = [0.15 * (x1 - x0), 0.15 * (y1 - y0)];
  return [x0 - w, y0 - h, x1 + w, y1 + h];
}

/** Pixels of the earlier copy that may show ground, and each one's block. */
export interface Samples {
  readonly at: Int32Array;
  readonly block: Uint8Array;
  readonly weight: Float64Array;
}

/** Blocks away from the plots count for less. */
const AWAY = 0.5;

function sample(
  before: Planes,
  level: GroundPlane,
  focal: number,
  full: Sized,
  near: readonly [number, number, number, number],
): Samples {
  const { width: w, height: h, data, scale } = before;
  const at: number[] = [];
  const block: number[] = [];
  const [across, down] = BLOCKS;
  const weight = new Float64Array(across * down).fill(AWAY);
  for (let y = 1; y < h - 1; y += 2) {
    for (let x = 1; x < w - 1; x += 2) {
      if (data[4 * (y * w + x) + 3] === 0) continue;
      const p: Point = [(x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5];
      if (below(level, focal, full, p) < NEAR_HORIZON) continue;
      const b = Math.floor((y * down) / h) * across + Math.floor((x * across) / w);
      at.push(y * w + x);
      block.push(b);
      if (p[0] > near[0] && p[1] > near[1] && p[0] < near[2] && p[1] < near[3]) weight[b] = 1;
    }
  }
  return { at: Int32Array.from(at), block: Uint8Array.from(block), weight };
}

/**
 * The pixels seen about some plots, every second each way: those that count where the map itself is asked, not the
 * move.
 */
export function sampleBox(before: Planes, plots: readonly Point[]): Samples {
  const { width: w, height: h, data, scale } = before;
  const near = boxAround(plots);
  const at: number[] = [];
  const block: number[] = [];
  const [across, down] = BLOCKS;
  for (let y = 1; y < h - 1; y += 2) {
    for (let x = 1; x < w - 1; x += 2) {
      const p: Point = [(x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5];
      if (data[4 * (y * w + x) + 3] === 0 || p[0] < near[0] || p[1] < near[1] || p[0] > near[2] || p[1] > near[3])
        continue;
      at.push(y * w + x);
      block.push(Math.floor((y * down) / h) * across + Math.floor((x * across) / w));
    }
  }
  return { at: Int32Array.from(at), block: Uint8Array.from(block), weight: new Float64Array(across * down).fill(1) };
}

/**
 * Makes a function that gives, for a map between two copies, the mean over the blocks of the correlation of all three
 * planes; what lies outside the later photo counts as no agreement. Good until something else uses the kernel.
 */
export function fitOf(before: Planes, after: Planes, { at, block, weight }: Samples): (map: Homography) => number {
  const blocks = weight.length;
  const {
    kernel,
    at: [own, other, maps, places, blockAt, answers],
  } = lay(before.data.byteLength, after.data.byteLength, 72, at.byteLength, block.byteLength, 40 * blocks);
  const { buffer } = kernel.memory;
  new Float32Array(buffer, own, before.data.length).set(before.data);
  new Float32Array(buffer, other, after.data.length).set(after.data);
  new Int32Array(buffer, places, at.length).set(at);
  new Uint8Array(buffer, blockAt, block.length).set(block);
  const by = new Float64Array(buffer, maps, 9);
  const sums = new Float64Array(buffer, answers, 5 * blocks);
  return (map) => {
    by.set(map);
    sums.fill(0);
    kernel.fit(own, before.width, other, after.width, after.height, maps, places, blockAt, at.length, answers);
    let [sum, total] = [0, 0];
    for (let b = 0; b < blocks; b++) {
      const all = sums[5 * b + 4]!;
      if (all < 8) continue;
      const size = weight[b]! * Math.sqrt(all);
      total += size;
      const n = sums[5 * b + 3]!;
      if (n >= 8) sum += (size * (n / all) * sums[5 * b]!) / Math.sqrt(sums[5 * b + 1]! * sums[5 * b + 2]! + 1e-9);
    }
    return total > 0 ? sum / total : -1;
  };
}

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
    samples = sample(before, state.plane, state.move.focal[0], sizes.before, boxAround(plots));
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
