import { describe, expect, test } from 'vitest';
import { findCameraMove, SURE } from '@/lib/lineup/camera-move';
import { WORDS, type Features } from '@/lib/lineup/features';
import { bitsApart } from '@/lib/lineup/match-features';
import { learnPlace } from '@/lib/lineup/learn-place';
import { groundBy, poseByGround } from '@/lib/lineup/map-ground';
import { matchMap, pointsAsFeatures } from '@/lib/lineup/map-matches';
import { poseByMap } from '@/lib/lineup/map-pose';
import { startPlaceMap, type PlaceMap } from '@/lib/lineup/place-map';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { seededRandom, type Random } from '@/lib/stats/random';
import { FOCAL, groundBetween, rotationOf, type Stand } from './draw-yard';

const [W, H] = [4000, 3000];
const PLOT: Point[] = [
  [1300, 1750],
  [2700, 1750],
  [3300, 2700],
  [700, 2700],
];
const REFERENCE: Stand = { x: 0, height: 1.6, z: 0, pan: 0, pitch: 14, roll: 0 };

/**
 * A thing that lasts: where it stands (m right, down, ahead), how it looks, and from which to which photo it is there.
 */
interface Thing {
  at: readonly [number, number, number];
  words: Int32Array;
  until: number;
}

const wordsBy = (random: Random) => Int32Array.from({ length: WORDS }, () => Math.floor(random.next() * 2 ** 32) | 0);

/** House, fence, trees and a few things on the ground; those of the tree are gone from `felled` on. */
function yard(random: Random, count: number, felled = Infinity): Thing[] {
  return Array.from({ length: count }, (_, i) => {
    const onGround = i % 8 === 0;
    const z = 3 + 14 * random.next();
    return {
      at: [(random.next() - 0.5) * 1.3 * z, onGround ? 0 : -3.2 * random.next(), z],
      words: wordsBy(random),
      until: i % 4 === 1 ? felled : Infinity,
    };
  });
}

/** Hand-held: half a metre to the side, a hand up or down, a few degrees of turn. */
const standBy = (random: Random): Stand => ({
  x: 0.35 * random.normal(),
  height: 1.6 + 0.12 * random.normal(),
  z: 0.3 * random.normal(),
  pan: 3 * random.normal(),
  pitch: 14 + 2 * random.normal(),
  roll: 1.5 * random.normal(),
});

/**
 * What a photo shows of the yard: each lasting thing with the chance `share`, a pixel's error of 1200 and `flips` of
 * its bits in eight looking otherwise that day; and as many points again that are new every day.
 */
function photograph(
  things: readonly Thing[],
  stand: Stand,
  day: number,
  random: Random,
  { share = 0.45, flips = 0.12 } = {},
): Features {
  const r = rotationOf(stand);
  const rows: { x: number; y: number; words: Int32Array }[] = [];
  for (const thing of things) {
    if (day >= thing.until || random.next() > share) continue;
    const d = [thing.at[0] - stand.x, thing.at[1] + stand.height, thing.at[2] - stand.z];
    const [X, Y, Z] = [0, 1, 2].map((i) => r[3 * i]! * d[0]! + r[3 * i + 1]! * d[1]! + r[3 * i + 2]! * d[2]!) as [
      number,
      number,
      number,
    ];
    const [x, y] = [
      (W - 1) / 2 + (FOCAL * W * X) / Z + 2 * random.normal(),
      (H - 1) / 2 + (FOCAL * W * Y) / Z + 2 * random.normal(),
    ];
    if (Z < 0.5 || x < 0 || y < 0 || x > W - 1 || y > H - 1) continue;
    const words = thing.words.map((word) => {
      let flip = 0;
      for (let bit = 0; bit < 32; bit++) if (random.next() < flips) flip |= 1 << bit;
      return word ^ flip;
    });
    rows.push({ x, y, words });
  }
  for (let i = rows.length; i > 0; i--)
    rows.push({ x: random.next() * W, y: random.next() * H, words: wordsBy(random) });
  const words = new Int32Array(rows.length * WORDS);
  rows.forEach((row, i) => words.set(row.words, i * WORDS));
  return {
    width: W,
    height: H,
    count: rows.length,
    x: Float32Array.from(rows, (row) => row.x),
    y: Float32Array.from(rows, (row) => row.y),
    size: new Float32Array(rows.length).fill(8),
    strength: new Float32Array(rows.length).fill(1),
    turn: 0,
    words,
  };
}

