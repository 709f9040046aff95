import { describe, expect, it } from 'vitest';
import { compileKernel, KERNELS } from '@/lib/commands/build-kernel.mjs';
import { blurSimd, nearestSimd } from '@/lib/lineup/features-simd';
import { FEATURES_SIMD } from '@/lib/lineup/features-simd-bytes';
import { nearestPlain } from '@/lib/lineup/match-features';

/** Whole numbers that look strewn (Knuth's multiplier); nothing is measured with them. */
const strewn = (n: number): Int32Array => Int32Array.from({ length: n }, (_, i) => Math.imul(i + 7, 2654435761) ^ Math.imul(i * i + 1, 40503));

describe('the SIMD kernel of features', () => {
  it('is what its source compiles to', async () => expect(await compileKernel(KERNELS[1])).toBe(FEATURES_SIMD), 60_000);

  it('finds the same nearest descriptors as the plain loop, both ways', () => {
    const n = 37;
    const many = { words: strewn(n * 16), x: Float32Array.from(strewn(n), (v) => (v & 1023) / 10), size: Float32Array.from(strewn(n), (v) => 1 + ((v >> 3) & 7)) };
    const [fast, plain] = [nearestSimd(many)!, nearestPlain(many)];
    const ours = strewn(12 * 16).reverse();
    let met = 0;
    for (let i = 0; i < 12; i++) {
      const ask = [ours, i * 16, i, i % 5, n - (i % 3), 8 * i, 40, 1.5, 6] as const;
      const found = [...plain.find(...ask)];
      expect([...fast.find(...ask)]).toEqual(found);
      if (found[0]! >= 0) met++;
    }
    expect(met).toBeGreaterThan(8);
    expect([...fast.back()]).toEqual([...plain.back()]);
    expect(fast.find(ours, 0, 0, 0, 0, 0, 40, 1, 6)[0]).toBe(-1);
  });

  it('blurs as the sum over the kernel says, edges repeated, at any width', () => {
    for (const [w, h] of [[9, 7], [16, 5], [33, 12]] as const) {
      const from = Float32Array.from(strewn(w * h), (v) => (v & 255) / 255);
      const kernel = Float32Array.of(0.4, 0.2, 0.08, 0.02);
      const at = (x: number, y: number): number => from[Math.max(0, Math.min(h - 1, y)) * w + Math.max(0, Math.min(w - 1, x))]!;
      const found = blurSimd(from, w, h, kernel)!;
      for (let y = 0; y < h; y++) {
        for (let x = 0; x < w; x++) {
          let sum = 0;
          for (let v = -3; v <= 3; v++) for (let u = -3; u <= 3; u++) sum += kernel[Math.abs(u)]! * kernel[Math.abs(v)]! * at(x + u, y + v);
          expect(found[y * w + x]).toBeCloseTo(sum, 5);
        }
      }
    }
  });
});
