import 'server-only';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import { solveRows } from '@/lib/photo/ground/linear-solve';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove } from './camera-move';
import { WORDS, type Features } from './features';
import type { Matches } from './match-features';

/**
 * What a viewpoint has learned: lasting points round its lawn, in the frame of its reference photo. A point is where
 * the reference photo shows it and how near it is; how near comes from the moves of all photos that saw it. Nothing is
 * ever measured from photo to photo, so nothing can drift; what stays away is forgotten.
 */
export interface PlaceMap {
  readonly version: typeof PLACE_MAP_VERSION;
  /** Size of the reference photo, pixels, and its focal length as a share of its long side. */
  readonly width: number;
  readonly height: number;
  readonly focal: number;
  /** Photos it was learned from, the reference included. */
  readonly photos: number;
  readonly points: readonly LastingPoint[];
  /**
   * The ground: on it nearness is a x + b y + c, x and y in shares of the long side about the reference photo's middle.
   * Null until a photo taken from another stand was lined up. Nearness is one over depth, in units that make the
   * vector's length 1.
   */
  readonly ground: Ground | null;
  /** Points of the last photos whose pose is known that the map doesn't have: seen once more they join it. */
  readonly newcomers: readonly Newcomer[];
}

/** The plane and what is known of it: its information, 3 x 3, adds up from photo to photo. */
export interface Ground {
  readonly plane: readonly [number, number, number];
  readonly information: readonly (readonly [number, number, number])[];
}

/** A point of one photo, with that photo's pose. */
export interface Newcomer {
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly words: Int32Array;
  readonly pose: MapPose;
}

/** Raise when what is kept can't be read, or means something else: old maps are then learned anew. */
export const PLACE_MAP_VERSION = 'place-map-1';

export interface LastingPoint {
  /** Pixels of the reference photo. */
  readonly x: number;
  readonly y: number;
  readonly size: number;
  /** Nearness and its information (one over variance), from the moves so far; information 0: unknown. */
  readonly nearness: number;
  readonly information: number;
  readonly seen: number;
  /** Looks in a row that it was not seen though it lay in the picture. */
  readonly missed: number;
  readonly looked: number;
  /** How it looked, the newest first: WORDS words each. */
  readonly looks: readonly Int32Array[];
}

/** How many looks of a point are kept: a dry day, a wet one, one in leaf. */
const LOOKS = 3;
/**
 * A point not seen so often in a row is forgotten, unless it was seen more often than not; one never seen again sooner.
 */
const FORGET_AFTER = 5;
const FORGET_STRANGER_AFTER = 3;
/** How many newcomers wait at most, the strongest of the last photos. */
const WAITING = 1500;
/** A position in a photo is known to this share of its long side: 1.2 pixels of 1200. */
const SIGMA = 1.2 / 1200;

/** A photo as the map sees it: how the camera turned from the reference photo, and went, in the map's own unit. */
export interface MapPose {
  readonly rotation: readonly number[];
  /** The move, in units of the map's nearness; zero length: on the reference's own stand. */
  readonly move: readonly [number, number, number];
  readonly focal: number;
  readonly width: number;
  readonly height: number;
}

/** A map of one photo: everything in it may last. */
export function startPlaceMap(features: Features, focal: number): PlaceMap {
  const points = Array.from({ length: features.count }, (_, i): LastingPoint => ({
    x: features.x[i]!,
    y: features.y[i]!,
    size: features.size[i]!,
    nearness: 0,
    information: 0,
    seen: 1,
    missed: 0,
    looked: 1,
    looks: [wordsOf(features, i)],
  }));
  return {
    version: PLACE_MAP_VERSION,
    width: features.width,
    height: features.height,
    focal,
    photos: 1,
    points,
    ground: null,
    newcomers: [],
  };
}

const wordsOf = (features: Features, i: number): Int32Array => features.words.slice(i * WORDS, (i + 1) * WORDS);

