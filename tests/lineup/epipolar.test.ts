import { describe, expect, it } from 'vitest';
import { derivatives, fundamental, moved, sampson, turned, type Pose } from '@/lib/lineup/epipolar';
import { surpriseOf } from '@/lib/lineup/false-alarms';

const unit = (v: readonly number[]): Float64Array => Float64Array.from(v, (x) => x / Math.hypot(...v));
const POSE: Pose = {
  rotation: turned(Float64Array.of(1, 0, 0, 0, 1, 0, 0, 0, 1), 0.05, -0.08, 0.02),
  direction: unit([0.6, -0.1, 0.75]),
  focal: [0.8, 0.7],
};

/** Where a point of the first camera's frame is in both photos, shares of the long side about the centre. */
function shown(p: readonly [number, number, number], length: number): [number, number, number, number] {
  const { rotation: r, direction: t, focal } = POSE;
  const q = [0, 1, 2].map((i) => r[3 * i]! * p[0] + r[3 * i + 1]! * p[1] + r[3 * i + 2]! * p[2] + length * t[i]!);
  return [(focal[0] * p[0]) / p[2], (focal[0] * p[1]) / p[2], (focal[1] * q[0]!) / q[2]!, (focal[1] * q[1]!) / q[2]!];
}

describe('epipolar lines of a camera’s move', () => {
  const f = new Float64Array(9);
  fundamental(POSE, f);

  it('hold every point, near or far, however long the move', () => {
    for (const p of [
      [1, 0.5, 4],
      [-2, 1.2, 7],
      [0.3, -2, 30],
    ] as const)
      for (const length of [0.1, 1]) expect(Math.abs(sampson(f, ...shown(p, length)))).toBeLessThan(1e-9);
  });

  it('miss a point moved off its line by about half of that: the other half falls to the other photo', () => {
    const [x, y, u, v] = shown([1, 0.5, 4], 0.5);
    const [a, b] = [f[0]! * x + f[1]! * y + f[2]!, f[3]! * x + f[4]! * y + f[5]!];
    const off = 0.001;
    const found = Math.abs(sampson(f, x, y, u + (off * a) / Math.hypot(a, b), v + (off * b) / Math.hypot(a, b)));
    expect(found).toBeGreaterThan(0.5 * off);
    expect(found).toBeLessThan(0.95 * off);
  });

  it('change with each number of a step as their derivatives say', () => {
    const slopes = Array.from({ length: 7 }, () => new Float64Array(9));
    derivatives(POSE, 7, slopes);
    for (let k = 0; k < 7; k++) {
      const [ahead, behind] = [1e-6, -1e-6].map((by) => {
        const step = new Float64Array(7);
        step[k] = by;
        const out = new Float64Array(9);
        fundamental(moved(POSE, step), out);
        return out;
      }) as [Float64Array, Float64Array];
      for (let i = 0; i < 9; i++) expect(slopes[k]![i]).toBeCloseTo((ahead[i]! - behind[i]!) / 2e-6, 6);
    }
  });
});

describe('the surprise of agreeing matches', () => {
  it('is minus the logarithm of n C(n, k) C(k, 5) p^(k - 5)', () => {
    // 20 matches of which 10 agree, each by chance one time in ten: 20 x 184,756 x 252 x 1e-5 = 9,311.7.
    expect(surpriseOf(20, 10, 0.1)).toBeCloseTo(-Math.log10(20 * 184756 * 252 * 1e-5), 9);
  });

  it('is nothing where no more agree than make a move', () => {
    expect(surpriseOf(100, 5, 0.01)).toBe(0);
  });
});
