import { describe, expect, it } from 'vitest';
import { registerPair } from '@/lib/lineup/register';
import { IDENTITY, applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { drawLawn } from './draw-lawn';

const [W, H] = [600, 450];
const DIAGONAL = Math.hypot(W, H);
const PLOT: Point[] = [
  [130, 90],
  [510, 90],
  [560, 330],
  [90, 330],
];

/** Largest distance at the plot's corners, percent of the diagonal. */
function error(found: Homography, truth: Homography): number {
  return Math.max(
    ...PLOT.map((p) => {
      const [a, b] = [applyHomography(found, p), applyHomography(truth, p)];
      return (100 * Math.hypot(a[0] - b[0], a[1] - b[1])) / DIAGONAL;
    }),
  );
}

function flat(level: number): Pixels {
  return { width: W, height: H, channels: 3, space: 'srgb', data: new Uint8Array(W * H * 3).fill(level) };
}

const MOVES: readonly (readonly [string, Homography])[] = [
  ['a shift', [1, 0, 24, 0, 1, -17, 0, 0, 1]],
  ['a turn of 4 degrees and a step closer', [1.047, -0.073, 10, 0.073, 1.047, -30, 0, 0, 1]],
  ['a tilt', [1.02, 0.03, -20, -0.02, 0.98, 12, 3e-5, -5e-5, 1]],
];

const LANDMARKS = drawLawn(W, H, { ground: 5, blades: 1, landmarks: true }, IDENTITY);

describe('registerPair on drawn lawns', { timeout: 120_000 }, () => {
  it.each(MOVES)('recovers %s to three thousandths of the diagonal though blades and light are new', (_, move) => {
    const before = LANDMARKS;
    const after = drawLawn(W, H, { ground: 5, blades: 2, light: 0.8, landmarks: true }, move);
    const found = registerPair(before, after, { plotCornersBefore: [PLOT] });
    expect(error(found.homography, move)).toBeLessThan(0.3);
    expect(found.status).toBe('ok');
    expect(found.confidence).toBeGreaterThanOrEqual(0.5);
  });

  it('gives the same answer twice', () => {
    const after = drawLawn(320, 240, { ground: 5, blades: 2, landmarks: true }, MOVES[0]![1]);
    const before = drawLawn(320, 240, { ground: 5, blades: 1, landmarks: true }, IDENTITY);
    const [a, b] = [registerPair(before, after), registerPair(before, after)];
    expect(a.homography).toEqual(b.homography);
    expect(a.confidence).toBe(b.confidence);
  });

  it('refuses two different lawns', () => {
    const before = drawLawn(W, H, { ground: 5, blades: 1 }, IDENTITY);
    for (const other of [21, 22]) {
      const after = drawLawn(W, H, { ground: other, blades: 2 }, IDENTITY);
      const found = registerPair(before, after, { plotCornersBefore: [PLOT] });
      expect(found.status).toBe('taps');
      expect(found.confidence).toBeLessThan(0.5);
      expect(found.reasons.length).toBeGreaterThan(0);
    }
  });

  it.each([
    [0, -43],
    [0, 80],
    [0.06, -43],
  ])(
    'doesn’t line a row of stakes without end up a strip off, on turf with %d of its usual blotches',
    (fixed, along) => {
      // Strips of 40 pixels seen from above, a stake at each corner, more of them on both sides; the later photo shows
      // them a strip or two further on.
      const stakes = Array.from({ length: 41 }, (_, i) => 40 * i - 500).flatMap(
        (x) =>
          [
            [x, 110],
            [x, 330],
          ] as Point[],
      );
      const strips = Array.from({ length: 10 }, (_, i): Point[] => [
        [100 + 40 * i, 110],
        [140 + 40 * i, 110],
        [140 + 40 * i, 330],
        [100 + 40 * i, 330],
      ]);
      const move: Homography = [1, 0, along, 0, 1, 5, 0, 0, 1];
      const found = registerPair(
        drawLawn(W, H, { ground: 5, blades: 1, fixed, stakes }, IDENTITY),
        drawLawn(W, H, { ground: 5, blades: 2, fixed, stakes }, move),
        { plotCornersBefore: strips },
      );
      // Bare turf can't tell one strip from the next, so no answer may be sure; a trace of blotches can, so a sure one
      // must be right.
      const mayBeSure = fixed > 0 && error(found.homography, move) < 1;
      expect(
        found.status === 'taps' || mayBeSure,
        `${found.status}, ${error(found.homography, move).toFixed(2)} % off`,
      ).toBe(true);
    },
  );

  it('refuses photos with nothing to hold on to', () => {
    const found = registerPair(flat(120), flat(90), { plotCornersBefore: [PLOT] });
    expect(found.status).toBe('taps');
    expect(found.homography.every(Number.isFinite)).toBe(true);
  });

  it('refuses a lawn beside plain noise', () => {
    const noise = Uint8Array.from({ length: W * H * 3 }, (_, i) => Math.imul(i + 1, 2654435761) >>> 24);
    const found = registerPair(
      LANDMARKS,
      { width: W, height: H, channels: 3, space: 'srgb', data: noise },
      { plotCornersBefore: [PLOT] },
    );
    expect(found.status).toBe('taps');
  });

  it('names what it expected when a photo is too small', () => {
    const tiny: Pixels = { width: 20, height: 20, channels: 3, space: 'srgb', data: new Uint8Array(1200) };
    expect(() => registerPair(tiny, tiny)).toThrow(
      'registerPair: expected photos of at least 200 x 150 pixels, got 20 x 20',
    );
  });
});
