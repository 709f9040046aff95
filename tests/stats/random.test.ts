import { describe, expect, test } from 'vitest';
import { randomFromState, seededRandom } from '@/lib/stats/random';

const run = (seed: number | string): number[] => Array.from({ length: 20 }, seededRandom(seed).nextUint32);

describe('the generator', () => {
  test('gives the numbers of the reference code', () => {
    // First ten outputs of xoshiro128starstar.c 1.1 from state 1, 2, 3, 4, as printed in the tests of the Rust crate
    // rand_xoshiro (xoshiro128starstar.rs, "produced with the reference implementation"), looked up 25 November 2026.
    const random = randomFromState([1, 2, 3, 4]);
    expect(Array.from({ length: 10 }, () => random.nextUint32())).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
    ]);
  });

  test('gives the same for the same seed and other for another', () => {
    expect(run(7)).toEqual(run(7));
    expect(run(7)).not.toEqual(run(8));
    expect(run('block 1')).not.toEqual(run('block 2'));
  });

  test('refuses a seed that is no whole number from 0', () => {
    expect(() => seededRandom(-1)).toThrow(RangeError);
    expect(() => seededRandom(0.5)).toThrow(RangeError);
    expect(() => randomFromState([0, 0, 0, 0])).toThrow(RangeError);
  });

  test('draws each of six numbers about as often as the next', () => {
    const random = seededRandom(11);
    const counts = Array.from({ length: 6 }, () => 0);
    for (let i = 0; i < 60_000; i++) counts[random.below(6)]! += 1;
    // Chi-squared with 5 degrees of freedom exceeds 20.5 once in a thousand (any table).
    expect(counts.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0)).toBeLessThan(20.5);
  });

  test('normal draws have mean 0 and standard deviation 1', () => {
    const random = seededRandom(3);
    const draws = Array.from({ length: 40_000 }, () => random.normal());
    const mean = draws.reduce((a, b) => a + b) / draws.length;
    const variance = draws.reduce((sum, d) => sum + (d - mean) ** 2, 0) / draws.length;
    expect(Math.abs(mean)).toBeLessThan(4 / 200); // four standard errors
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / 40_000));
  });

  test('shuffling keeps every entry and the list it was given', () => {
    const list = Object.freeze([1, 2, 3, 4, 5, 6, 7, 8]);
    const shuffled = seededRandom(5).shuffled(list);
    expect([...shuffled].sort()).toEqual(list);
    expect(shuffled).not.toEqual(list);
  });

  test('shuffling puts each entry in each place about equally often', () => {
    const random = seededRandom(9);
    const seen = Array.from({ length: 16 }, () => 0);
    for (let i = 0; i < 8000; i++)
      random.shuffled([0, 1, 2, 3]).forEach((entry, place) => {
        seen[entry * 4 + place]! += 1;
      });
    for (const count of seen) expect(Math.abs(count - 2000)).toBeLessThan(200);
  });
});
