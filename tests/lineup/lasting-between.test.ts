import { describe, expect, it } from 'vitest';
import { lastingBetween } from '@/lib/lineup/lasting-between';
import { applyHomography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { drawYard, fenceAt, FOCAL, groundMap, rotationOf, type Stand } from './draw-yard';

const [W, H] = [640, 480];
const FIRST: Stand = { x: 0.2, height: 1.6, z: 0, pan: 2, pitch: 14, roll: 0.5 };
const SECOND: Stand = { x: 0.7, height: 1.7, z: 0.5, pan: -4, pitch: 17, roll: -1.5 };
const PLACE = 3;
const before = drawYard(W, H, { place: PLACE, day: 1, turf: 0 }, FIRST);
const after = drawYard(W, H, { place: PLACE, day: 2, light: 0.8, turf: 0 }, SECOND);
const onGround = (stand: Stand, x: number, z: number): Point => applyHomography(groundMap(stand, W, H), [x, z]);

/** Places of the fence this high above the ground, metres, in the first photo. */
function upTheFence(up: number): Point[] {
  const r = rotationOf(FIRST);
  return Array.from({ length: 25 }, (_, i) => {
    const d = [-1.8 + 0.15 * i - FIRST.x, FIRST.height - up, fenceAt(PLACE) - FIRST.z];
    const [x, y, z] = [0, 1, 2].map(
      (row) => r[3 * row]! * d[0]! + r[3 * row + 1]! * d[1]! + r[3 * row + 2]! * d[2]!,
    ) as [number, number, number];
    return [(W - 1) / 2 + (FOCAL * W * x) / z, (H - 1) / 2 + (FOCAL * W * y) / z];
  });
}

describe('lastingBetween', { timeout: 60_000 }, () => {
  // Along the fence's foot, where what stands meets the ground.
  const feet = Array.from({ length: 25 }, (_, i) => -1.8 + 0.15 * i);
  const foot = fenceAt(PLACE) - 0.02;

  it('finds things that stand again, within a hundredth of the diagonal of where they were drawn', () => {
    const found = lastingBetween(
      before,
      after,
      feet.map((x) => onGround(FIRST, x, foot)),
    )!;
    const seen = found.flatMap((at, k) => (at ? [{ at, truth: onGround(SECOND, feet[k]!, foot) }] : []));
    expect(seen.length).toBeGreaterThan(8);
    for (const { at, truth } of seen)
      expect(Math.hypot(at[0] - truth[0], at[1] - truth[1])).toBeLessThan(0.01 * Math.hypot(W, H));
  });

  it('leaves out what lies halfway up the fence: it tells nothing of the ground', () => {
    const up = upTheFence(0.7);
    const found = lastingBetween(before, after, up)!;
    expect(found.filter((at) => at !== null).length).toBeLessThan(0.25 * up.length);
  });

  it('finds hardly any place of turf whose blades are new', () => {
    const turf = feet.flatMap((x) => [1.8, 2.2, 2.6].map((z) => onGround(FIRST, 0.4 * x, z)));
    const found = lastingBetween(before, after, turf)!;
    expect(found.filter((at) => at !== null).length).toBeLessThan(0.1 * turf.length);
  });

  it('says nothing of another yard', () => {
    expect(
      lastingBetween(
        before,
        drawYard(W, H, { place: 8, day: 2 }, SECOND),
        feet.map((x) => onGround(FIRST, x, foot)),
      ),
    ).toBeNull();
  });
});
