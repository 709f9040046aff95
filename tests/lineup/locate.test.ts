import { describe, expect, it } from 'vitest';
import { findFeatures } from '@/lib/lineup/features';
import { learnFrom, locateBy, mapOf, type Seen } from '@/lib/lineup/locate';
import { applyHomography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { seededRandom } from '@/lib/stats/random';
import { drawYard, FOCAL, groundBetween, groundMap, type Stand } from './draw-yard';

const [W, H] = [640, 480];
const PLACE = 3;
const METRES: Point[] = [
  [-1.5, 5],
  [1.2, 5],
  [1, 2.6],
  [-1, 2.6],
];
const REFERENCE: Stand = { x: 0.2, height: 1.6, z: 0, pan: 2, pitch: 14, roll: 0.5 };
const PLOT = METRES.map((m) => applyHomography(groundMap(REFERENCE, W, H), m));

// Hand-held: half a metre to the side, a hand up or down, a few degrees of turn.
const random = seededRandom(4);
const stands = Array.from({ length: 5 }, (): Stand => ({
  x: 0.2 + 0.35 * random.normal(),
  height: 1.6 + 0.1 * random.normal(),
  z: 0.25 * random.normal(),
  pan: 2 + 3 * random.normal(),
  pitch: 14 + 2 * random.normal(),
  roll: 1.2 * random.normal(),
}));
// The turf is sown anew every time: nothing on the ground looks as it did.
const shot = (place: number, day: number, stand: Stand): Seen => ({
  features: findFeatures(drawYard(W, H, { place, day, turf: 0, light: 1 - 0.05 * day }, stand)),
  focal: FOCAL,
});

describe('locating a photo by what a viewpoint has learned', { timeout: 180_000 }, () => {
  const [a, b, c, d, last] = stands as [Stand, Stand, Stand, Stand, Stand];
  const taught = [a, b, c, d].reduce(
    (map, stand, i) => learnFrom(map, shot(PLACE, i + 2, stand), groundBetween(REFERENCE, stand, W, H), PLOT),
    mapOf(shot(PLACE, 1, REFERENCE)),
  );

  it('knows no ground from its reference photo alone', () => {
    expect(locateBy(mapOf(shot(PLACE, 1, REFERENCE)), shot(PLACE, 9, last), PLOT)).toBeNull();
  });

  it('puts the ground in a new photo by things round the lawn, no farther off than it says it may be', () => {
    const found = locateBy(taught, shot(PLACE, 9, last), PLOT)!;
    const truth = groundBetween(REFERENCE, last, W, H);
    const off =
      (100 / Math.hypot(W, H)) *
      Math.max(
        ...PLOT.map((p) => {
          const [u, v] = [applyHomography(found.fromReference, p), applyHomography(truth, p)];
          return Math.hypot(u[0] - v[0], u[1] - v[1]);
        }),
      );
    expect(off).toBeLessThan(2.5 * found.doubtPercent);
    expect(off).toBeLessThan(3);
  });

  it('says nothing of another yard', () => {
    expect(locateBy(taught, shot(9, 9, last), PLOT)).toBeNull();
  });
});