const offPercent = (map: Homography, truth: Homography) =>
  (100 / Math.hypot(W, H)) *
  Math.max(
    ...PLOT.map((corner) => {
      const [a, b] = [applyHomography(map, corner), applyHomography(truth, corner)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    }),
  );

interface Look {
  agreeing: number;
  surprise: number;
  /** By the map's points alone, percent of the diagonal; null when it could not tell. */
  offPercent: number | null;
}

/**
 * Photographs a yard again and again; each photo is located by the map, then its outlines are accepted as they truly
 * are.
 */
function season(seed: number, photos: number, felled = Infinity): { looks: Look[]; map: PlaceMap; things: Thing[] } {
  const random = seededRandom(seed);
  const things = yard(random, 500, felled);
  let map = startPlaceMap(photograph(things, REFERENCE, 0, random), FOCAL);
  const looks: Look[] = [];
  for (let day = 1; day < photos; day++) {
    const stand = standBy(random);
    const photo = photograph(things, stand, day, random);
    const matches = matchMap(map, photo, bitsApart);
    const move = findCameraMove(pointsAsFeatures(map), photo, matches, { focal: [FOCAL, FOCAL], focalSpread: 0.02 })!;
    const truth = groundBetween(REFERENCE, stand, W, H);
    const byMap = map.ground ? poseByMap(map, photo, matches, move) : null;
    const found = byMap && groundBy(map, byMap);
    looks.push({
      agreeing: move.agreeing.length,
      surprise: move.surprise,
      offPercent: found ? offPercent(found, truth) : null,
    });
    const byGround = poseByGround(map, photo, move, truth, PLOT);
    map = learnPlace(map, photo, matches, move, byGround?.pose ?? byMap, byGround?.ground ?? null, bitsApart);
  }
  return { looks, map, things };
}

const worst = (values: readonly number[]) => Math.max(...values);
const median = (values: readonly number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

describe('a viewpoint that learns', { timeout: 120_000 }, () => {
  const seasons = [1, 2, 3, 4].map((seed) => season(seed, 12));

  test('the second photo alone tells no ground; from the third on the map finds it by things round the lawn', () => {
    expect(seasons.every(({ looks }) => looks[0]!.offPercent === null && looks[0]!.surprise > SURE)).toBe(true);
    expect(seasons.filter(({ looks }) => looks[2]!.offPercent !== null).length).toBeGreaterThanOrEqual(3);
  });

  test('where the focal length is known to 2 %, the tenth photo is found more surely than the third: the worst of a season’s end is far better than of its beginning', () => {
    const between = (from: number, to: number) =>
      seasons.flatMap(({ looks }) => looks.slice(from, to).flatMap((look) => look.offPercent ?? []));
    const [early, late] = [worst(between(1, 4)), worst(between(8, 11))];
    expect(late).toBeLessThan(0.6 * early);
    expect(late).toBeLessThan(0.6);
    expect(median(between(8, 11))).toBeLessThan(0.25);
  });

  test('positions are the reference photo’s own and never move, so nothing can drift', () => {
    for (const { map, things } of seasons) {
      expect(map.photos).toBe(12);
      const shown = photograph(things, REFERENCE, 0, seededRandom(99), { share: 1, flips: 0 });
      const near = map.points
        .filter((point) => point.seen >= 4)
        .map((point) =>
          Math.min(
            ...Array.from({ length: shown.count / 2 }, (_, i) =>
              Math.hypot(shown.x[i]! - point.x, shown.y[i]! - point.y),
            ),
          ),
        );
      expect(near.length).toBeGreaterThan(30);
      // Twice a detection's own error of 2 px each way.
      expect(median(near)).toBeLessThan(6);
    }
  });

  test('a felled tree is forgotten, and what stayed is not', () => {
    const { map, things } = season(11, 12, 6);
    const shown = (keep: (thing: Thing) => boolean) =>
      photograph(things.filter(keep), REFERENCE, 0, seededRandom(5), { share: 1, flips: 0 });
    const countNear = (features: Features) =>
      map.points.filter((point) =>
        Array.from({ length: features.count / 2 }, (_, i) =>
          Math.hypot(features.x[i]! - point.x, features.y[i]! - point.y),
        ).some((d) => d < 9),
      ).length /
      (features.count / 2);
    const felled = countNear(shown((thing) => thing.until === 6));
    const stayed = countNear(shown((thing) => thing.until === Infinity));
    expect(felled).toBeLessThan(0.35 * stayed);
  });

  test('another place is not taken for this one', () => {
    const { map } = seasons[0]!;
    const random = seededRandom(77);
    const photo = photograph(yard(random, 700), standBy(random), 1, random);
    const matches = matchMap(map, photo, bitsApart);
    expect(
      findCameraMove(pointsAsFeatures(map), photo, matches, { focal: [FOCAL, FOCAL] })?.surprise ?? 0,
    ).toBeLessThan(SURE);
  });
});