/**
 * The map as if it were one photo from the reference's stand: what later photos are matched with. A point with several
 * looks stands in it several times; `pointOf` says which point each is.
 */
export function asFeatures(map: PlaceMap): { features: Features; pointOf: Int32Array } {
  const rows = map.points.flatMap((point, index) => point.looks.map((words) => ({ point, index, words })));
  const of = (read: (row: (typeof rows)[number]) => number) => Float32Array.from(rows, read);
  const words = new Int32Array(rows.length * WORDS);
  rows.forEach((row, i) => words.set(row.words, i * WORDS));
  return {
    features: {
      width: map.width,
      height: map.height,
      count: rows.length,
      x: of((row) => row.point.x),
      y: of((row) => row.point.y),
      size: of((row) => row.point.size),
      strength: of((row) => row.point.seen),
      turn: 0,
      words,
    },
    pointOf: Int32Array.from(rows, (row) => row.index),
  };
}

/**
 * Matches between the map and a photo: mutual nearest, and clearly nearer than any other point's, so that two looks of
 * one point don't take each other's place.
 * @param ratio nearest over second nearest, at most
 */
export function matchMap(map: PlaceMap, photo: Features, apart: BitsApart, ratio = 0.88): Matches {
  const { features, pointOf } = asFeatures(map);
  const scale = photo.width / map.width;
  const reach = 0.45 * Math.hypot(photo.width, photo.height);
  const n = map.points.length;
  const [best, next, at] = [new Uint16Array(n).fill(999), new Uint16Array(n).fill(999), new Int32Array(n).fill(-1)];
  const [backBest, back] = [new Uint16Array(photo.count).fill(999), new Int32Array(photo.count).fill(-1)];
  for (let row = 0; row < features.count; row++) {
    const p = pointOf[row]!;
    const [x, y, size] = [features.x[row]! * scale, features.y[row]! * scale, features.size[row]! * scale];
    for (let j = 0; j < photo.count; j++) {
      if (Math.abs(photo.y[j]! - y) > reach || Math.abs(photo.x[j]! - x) > reach) continue;
      if (photo.size[j]! < size / 2.1 || photo.size[j]! > size * 2.1) continue;
      const d = apart(features.words, row * WORDS, photo.words, j * WORDS);
      if (d < backBest[j]!) [backBest[j], back[j]] = [d, p];
      if (at[p] === j) best[p] = Math.min(best[p]!, d);
      else if (d < best[p]!) [next[p], best[p], at[p]] = [best[p]!, d, j];
      else if (d < next[p]!) next[p] = d;
    }
  }
  const found = Array.from({ length: n }, (_, p) => p).filter(
    (p) => at[p]! >= 0 && back[at[p]!] === p && best[p]! < ratio * next[p]!,
  );
  found.sort((a, b) => best[a]! / next[a]! - best[b]! / next[b]!);
  return {
    count: found.length,
    first: Int32Array.from(found),
    second: Int32Array.from(found, (p) => at[p]!),
    ratio: Float32Array.from(found, (p) => best[p]! / next[p]!),
  };
}

/** The map's points as features, one each: what `findCameraMove` takes together with the matches of `matchMap`. */
export function pointsAsFeatures(map: PlaceMap): Features {
  const of = (read: (point: LastingPoint) => number) => Float32Array.from(map.points, read);
  return {
    width: map.width,
    height: map.height,
    count: map.points.length,
    x: of((p) => p.x),
    y: of((p) => p.y),
    size: of((p) => p.size),
    strength: of((p) => p.seen),
    turn: 0,
    words: new Int32Array(0),
  };
}

/** Bits that differ between two descriptors, each by its array and first word. */
export type BitsApart = (a: Int32Array, i: number, b: Int32Array, j: number) => number;

interface View {
  readonly long: number;
  readonly cx: number;
  readonly cy: number;
}
const viewOf = ({ width, height }: { readonly width: number; readonly height: number }): View => ({
  long: Math.max(width, height),
  cx: (width - 1) / 2,
  cy: (height - 1) / 2,
});

