import 'server-only';
import { WORDS, type Features } from './features';
import type { Matches } from './match-features';
import type { LastingPoint, PlaceMap } from './place-map';

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
