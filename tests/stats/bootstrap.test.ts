import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  blockBootstrapContrast,
  blockBootstrapDifference,
  blockBootstrapMean,
  type BlockSum,
} from '@/lib/stats/bootstrap';
import { quantile } from '@/lib/stats/describe';
import { seededRandom } from '@/lib/stats/random';
import { expectClose } from '../support/close';

/** Blocks of values that share a block effect: sd between blocks 1, within blocks 1. */
function correlatedBlocks(blocks: number, perBlock: number, random: ReturnType<typeof seededRandom>): BlockSum[] {
  return Array.from({ length: blocks }, () => {
    const effect = random.normal();
    let sum = 0;
    for (let i = 0; i < perBlock; i++) sum += effect + random.normal();
    return { count: perBlock, sum };
  });
}

const anyBlocks = fc.array(
  fc.record({ count: fc.integer({ min: 1, max: 1000 }), sum: fc.double({ min: -1e3, max: 1e3, noNaN: true }) }),
  { minLength: 2, maxLength: 20 },
);

describe('block bootstrap of a mean', () => {
  test('takes the quantiles of means over blocks drawn one by one by the seeded generator, whether asked first or again', () => {
    for (const [blocks, seed] of [
      [9, 1],
      [30, 'text'],
      [9, '1'],
      [300, 1],
    ] as const) {
      const sums = correlatedBlocks(blocks, 10, seededRandom(blocks));
      const random = seededRandom(seed);
      const means = Array.from({ length: 2000 }, () => {
        const drawn = Array.from({ length: blocks }, () => sums[random.below(blocks)]!);
        return drawn.reduce((sum, block) => sum + block.sum, 0) / drawn.reduce((sum, block) => sum + block.count, 0);
      });
      const estimate = sums.reduce((sum, block) => sum + block.sum, 0) / (10 * blocks);
      const stretched = (probability: number) =>
        estimate + Math.sqrt(blocks / (blocks - 1)) * (quantile(means, probability) - estimate);
      for (let again = 0; again < 2; again++) {
        const { low, high } = blockBootstrapMean(sums, { seed });
        expectClose('low', low, stretched(0.025), 1e-12);
        expectClose('high', high, stretched(0.975), 1e-12);
      }
    }
  });

  test('holds the true mean in 95% of intervals, give or take, when values in a block are alike', () => {
    const random = seededRandom(42);
    const RUNS = 600;
    let held = 0;
    for (let run = 0; run < RUNS; run++) {
      const { low, high } = blockBootstrapMean(correlatedBlocks(40, 25, random), { seed: run, resamples: 400 });
      if (low <= 0 && 0 <= high) held++;
    }
    // Percentile intervals from 40 blocks run a little narrow (Davison & Hinkley 1997, 5.3): 93-94% is expected. The
    // limits are that with three standard errors of 600 runs, 0.03.
    expect(held / RUNS).toBeGreaterThan(0.91);
    expect(held / RUNS).toBeLessThan(0.98);
  });

  test('is far too sure when the single values are taken for blocks', () => {
    const random = seededRandom(42);
    let held = 0;
    for (let run = 0; run < 200; run++) {
      const values: BlockSum[] = [];
      for (let block = 0; block < 40; block++) {
        const effect = random.normal();
        for (let i = 0; i < 25; i++) values.push({ count: 1, sum: effect + random.normal() });
      }
      const { low, high } = blockBootstrapMean(values, { seed: run, resamples: 200 });
      if (low <= 0 && 0 <= high) held++;
    }
    expect(held / 200).toBeLessThan(0.7);
  });

  test('has the standard error of the plain formula when blocks are equal in size', () => {
    const blocks = correlatedBlocks(30, 10, seededRandom(1));
    const means = blocks.map(({ count, sum }) => sum / count);
    const centre = means.reduce((a, b) => a + b) / 30;
    const plain = Math.sqrt(means.reduce((sum, m) => sum + (m - centre) ** 2, 0) / 29 / 30);
    // 20,000 resamples: a standard deviation is known to 1 / sqrt(2 x 20,000) = 0.5%; three of those.
    expectClose('ratio', blockBootstrapMean(blocks, { seed: 1, resamples: 20_000 }).standardError / plain, 1, 0.015);
  });

  test('moves with the values and stretches with their unit', () => {
    fc.assert(
      fc.property(anyBlocks, fc.integer({ min: -50, max: 50 }), (blocks, shift) => {
        const plain = blockBootstrapMean(blocks, { seed: 4, resamples: 100 });
        const moved = blockBootstrapMean(
          blocks.map(({ count, sum }) => ({ count, sum: 2 * sum + shift * count })),
          { seed: 4, resamples: 100 },
        );
        expectClose('low', moved.low, 2 * plain.low + shift, 1e-9 * (1 + Math.abs(plain.low)));
        expectClose('high', moved.high, 2 * plain.high + shift, 1e-9 * (1 + Math.abs(plain.high)));
      }),
    );
  });

  test('is the same for the same seed', () => {
    const blocks = correlatedBlocks(12, 5, seededRandom(2));
    expect(blockBootstrapMean(blocks, { seed: 'a' })).toEqual(blockBootstrapMean(blocks, { seed: 'a' }));
    expect(blockBootstrapMean(blocks, { seed: 'a' })).not.toEqual(blockBootstrapMean(blocks, { seed: 'b' }));
  });

  test('refuses one block and blocks without observations', () => {
    expect(() => blockBootstrapMean([{ count: 3, sum: 1 }], { seed: 1 })).toThrow(RangeError);
    expect(() =>
      blockBootstrapMean(
        [
          { count: 0, sum: 0 },
          { count: 0, sum: 0 },
        ],
        { seed: 1 },
      ),
    ).toThrow(RangeError);
  });
});

describe('differences', () => {
  test('turn their sign with their sides', () => {
    const [a, b] = [correlatedBlocks(20, 5, seededRandom(1)), correlatedBlocks(20, 5, seededRandom(2))];
    expectClose(
      'estimate',
      blockBootstrapDifference(a, b, { seed: 1 }).estimate,
      -blockBootstrapDifference(b, a, { seed: 1 }).estimate,
      1e-12,
    );
  });

  test('of a block with itself, resampled together, are exactly 0', () => {
    const blocks = correlatedBlocks(20, 5, seededRandom(1));
    const contrast = blockBootstrapContrast(
      [
        [
          { coefficient: 1, blocks },
          { coefficient: -1, blocks },
        ],
      ],
      { seed: 1 },
    );
    expect([contrast.low, contrast.estimate, contrast.high]).toEqual([0, 0, 0]);
  });

  test('refuse terms of one group with unlike numbers of blocks', () => {
    const blocks = correlatedBlocks(20, 5, seededRandom(1));
    expect(() =>
      blockBootstrapContrast(
        [
          [
            { coefficient: 1, blocks },
            { coefficient: -1, blocks: blocks.slice(1) },
          ],
        ],
        { seed: 1 },
      ),
    ).toThrow(/expected 20/);
  });
});