/** Where a pose shows a ray of the reference photo (shares of the long side) at a nearness, pixels. */
function project(pose: MapPose, focal: number, x: number, y: number, nearness: number): [number, number] {
  const r = pose.rotation;
  const [a, b] = [x / focal, y / focal];
  const X = r[0]! * a + r[1]! * b + r[2]! + nearness * pose.move[0];
  const Y = r[3]! * a + r[4]! * b + r[5]! + nearness * pose.move[1];
  const Z = r[6]! * a + r[7]! * b + r[8]! + nearness * pose.move[2];
  const view = viewOf(pose);
  return [view.cx + (view.long * pose.focal * X) / Z, view.cy + (view.long * pose.focal * Y) / Z];
}

/** The ground's map from the reference photo to a photo of this pose, pixels; null while the map knows no ground. */
export function groundBy(map: PlaceMap, pose: MapPose): Homography | null {
  if (!map.ground) return null;
  const { plane } = map.ground;
  const view = viewOf(map);
  const corners: Point[] = [
    [0, 0.35],
    [1, 0.35],
    [1, 1],
    [0, 1],
  ].map(([u, v]) => [u! * (map.width - 1), v! * (map.height - 1)]);
  const r = pose.rotation;
  const f = map.focal;
  const after = viewOf(pose);
  // H = K' (R + t n') K^-1, with n' the plane's nearness as a linear form of the ray.
  const rows = [0, 1, 2].map((i) => {
    const [m0, m1, m2] = [
      r[3 * i]! / f + pose.move[i]! * plane[0],
      r[3 * i + 1]! / f + pose.move[i]! * plane[1],
      r[3 * i + 2]! + pose.move[i]! * plane[2],
    ];
    // x = (px - cx) / long
    return [m0 / view.long, m1 / view.long, m2 - (m0 * view.cx + m1 * view.cy) / view.long];
  }) as [number[], number[], number[]];
  const k = after.long * pose.focal;
  const out = [0, 1, 2].map((c) => [
    k * rows[0][c]! + after.cx * rows[2][c]!,
    k * rows[1][c]! + after.cy * rows[2][c]!,
    rows[2][c]!,
  ]);
  const h = [
    out[0]![0]!,
    out[1]![0]!,
    out[2]![0]!,
    out[0]![1]!,
    out[1]![1]!,
    out[2]![1]!,
    out[0]![2]!,
    out[1]![2]!,
    out[2]![2]!,
  ].map((value) => value / out[2]![2]!) as unknown as Homography;
  return corners.every((corner) => applyHomography(h, corner).every(Number.isFinite)) ? h : null;
}

/**
 * How far off, pixels of a photo of this pose, what is known of the ground may put it at the worst of some places of
 * the reference photo: one standard deviation.
 */
