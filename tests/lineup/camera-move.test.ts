import { describe, expect, it } from 'vitest';
import { findCameraMove, SURE, type CameraMove } from '@/lib/lineup/camera-move';
import { findFeatures, WORDS } from '@/lib/lineup/features';
import { bitsApart, matchFeatures } from '@/lib/lineup/match-features';
import { applyHomography } from '@/lib/photo/ground/homography';
import { drawYard, FOCAL, groundBetween, rotationOf, type Stand } from './draw-yard';

const [W, H] = [640, 480];
const FIRST: Stand = { x: 0.2, height: 1.6, z: 0, pan: 2, pitch: 14, roll: 0.5 };
const SECOND: Stand = { x: 0.7, height: 1.7, z: 0.5, pan: -4, pitch: 17, roll: -1.5 };

const first = findFeatures(drawYard(W, H, { place: 3, day: 1 }, FIRST));
const second = findFeatures(drawYard(W, H, { place: 3, day: 2, light: 0.8 }, SECOND));
const matches = matchFeatures(first, second);

/** Rotation and direction of the move from one stand to another, from how they were drawn. */
function truth(a: Stand, b: Stand): { rotation: number[]; direction: number[] } {
  const [ra, rb] = [rotationOf(a), rotationOf(b)];
  const rotation = Array.from({ length: 9 }, (_, i) =>
    [0, 1, 2].reduce((sum, k) => sum + rb[3 * Math.floor(i / 3) + k]! * ra[3 * (i % 3) + k]!, 0),
  );
  const away = [a.x - b.x, b.height - a.height, a.z - b.z];
  const d = [0, 1, 2].map((i) => [0, 1, 2].reduce((sum, k) => sum + rb[3 * i + k]! * away[k]!, 0));
  const length = Math.hypot(...d);
  return { rotation, direction: d.map((v) => v / length) };
}

function degreesApart(found: CameraMove, a: Stand, b: Stand): { turn: number; direction: number } {
  const { rotation, direction } = truth(a, b);
  const trace = rotation.reduce((sum, v, i) => sum + v * found.rotation[i]!, 0);
  const dot = direction.reduce((sum, v, i) => sum + v * found.direction[i]!, 0);
  const degrees = (cosine: number): number => (Math.acos(Math.max(-1, Math.min(1, cosine))) * 180) / Math.PI;
  return { turn: degrees((trace - 1) / 2), direction: degrees(dot) };
}

describe('findCameraMove', { timeout: 60_000 }, () => {
  it('finds how the camera turned and went between two days, though blades and light are new', () => {
    const found = findCameraMove(first, second, matches, { focal: [FOCAL, FOCAL] })!;
    const { turn, direction } = degreesApart(found, FIRST, SECOND);
    expect(found.surprise).toBeGreaterThan(SURE);
    expect(turn).toBeLessThan(0.6);
    expect(direction).toBeLessThan(6);
  });

  it('keeps the usual focal length where the file names none, within a quarter', () => {
    const found = findCameraMove(first, second, matches)!;
    for (const f of found.focal) expect(Math.abs(Math.log(f / FOCAL))).toBeLessThan(0.25);
    expect(degreesApart(found, FIRST, SECOND).turn).toBeLessThan(2.5);
  });

  it('gives the same answer twice', () => {
    expect(findCameraMove(first, second, matches)).toEqual(findCameraMove(first, second, matches));
  });

  it('is not sure between two places', () => {
    const other = findFeatures(drawYard(W, H, { place: 9, day: 2 }, SECOND));
    const found = findCameraMove(first, other, matchFeatures(first, other));
    expect(found?.surprise ?? 0).toBeLessThan(SURE);
  });

  it('answers nothing from fewer than eight matches', () => {
    const seven = {
      count: 7,
      first: matches.first.slice(0, 7),
      second: matches.second.slice(0, 7),
      ratio: matches.ratio.slice(0, 7),
    };
    expect(findCameraMove(first, second, seven)).toBeUndefined();
  });
});

describe('findFeatures', () => {
  it('places points where things are: after a turn on the spot, most agreeing matches lie within two pixels of where it puts them', () => {
    const turn: Stand = { ...FIRST, pan: FIRST.pan + 5, pitch: FIRST.pitch - 2, roll: 2 };
    const map = groundBetween(FIRST, turn, W, H);
    const later = findFeatures(drawYard(W, H, { place: 3, day: 2 }, turn));
    const again = matchFeatures(first, later);
    const off = Array.from(findCameraMove(first, later, again)!.agreeing, (k) => {
      const [x, y] = applyHomography(map, [first.x[again.first[k]!]!, first.y[again.first[k]!]!]);
      return Math.hypot(x - later.x[again.second[k]!]!, y - later.y[again.second[k]!]!);
    });
    expect(off.length).toBeGreaterThan(60);
    expect(off.filter((d) => d < 2).length / off.length).toBeGreaterThan(0.75);
  });

  it('spreads them: no sixteenth of the photo gives more than its share of 256 points', () => {
    const counts = new Map<number, number>();
    for (let i = 0; i < first.count; i++) {
      const cell = Math.floor((first.y[i]! * 4) / H) * 4 + Math.floor((first.x[i]! * 4) / W);
      counts.set(cell, (counts.get(cell) ?? 0) + 1);
    }
    // Refined to a fraction of a pixel, a point may step over its cell's border.
    expect(Math.max(...counts.values())).toBeLessThanOrEqual(256 + 8);
    expect(counts.size).toBeGreaterThan(10);
  });

  it('names what it expected when a photo is too small', () => {
    expect(() =>
      findFeatures({ width: 40, height: 30, channels: 3, space: 'srgb', data: new Uint8Array(3600) }),
    ).toThrow('findFeatures: expected at least 64 pixels a side, got 40 x 30');
  });
});

describe('bitsApart', () => {
  it('counts differing bits', () => {
    const a = new Int32Array(WORDS);
    const b = new Int32Array(WORDS);
    expect(bitsApart(a, 0, b, 0)).toBe(0);
    b[0] = -1;
    b[15] = 5;
    b[7] = 1 << 31;
    expect(bitsApart(a, 0, b, 0)).toBe(32 + 2 + 1);
    b.fill(-1);
    expect(bitsApart(a, 0, b, 0)).toBe(512);
  });
});
