import { describe, expect, it } from 'vitest';
import { findCameraMove } from '@/lib/lineup/camera-move';
import { findFeatures } from '@/lib/lineup/features';
import { groundMap, lastingOf, pointsAbout } from '@/lib/lineup/ground';
import { changeBetween } from '@/lib/lineup/refine-ground';
import { cameraTilt } from '@/lib/photo/ground/tilt';
import { knownNormal } from '@/lib/lineup/known-normal';
import { matchFeatures } from '@/lib/lineup/match-features';
import { change } from '@/lib/lineup/refine';
import { registerPair } from '@/lib/lineup/register';
import { uprightOf } from '@/lib/lineup/upright';
import { makeView } from '@/lib/lineup/views';
import { applyHomography, composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { drawYard, FOCAL, groundBetween, groundMap as drawnGround, rotationOf, type Stand } from './draw-yard';

const [W, H] = [640, 480];
const FIRST: Stand = { x: 0.2, height: 1.6, z: 0, pan: 2, pitch: 14, roll: 0.5 };
const SECOND: Stand = { x: 0.6, height: 1.7, z: 0.4, pan: -3, pitch: 16, roll: -1 };
const SIZES = { before: { width: W, height: H }, after: { width: W, height: H } };
const METRES: Point[] = [
  [-1.5, 5],
  [1.2, 5],
  [1, 2.6],
  [-1, 2.6],
];
const PLOT = METRES.map((m) => applyHomography(drawnGround(FIRST, W, H), m));
const DIAGONAL = Math.hypot(W, H);

const errorPercent = (found: Homography, a: Stand, b: Stand, plot = PLOT): number =>
  Math.max(
    ...plot.map((p) => {
      const [u, v] = [applyHomography(found, p), applyHomography(groundBetween(a, b, W, H), p)];
      return (100 * Math.hypot(u[0] - v[0], u[1] - v[1])) / DIAGONAL;
    }),
  );

const first = drawYard(W, H, { place: 3, day: 1 }, FIRST);
const second = drawYard(W, H, { place: 3, day: 2, light: 0.8 }, SECOND);

describe("the ground within a camera's move", { timeout: 120_000 }, () => {
  const [fa, fb] = [findFeatures(first), findFeatures(second)];
  const matches = matchFeatures(fa, fb);
  const move = findCameraMove(fa, fb, matches, { focal: [FOCAL, FOCAL] })!;
  const radians = (d: number): number => (d * Math.PI) / 180;
  // How far the second stand is from the first over the first's height above the ground.
  const length = Math.hypot(SECOND.x - FIRST.x, SECOND.height - FIRST.height, SECOND.z - FIRST.z) / FIRST.height;
  const truth = { pitch: radians(FIRST.pitch), roll: rollOf(FIRST), length };

  it("is where the found move and the drawn camera's height and tilt put it, to a hundredth of the diagonal", () => {
    expect(errorPercent(groundMap(move, truth, SIZES), FIRST, SECOND)).toBeLessThan(1);
  });

  it('has nothing that lasts under it; a plane half as far down has', () => {
    const points = lastingOf(move, fa, fb, matches);
    expect(pointsAbout(points, move, truth, SIZES).under / points.count).toBeLessThan(0.05);
    expect(pointsAbout(points, move, { ...truth, length: 2.2 * length }, SIZES).under / points.count).toBeGreaterThan(
      0.15,
    );
  });

  it('carries the plots of a yard with a fence, a hedge and posts to half a percent of the diagonal', () => {
    const found = registerPair(first, second, { plotCornersBefore: [PLOT], focal: [FOCAL, FOCAL] });
    expect(found.evidence.move).toBeDefined();
    expect(errorPercent(found.homography, FIRST, SECOND)).toBeLessThan(0.5);
    expect(found.status).toBe('ok');
  });

  it('refuses two yards that are not the same', () => {
    const other = drawYard(W, H, { place: 9, day: 2 }, SECOND);
    expect(registerPair(first, other, { plotCornersBefore: [PLOT] }).status).toBe('taps');
  });
});

/** Roll as `knownNormal` takes it, from the drawn camera's own down. */
function rollOf(stand: Stand): number {
  const r = rotationOf(stand);
  return Math.atan2(r[1]!, r[4]!);
}

describe('knownNormal', () => {
  it("reads the camera's pitch and roll off the plots' metres to a tenth of a degree", () => {
    for (const stand of [FIRST, { ...SECOND, roll: 6, pitch: 35 }]) {
      const corners = METRES.map((m) => applyHomography(drawnGround(stand, W, H), m));
      const found = knownNormal({ plotCornersBefore: [corners], plotMetresBefore: [METRES] }, FOCAL, {
        width: W,
        height: H,
      })!;
      expect((found.pitch * 180) / Math.PI).toBeCloseTo(stand.pitch, 1);
      expect(found.roll).toBeCloseTo(rollOf(stand), 3);
    }
  });

  it('leans down to the right of the picture when the phone was turned clockwise', () => {
    // Turned clockwise by 10 degrees about the way it looks, the world's up is (-sin 10, cos 10) on the phone's x and y
    // axes: beta 80, gamma 90.
    const tilt = cameraTilt(80, 90, 0);
    const { roll, pitch } = knownNormal({ tiltBefore: tilt }, FOCAL, SIZES.before)!;
    expect([Math.sin(roll), Math.cos(roll)].map((v) => v.toFixed(4))).toEqual([
      Math.sin(Math.PI / 18).toFixed(4),
      Math.cos(Math.PI / 18).toFixed(4),
    ]);
    expect(pitch).toBeCloseTo(0, 6);
  });

  it("takes the phone's tilt first, and knows nothing without either", () => {
    expect(knownNormal({ tiltBefore: { pitchDeg: -20, rollDeg: 0 } }, FOCAL, SIZES.before)!.pitch).toBeCloseTo(
      0.349,
      3,
    );
    expect(knownNormal({ tiltBefore: { pitchDeg: -90, rollDeg: null } }, FOCAL, SIZES.before)).toBeUndefined();
    expect(knownNormal({}, FOCAL, SIZES.before)).toBeUndefined();
  });
});

describe('changeBetween', () => {
  it('undoes change', () => {
    const from: Homography = [1.05, 0.02, 12, -0.03, 0.97, -8, 2e-5, -3e-5, 1];
    const step = [0.01, -0.02, 0.03, 0.005, -0.01, 0.02, 0.004, -0.006];
    const found = changeBetween(from, composeHomographies(from, change(step, SIZES.before)), SIZES.before)!;
    step.forEach((v, i) => expect(found[i]).toBeCloseTo(v, 9));
  });
});

describe('uprightOf', () => {
  it('finds how far a camera looks down from bars that stand upright, to three degrees', () => {
    const stand: Stand = { ...FIRST, pitch: 16, roll: 0 };
    const found = uprightOf(makeView(drawBars(stand), W), FOCAL)!;
    expect(Math.abs((found.pitch * 180) / Math.PI - 16)).toBeLessThan(3);
  });

  it('says nothing of a lawn without uprights', () => {
    const lawn = drawYard(W, H, { place: 3, day: 1 }, { ...FIRST, pitch: 60 });
    expect(uprightOf(makeView(lawn, W), FOCAL)).toBeUndefined();
  });
});

/** A wall of dark and light bars 6 m ahead, each of its own width, as a camera at `stand` sees it. */
function drawBars(stand: Stand): Pixels {
  const r = rotationOf(stand);
  const f = FOCAL * Math.max(W, H);
  const data = new Uint8Array(W * H * 3);
  for (let y = 0; y < H; y++) {
    for (let x = 0; x < W; x++) {
      const [a, b] = [(x - (W - 1) / 2) / f, (y - (H - 1) / 2) / f];
      const [dx, dz] = [r[0]! * a + r[3]! * b + r[6]!, r[2]! * a + r[5]! * b + r[8]!];
      const across = stand.x + ((6 - stand.z) / dz) * dx;
      data.fill(
        130 + 70 * Math.max(-1, Math.min(1, 6 * Math.sin(across * 9 + 3 * Math.sin(across * 1.7)))),
        (y * W + x) * 3,
        (y * W + x) * 3 + 3,
      );
    }
  }
  return { width: W, height: H, channels: 3, space: 'srgb', data };
}
