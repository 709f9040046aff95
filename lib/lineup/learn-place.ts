import 'server-only';
import { solveRows } from '@/lib/photo/ground/linear-solve';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove } from './camera-move';
import { WORDS, type Features } from './features';
import { joinGround, nearnessOf } from './map-ground';
import type { BitsApart } from './map-matches';
import { project, shares, SIGMA, viewOf } from './map-pose';
import type { Matches } from './match-features';
import { wordsOf, type Ground, type LastingPoint, type MapPose, type Newcomer, type PlaceMap } from './place-map';

/** How many looks of a point are kept: a dry day, a wet one, one in leaf. */
const LOOKS = 3;

/**
 * A point not seen so often in a row is forgotten, unless it was seen more often than not; one never seen again sooner.
 */
const FORGET_AFTER = 5;

const FORGET_STRANGER_AFTER = 3;

/** How many newcomers wait at most, the strongest of the last photos. */
const WAITING = 1500;

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
