import { describe, expect, it } from 'vitest';
import { compileKernel, KERNELS } from '@/lib/commands/proving/build-kernel.mjs';
import { blurSimd, describeSimd, nearestSimd, type Described, type NearestSearch } from '@/lib/lineup/features-simd';
import { FEATURES_SIMD } from '@/lib/lineup/features-simd-bytes';
import { bitsApart } from '@/lib/lineup/match-features';
import { summedArea } from '@/lib/lineup/summed-area';

/** Whole numbers that look strewn (Knuth's multiplier); nothing is measured with them. */
const strewn = (n: number): Int32Array =>
  Int32Array.from({ length: n }, (_, i) => Math.imul(i + 7, 2654435761) ^ Math.imul(i * i + 1, 40503));

/** The same search in plain loops. */
function nearestPlain({ words: many, x: xs }: Described): NearestSearch {
  const back = new Int32Array(xs.length).fill(-1);
  const backBest = new Uint16Array(xs.length).fill(999);
  const answer: [number, number, number] = [-1, 999, 999];
  let asked = { words: many, at: 0, i: 0 };
  return {
    begin(words, at, i) {
      asked = { words, at, i };
      [answer[0], answer[1], answer[2]] = [-1, 999, 999];
    },
    among(from, to, x, reach) {
      for (let q = from; q < to; q++) {
        const dx = xs[q]! - x;
        if (dx > reach || dx < -reach) continue;
        const d = bitsApart(asked.words, asked.at, many, q * 16);
        if (d < answer[1]) [answer[0], answer[1], answer[2]] = [q, d, answer[1]];
        else if (d < answer[2]) answer[2] = d;
        if (d < backBest[q]!) {
          backBest[q] = d;
          back[q] = asked.i;
        }
      }
      return answer;
    },
    back: () => back.slice(),
  };
}

describe('the SIMD kernel of features', () => {
  it('is what its source compiles to', async () => expect(await compileKernel(KERNELS[1])).toBe(FEATURES_SIMD), 60_000);

  it('finds the same nearest descriptors as the plain loop, both ways', () => {
    const n = 37;
    const many = { words: strewn(n * 16), x: Float32Array.from(strewn(n), (v) => (v & 1023) / 10) };
    const [fast, plain] = [nearestSimd(many), nearestPlain(many)];
    const ours = strewn(12 * 16).reverse();
    let met = 0;
    for (let i = 0; i < 12; i++) {
      fast.begin(ours, i * 16, i);
      plain.begin(ours, i * 16, i);
      for (const [from, to] of [
        [i % 5, 17],
        [20, n - (i % 3)],
      ] as const) {
        const found = [...plain.among(from, to, 8 * i, 40)];
        expect([...fast.among(from, to, 8 * i, 40)]).toEqual(found);
        if (found[0]! >= 0) met++;
      }
    }
    expect(met).toBeGreaterThan(16);
    expect([...fast.back()]).toEqual([...plain.back()]);
    fast.begin(ours, 0, 0);
    expect([...fast.among(0, 0, 0, 40)]).toEqual([-1, 999, 999]);
  });

  it('describes a place by which cells of its square are lighter than which', () => {
    const [w, h] = [90, 70];
    const light = Float32Array.from(
      strewn(w * h),
      (v, i) => ((v & 255) / 255) * 0.2 + Math.sin(0.13 * (i % w) + 0.07 * Math.floor(i / w)),
    );
    const [x, y, half] = [44.3, 33.8, 24];
    const words = describeSimd(summedArea(light, w, h), w, h, Float64Array.of(x, y, half), 0);
    const mean = (cx: number, cy: number, e: number): number => {
      const [x0, y0, x1, y1] = [Math.round(cx - e), Math.round(cy - e), Math.round(cx + e), Math.round(cy + e)];
      let sum = 0;
      for (let v = y0; v < y1; v++) for (let u = x0; u < x1; u++) sum += light[v * w + u]!;
      return sum / ((x1 - x0) * (y1 - y0));
    };
    let bit = 0;
    for (const n of [2, 3, 4]) {
      const edge = (2 * half) / n;
      const cells = Array.from({ length: n * n }, (_, q) => {
        const [u, v] = [x - half + ((q % n) + 0.5) * edge, y - half + (Math.floor(q / n) + 0.5) * edge];
        const [a, b, c, d] = [
          [-1, -1],
          [1, -1],
          [-1, 1],
          [1, 1],
        ].map(([i, j]) => mean(u + (i! * edge) / 4, v + (j! * edge) / 4, edge / 4)) as [number, number, number, number];
        return [a + b + c + d, b + d - a - c, c + d - a - b];
      });
      for (let channel = 0; channel < 3; channel++) {
        for (let p = 0; p < n * n; p++) {
          for (let q = p + 1; q < n * n; q++, bit++)
            expect((words[bit >> 5]! >>> (bit & 31)) & 1).toBe(cells[p]![channel]! > cells[q]![channel]! ? 1 : 0);
        }
      }
    }
    expect(bit).toBe(486);
  });

  it('blurs as the sum over the kernel says, edges repeated, at any width', () => {
    for (const [w, h] of [
      [9, 7],
      [16, 5],
      [33, 12],
    ] as const) {
      const from = Float32Array.from(strewn(w * h), (v) => (v & 255) / 255);
      const kernel = Float32Array.of(0.4, 0.2, 0.08, 0.02);
      const at = (x: number, y: number): number =>
        from[Math.max(0, Math.min(h - 1, y)) * w + Math.max(0, Math.min(w - 1, x))]!;
      const found = blurSimd(from, w, h, kernel);
      for (let y = 0; y < h; y++) {
        for (let x = 0; x < w; x++) {
          let sum = 0;
          for (let v = -3; v <= 3; v++)
            for (let u = -3; u <= 3; u++) sum += kernel[Math.abs(u)]! * kernel[Math.abs(v)]! * at(x + u, y + v);
          expect(found[y * w + x]).toBeCloseTo(sum, 5);
        }
      }
    }
  });
});
