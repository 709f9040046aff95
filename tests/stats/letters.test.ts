import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compactLetters } from '@/lib/stats/compact-letters';

describe('compact letters', () => {
  test('share a letter exactly when not significantly different, whatever the pattern', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 8 }),
        fc.array(fc.boolean(), { minLength: 28, maxLength: 28 }),
        fc.constantFrom('highest-first' as const, 'lowest-first' as const, 'as-given' as const),
        (n, bits, order) => {
          const differ = (i: number, j: number): boolean =>
            bits[(Math.max(i, j) * (Math.max(i, j) - 1)) / 2 + Math.min(i, j)]!;
          const letters = compactLetters(
            Array.from({ length: n }, (_, i) => (i * 37) % 11),
            differ,
            order,
          );
          for (let i = 0; i < n; i++) {
            expect(letters[i]).not.toBe('');
            for (let j = 0; j < i; j++)
              expect([...letters[i]!].some((letter) => letters[j]!.includes(letter))).toBe(!differ(i, j));
          }
        },
      ),
      { seed: 5, numRuns: 300 },
    );
  });
  test('give a to the highest or to the lowest, as asked', () => {
    const differ = (): boolean => true;
    expect(compactLetters([2, 9, 5], differ, 'highest-first')).toEqual(['c', 'a', 'b']);
    expect(compactLetters([2, 9, 5], differ, 'lowest-first')).toEqual(['a', 'c', 'b']);
  });
  test('are all a when nothing differs, and none for no means', () => {
    expect(compactLetters([3, 1, 2], () => false, 'highest-first')).toEqual(['a', 'a', 'a']);
    expect(compactLetters([], () => false, 'highest-first')).toEqual([]);
  });
});