export function doubtOfGround(map: PlaceMap, pose: MapPose, places: readonly Point[]): number {
  const { ground } = map;
  if (!ground) return Infinity;
  return Math.max(
    ...places.map((place) => {
      const [x, y] = shares(map, place);
      const form = [x, y, 1];
      const solved = solveRows(ground.information.map((row, i) => Float64Array.of(row[0], row[1], row[2], form[i]!)));
      const variance = form.reduce((sum, value, i) => sum + value * solved[i]!, 0);
      const nearness = form.reduce((sum, value, i) => sum + value * ground.plane[i]!, 0);
      const sd = Number.isFinite(variance) ? Math.sqrt(Math.max(0, variance)) : Infinity;
      const [a, b] = [project(pose, map.focal, x, y, nearness), project(pose, map.focal, x, y, nearness + sd)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    }),
  );
}

/** A place of the reference photo in shares of its long side about its middle. */
const shares = (map: PlaceMap, [x, y]: Point): [number, number] => {
  const view = viewOf(map);
  return [(x - view.cx) / view.long, (y - view.cy) / view.long];
};

/**
 * The pose of a photo by the map's points: its turn and its move, in the map's own unit, from the points whose nearness
 * is known. Starts from the camera's move between reference and photo, and is refined by Gauss-Newton on the points
 * that agreed with it, each weighed by how well its nearness is known; outliers lose weight (Huber).
 * @returns null when too few points with known nearness were seen: then only the direction of the move is known
 */
export function poseByMap(
  map: PlaceMap,
  photo: Features,
  matches: Matches,
  move: CameraMove,
): (MapPose & { readonly used: number; readonly sigmaMove: number }) | null {
  const seen = [...move.agreeing].flatMap((k) => {
    const point = map.points[matches.first[k]!]!;
    return point.information > 0
      ? [{ point, at: [photo.x[matches.second[k]!]!, photo.y[matches.second[k]!]!] as Point }]
      : [];
  });
  if (seen.length < 12) return null;
  const size = { width: photo.width, height: photo.height };
  let pose: MapPose = { rotation: [...move.rotation], move: [0, 0, 0], focal: move.focal[1], ...size };
  // The length of the move along its direction first: one number, by trying both ways and many lengths.
  const spread = Math.max(...seen.map(({ point }) => Math.abs(point.nearness)), 1e-6);
  let best = Infinity;
  for (let i = 0; i <= 60; i++) {
    const length = (i / 60) ** 2 * (0.6 / spread);
    const trial: MapPose = { ...pose, move: move.direction.map((d) => d * length) as [number, number, number] };
    const cost = costOf(map, trial, seen);
    if (cost < best) [best, pose] = [cost, trial];
  }
  const fitted = refinePose(map, pose, seen);
  return { ...fitted.pose, used: seen.length, sigmaMove: fitted.sigmaMove };
}

type Seen = { readonly point: LastingPoint; readonly at: Point };

/** Miss of a point, in pixels across and down, and its weight: one over the variance, that of its nearness included. */
function missOf(map: PlaceMap, pose: MapPose, { point, at }: Seen): { dx: number; dy: number; weight: number } {
  const [x, y] = shares(map, [point.x, point.y]);
  const [u, v] = project(pose, map.focal, x, y, point.nearness);
  const step = 1e-4;
  const [u2, v2] = project(pose, map.focal, x, y, point.nearness + step);
  const sigmaNear = Math.hypot(u2 - u, v2 - v) / step / Math.sqrt(point.information);
  const sigma = Math.hypot(SIGMA * Math.max(pose.width, pose.height), sigmaNear);
  return { dx: at[0] - u, dy: at[1] - v, weight: 1 / sigma ** 2 };
}

/** Misses over this many standard deviations count less and less (Huber 1964). */
const HUBER = 1.8;

function costOf(map: PlaceMap, pose: MapPose, seen: readonly Seen[]): number {
  return seen.reduce((sum, one) => {
    const { dx, dy, weight } = missOf(map, pose, one);
    const r = Math.hypot(dx, dy) * Math.sqrt(weight);
    return sum + (r <= HUBER ? r * r : HUBER * (2 * r - HUBER));
  }, 0);
}

/** Turn by the small vector w, before the rotation `r`. */
function turned(r: readonly number[], [w0, w1, w2]: readonly [number, number, number]): number[] {
  const angle = Math.hypot(w0, w1, w2);
  const s = angle < 1e-9 ? 1 : Math.sin(angle) / angle;
  const c = angle < 1e-9 ? 0.5 : (1 - Math.cos(angle)) / angle ** 2;
  const m = [
    1 - c * (w1 * w1 + w2 * w2),
    -s * w2 + c * w0 * w1,
    s * w1 + c * w0 * w2,
    s * w2 + c * w0 * w1,
    1 - c * (w0 * w0 + w2 * w2),
    -s * w0 + c * w1 * w2,
    -s * w1 + c * w0 * w2,
    s * w0 + c * w1 * w2,
    1 - c * (w0 * w0 + w1 * w1),
  ];
  return Array.from({ length: 9 }, (_, i) =>
    [0, 1, 2].reduce((sum, k) => sum + m[3 * Math.floor(i / 3) + k]! * r[3 * k + (i % 3)]!, 0),
  );
}

const stepped = (pose: MapPose, d: ArrayLike<number>): MapPose => ({
  ...pose,
  rotation: turned(pose.rotation, [d[0]!, d[1]!, d[2]!]),
  move: [pose.move[0] + d[3]!, pose.move[1] + d[4]!, pose.move[2] + d[5]!],
  focal: pose.focal * Math.exp(d[6]!),
});

/** Information on the logarithm of the focal length before anything was seen: 4 %. */
const FOCAL_INFORMATION = 1 / 0.04 ** 2;

function refinePose(map: PlaceMap, start: MapPose, seen: readonly Seen[]): { pose: MapPose; sigmaMove: number } {
  let pose = start;
  let cost = costOf(map, pose, seen);
  let information: Float64Array[] = [];
  const scale = 1e-5;
  for (let round = 0; round < 20; round++) {
    information = Array.from({ length: 7 }, (_, i) =>
      Float64Array.from({ length: 7 }, (_, j) => (i === j ? (i === 6 ? FOCAL_INFORMATION : 1e-6) : 0)),
    );
    const pull = new Float64Array(7);
    pull[6] = -FOCAL_INFORMATION * Math.log(pose.focal / start.focal);
    const nudged = Array.from({ length: 7 }, (_, i) =>
      stepped(
        pose,
        Array.from({ length: 7 }, (_, j) => (i === j ? scale : 0)),
      ),
    );
    for (const one of seen) {
      const here = missOf(map, pose, one);
      const r = Math.hypot(here.dx, here.dy) * Math.sqrt(here.weight);
      const weight = here.weight * (r <= HUBER ? 1 : HUBER / r);
      const slopes = nudged.map((other) => {
        const there = missOf(map, other, one);
        return [(here.dx - there.dx) / scale, (here.dy - there.dy) / scale] as const;
      });
      for (let i = 0; i < 7; i++) {
        pull[i]! += weight * (slopes[i]![0] * here.dx + slopes[i]![1] * here.dy);
        for (let j = 0; j < 7; j++)
          information[i]![j]! += weight * (slopes[i]![0] * slopes[j]![0] + slopes[i]![1] * slopes[j]![1]);
      }
    }
    const step = solveRows(information.map((row, i) => Float64Array.of(...row, pull[i]!)));
    if (!step.every(Number.isFinite)) break;
    let share = 1;
    let next = stepped(pose, step);
    let nextCost = costOf(map, next, seen);
    while (nextCost > cost && share > 1 / 64) {
      share /= 2;
      next = stepped(
        pose,
        step.map((value) => value * share),
      );
      nextCost = costOf(map, next, seen);
    }
    if (nextCost >= cost) break;
    const gained = cost - nextCost;
    [pose, cost] = [next, nextCost];
    if (gained < 1e-6 * cost) break;
  }
  const columns = [3, 4, 5].map((k) =>
    solveRows(information.map((row, i) => Float64Array.of(...row, i === k ? 1 : 0))),
  );
  return { pose, sigmaMove: Math.sqrt(columns.reduce((sum, column, i) => sum + Math.max(0, column[3 + i]!), 0)) };
}

/**
 * The pose of a photo whose ground is known, because its outlines were accepted: the move's turn and direction from the
 * photos, its length from the ground. While the map knows no ground the length is taken as such that the ground's
 * vector has length 1.
 * @param toPhoto the ground's map from the reference photo to this photo, pixels
 * @returns the pose and the ground by this photo alone, with the information this photo gives on it; null when the
 *   camera hardly moved
 */
export function poseByGround(
  map: PlaceMap,
  photo: { readonly width: number; readonly height: number },
  move: CameraMove,
  toPhoto: Homography,
  places: readonly Point[],
): { pose: MapPose; ground: Ground } | null {
  const still: MapPose = {
    rotation: [...move.rotation],
    move: [0, 0, 0],
    focal: move.focal[1],
    width: photo.width,
    height: photo.height,
  };
  const unit: MapPose = { ...still, move: [...move.direction] };
  // With the move's length set to 1: nearness of each place from where the ground's map takes it, then the plane
  // through them.
  const rows = places.flatMap((place) => {
    const [x, y] = shares(map, place);
    const { nearness, information } = nearnessOf(map, unit, [x, y], applyHomography(toPhoto, place));
    return Number.isFinite(nearness) ? [{ x, y, nearness, information }] : [];
  });
  if (rows.length < 3) return null;
  const normal = [0, 1, 2].map((i) => {
    const row = new Float64Array(4);
    for (const { x, y, nearness, information } of rows) {
      const form = [x, y, 1];
      for (let j = 0; j < 3; j++) row[j]! += information * form[i]! * form[j]!;
      row[3]! += information * form[i]! * nearness;
    }
    row[i]! += 1e-9;
    return row;
  });
  const [a, b, c] = solveRows(normal.map((row) => row.slice())) as unknown as [number, number, number];
  const length = Math.hypot(a, b, c);
  // Ground lies below: nearer the camera towards the photo's lower edge, and the camera moved far enough to tell how it
  // lies.
  const variance = [0, 1, 2].reduce(
    (sum, k) =>
      sum + solveRows(normal.map((row, i) => Float64Array.of(row[0]!, row[1]!, row[2]!, i === k ? 1 : 0)))[k]!,
    0,
  );
  if (!Number.isFinite(length) || !(Math.sqrt(variance) < GROUND_KNOWN * length) || b <= 0) return null;
  const information = normal.map(
    (row) => [row[0]! * length ** 2, row[1]! * length ** 2, row[2]! * length ** 2] as const,
  );
  return {
    pose: { ...still, move: unit.move.map((value) => value * length) as [number, number, number] },
    ground: { plane: [a / length, b / length, c / length], information },
  };
}

/** The ground's vector must be known to this share of its length before anything is measured in it. */
const GROUND_KNOWN = 0.05;

/**
 * Nearness of a ray of the reference photo from where a photo shows it: least squares along the line it moves on, one
 * Newton's method.
 */
function nearnessOf(
  map: PlaceMap,
  pose: MapPose,
  [x, y]: readonly [number, number],
  at: Point,
): { nearness: number; information: number } {
  let nearness = 0;
  let information = 0;
  for (let round = 0; round < 8; round++) {
    const [u, v] = project(pose, map.focal, x, y, nearness);
    const step = 1e-5;
    const [u2, v2] = project(pose, map.focal, x, y, nearness + step);
    const [sx, sy] = [(u2 - u) / step, (v2 - v) / step];
    const slope = sx * sx + sy * sy;
    if (slope === 0) return { nearness: Number.NaN, information: 0 };
    nearness += (sx * (at[0] - u) + sy * (at[1] - v)) / slope;
    information = slope / (SIGMA * Math.max(pose.width, pose.height)) ** 2;
  }
  return { nearness, information };
}

/**
 * Learns from one more photo: points that agreed are seen (their nearness and looks grow), points that should have been
 * in the picture and weren't are missed, and forgotten in the end. The reference's positions never change.
 */
export function learnPlace(
  map: PlaceMap,
  photo: Features,
  matches: Matches,
  move: CameraMove,
  pose: MapPose | null,
  ground: Ground | null,
  apart: BitsApart,
): PlaceMap {
  const seenAs = new Map([...move.agreeing].map((k) => [matches.first[k]!, matches.second[k]!]));
  const about: MapPose = pose ?? {
    rotation: [...move.rotation],
    move: [0, 0, 0],
    focal: move.focal[1],
    width: photo.width,
    height: photo.height,
  };
  const points = map.points.flatMap((point, index): LastingPoint[] => {
    const j = seenAs.get(index);
    const ray = shares(map, [point.x, point.y]);
    if (j !== undefined) {
      const measured = pose ? nearnessOf(map, pose, ray, [photo.x[j]!, photo.y[j]!]) : { nearness: 0, information: 0 };
      const information = point.information + measured.information;
      // Behind the camera or far nearer than the ground at one's feet is no place: a wrong match that happened to
      // agree.
      const nearness =
        information > 0
          ? (point.information * point.nearness + measured.information * measured.nearness) / information
          : 0;
      const looks = [wordsOf(photo, j), ...point.looks].slice(0, LOOKS);
      return [{ ...point, nearness, information, looks, seen: point.seen + 1, looked: point.looked + 1, missed: 0 }];
    }
    const [u, v] = project(about, map.focal, ray[0], ray[1], point.nearness);
    const margin = 0.03 * Math.max(photo.width, photo.height);
    if (u < margin || v < margin || u > photo.width - margin || v > photo.height - margin) return [point];
    const missed = point.missed + 1;
    const looked = point.looked + 1;
    const gone =
      point.seen === 1 ? missed >= FORGET_STRANGER_AFTER : missed >= FORGET_AFTER && 2 * point.seen <= looked + 1;
    return gone ? [] : [{ ...point, missed, looked }];
  });
  const known = new Set(matches.second);
  const { joined, waiting } = pose ? welcome(map, photo, known, pose, apart) : { joined: [], waiting: map.newcomers };
  return {
    ...map,
    photos: map.photos + 1,
    points: [...points, ...joined],
    ground: ground ? joinGround(map.ground, ground) : map.ground,
    newcomers: waiting,
  };
}

/**
 * The ground by all photos so far: each counts by its information, so that a photo from nearly the same stand hardly
 * counts.
 */
function joinGround(before: Ground | null, now: Ground): Ground {
  if (!before) return now;
  const information = before.information.map((row, i) =>
    [0, 1, 2].map((j) => row[j]! + now.information[i]![j]!),
  ) as unknown as Ground['information'];
  const pull = [0, 1, 2].map((i) =>
    [0, 1, 2].reduce(
      (sum, j) => sum + before.information[i]![j]! * before.plane[j]! + now.information[i]![j]! * now.plane[j]!,
      0,
    ),
  );
  const mean = solveRows(information.map((row, i) => Float64Array.of(...row, pull[i]!)));
  const length = Math.hypot(...mean);
  if (!Number.isFinite(length) || length === 0) return before;
  return { plane: [mean[0]! / length, mean[1]! / length, mean[2]! / length], information };
}

/** A newcomer's descriptor must be this near to a photo's, of 486 bits, and clearly nearer than to any other. */
const SAME_BITS = 150;
const CLEARLY = 0.8;
/** The place of a new point in the reference photo must be known as well as this, shares of the long side. */
const PLACE_SIGMA = 3 / 1200;

/**
 * Points of this photo that the map doesn't have, and that an earlier photo had as well: where both see them gives
 * their place in the reference photo and their nearness. What only this photo has waits for the next.
 */
function welcome(
  map: PlaceMap,
  photo: Features,
  known: ReadonlySet<number>,
  pose: MapPose,
  apart: BitsApart,
): { joined: LastingPoint[]; waiting: Newcomer[] } {
  const fresh = Array.from({ length: photo.count }, (_, j) => j).filter((j) => !known.has(j));
  const joined: LastingPoint[] = [];
  const taken = new Set<number>();
  const grown = new Set<Newcomer>();
  for (const newcomer of map.newcomers) {
    let [best, next, at] = [999, 999, -1];
    for (const j of fresh) {
      const d = apart(newcomer.words, 0, photo.words, j * WORDS);
      if (d < best) [next, best, at] = [best, d, j];
      else if (d < next) next = d;
    }
    if (at < 0 || best > SAME_BITS || best > CLEARLY * next || taken.has(at)) continue;
    const found = place(map, [
      { pose: newcomer.pose, at: [newcomer.x, newcomer.y] },
      { pose, at: [photo.x[at]!, photo.y[at]!] },
    ]);
    if (!found) continue;
    taken.add(at);
    grown.add(newcomer);
    joined.push({
      ...found,
      size: newcomer.size * (map.width / newcomer.pose.width),
      seen: 2,
      missed: 0,
      looked: 2,
      looks: [wordsOf(photo, at), newcomer.words],
    });
  }
  const own = fresh
    .filter((j) => !taken.has(j))
    .sort((a, b) => photo.strength[b]! - photo.strength[a]!)
    .slice(0, WAITING / 2)
    .map((j): Newcomer => ({ x: photo.x[j]!, y: photo.y[j]!, size: photo.size[j]!, words: wordsOf(photo, j), pose }));
  return { joined, waiting: [...own, ...map.newcomers.filter((newcomer) => !grown.has(newcomer))].slice(0, WAITING) };
}

/**
 * Where the reference photo would show a point that two photos saw, and its nearness. Null when the two don't agree on
 * one, or not well enough.
 */
function place(
  map: PlaceMap,
  sightings: readonly { pose: MapPose; at: Point }[],
): Pick<LastingPoint, 'x' | 'y' | 'nearness' | 'information'> | null {
  const first = sightings[0]!;
  const view = viewOf(map);
  let [x, y, n] = [
    (first.at[0] - (first.pose.width - 1) / 2) / Math.max(first.pose.width, first.pose.height),
    (first.at[1] - (first.pose.height - 1) / 2) / Math.max(first.pose.width, first.pose.height),
    0,
  ];
  let information: Float64Array[] = [];
  let cost = 0;
  for (let round = 0; round < 10; round++) {
    // What is usual among the map's own points: far off rather than near.
    const prior = 1 / NEARNESS_SPREAD ** 2;
    information = [Float64Array.of(1e-6, 0, 0), Float64Array.of(0, 1e-6, 0), Float64Array.of(0, 0, prior)];
    const pull = Float64Array.of(0, 0, -prior * n);
    cost = 0;
    for (const { pose, at } of sightings) {
      const sigma = SIGMA * Math.max(pose.width, pose.height);
      const here = project(pose, map.focal, x, y, n);
      const h = 1e-5;
      const slopes = [
        project(pose, map.focal, x + h, y, n),
        project(pose, map.focal, x, y + h, n),
        project(pose, map.focal, x, y, n + h),
      ].map(([u, v]) => [(u - here[0]) / h / sigma, (v - here[1]) / h / sigma] as const);
      const [du, dv] = [(at[0] - here[0]) / sigma, (at[1] - here[1]) / sigma];
      cost += du * du + dv * dv;
      for (let i = 0; i < 3; i++) {
        pull[i]! += slopes[i]![0] * du + slopes[i]![1] * dv;
        for (let j = 0; j < 3; j++)
          information[i]![j]! += slopes[i]![0] * slopes[j]![0] + slopes[i]![1] * slopes[j]![1];
      }
    }
    const step = solveRows(information.map((row, i) => Float64Array.of(...row, pull[i]!)));
    if (!step.every(Number.isFinite)) return null;
    [x, y, n] = [x + step[0]!, y + step[1]!, n + step[2]!];
  }
  // Four equations, three unknowns: one degree of freedom. In front of the camera, and inside what the reference photo
  // could show.
  if (cost > 6 || n < -0.1 * NEARNESS_SPREAD || Math.abs(x) > 0.6 || Math.abs(y) > 0.6) return null;
  const columns = [0, 1, 2].map((k) =>
    solveRows(information.map((row, i) => Float64Array.of(...row, i === k ? 1 : 0))),
  );
  if (Math.max(columns[0]![0]!, columns[1]![1]!) > PLACE_SIGMA ** 2) return null;
  return { x: x * view.long + view.cx, y: y * view.long + view.cy, nearness: n, information: 1 / columns[2]![2]! };
}

/**
 * Nearness of things round a lawn, in units where the ground's vector has length 1: the ground half-way down a photo
 * has about 0.3.
 */
const NEARNESS_SPREAD = 0.4;
