import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove, Posed } from './camera-move';
import type { Features } from './features';
import type { Matches } from './match-features';
import type { Sized } from './refine';

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

/** Nothing nearer the horizon than this is taken for ground: there a pixel is many metres. */
export const NEAR_HORIZON = 0.06;

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
