import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compileKernel } from '@/lib/commands/proving/build-kernel.mjs';
import { addRuns, maskTables, SUMS, TURF } from '@/lib/photo/measure/kernel';
import { simdKernel } from '@/lib/photo/measure/kernel-simd';
import { KERNEL_SIMD } from '@/lib/photo/measure/kernel-simd-bytes';
import { seededRandom } from '@/lib/stats/random';
import { expectClose } from '../support/close';

const WIDTH = 97;
const HEIGHT = 23;

/** Pieces of any length in every row, some empty of turf, ending where no sixteen end. */
function anyPieces(seed: number): Int32Array {
  const random = seededRandom(seed);
  const out: number[] = [];
  for (let y = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH;) {
      const to = Math.min(WIDTH, x + 1 + random.below(40));
      out.push(y, x, to, random.below(5));
      x = to;
    }
  }
  return Int32Array.from(out);
}

function bothWays(
  data: Uint8Array,
  pieces: Int32Array,
  limits: readonly [number, number, number],
): { plain: Float64Array; fast: Float64Array } {
  const plain = new Float64Array(5 * SUMS);
  const fast = new Float64Array(5 * SUMS);
  addRuns(data, WIDTH, pieces, maskTables(...limits), plain);
  const kernel = simdKernel(...limits);
  if (kernel === null) throw new Error('expected the fast kernel to take these limits');
  kernel(data, WIDTH, pieces, fast);
  return { plain, fast };
}

const LIMITS = fc.constantFrom<readonly [number, number, number]>(
  [45, 140, 0.1],
  [0, 360, 0],
  [60, 120, 0.25],
  [210, 330, 0.5],
  [57, 108, 0.07],
  [300, 360, 0.01],
);

describe('the fast kernel', () => {
  test('counts the same pixels as the plain one, and the same sums to seven figures, whatever the colours and the mask', () => {
    fc.assert(
      fc.property(LIMITS, fc.integer({ min: 1, max: 1e6 }), fc.constantFrom(256, 40, 6, 2), (limits, seed, range) => {
        const random = seededRandom(seed);
        // A narrow range makes ties between channels, and greys, common.
        const data = Uint8Array.from({ length: WIDTH * HEIGHT * 3 }, () => (256 - range) / 2 + random.below(range));
        const { plain, fast } = bothWays(data, anyPieces(seed), limits);
        for (let i = 0; i < plain.length; i++) {
          const field = i % SUMS;
          // Counts and sums of codes are whole numbers and equal. Light has 19 fractional bits: half the last a pixel.
          const turf = plain[i - field + TURF] as number;
          const tolerance =
            field <= TURF || field === 4 || field >= 9
              ? 0
              : field >= 6
                ? turf * 2 ** -20 + 1e-9
                : 3e-7 * (turf + (plain[i] as number));
          expectClose(`block ${Math.floor(i / SUMS)} sum ${field}`, fast[i], plain[i] as number, tolerance);
        }
      }),
      { numRuns: 200 },
    );
  });

  test('takes pieces longer than one go and more than fit at once', () => {
    const width = 10_007;
    const height = 12;
    const random = seededRandom(1);
    const data = Uint8Array.from({ length: width * height * 3 }, () => random.below(256));
    const pieces = Int32Array.from(Array.from({ length: height }, (_, y) => [y, 0, width, y % 2]).flat());
    const [plain, fast] = [new Float64Array(2 * SUMS), new Float64Array(2 * SUMS)];
    addRuns(data, width, pieces, maskTables(45, 140, 0.1), plain);
    simdKernel(45, 140, 0.1)?.(data, width, pieces, fast);
    plain.forEach((sum, i) => expectClose(`sum ${i}`, fast[i], sum, 1e-6 * sum));
  });

  test('leaves a mask it can’t do in 16 bits to the plain one', () => {
    expect(simdKernel(47, 140, 0.1)).toBeNull();
    expect(simdKernel(45, 140, 0.123)).toBeNull();
  });

  test('is what its source compiles to', async () => expect(await compileKernel()).toBe(KERNEL_SIMD));
});
