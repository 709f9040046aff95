// Power of the usual textbook cases: noncentral t in R 4.2.2 (power.t.test strict); sample sizes 64 and 86 as printed in
// public power-analysis manuals.
import { describe, expect, test } from 'vitest';
import { detectableDifference, powerOfDifference } from '@/lib/stats/power';

const ofTwo = (difference: number, standardError: number, df: number): number =>
  powerOfDifference({ difference, standardError, df, treatments: 2, verdict: 'against the check' });
/** Two groups of n (a fraction for solving), standard deviation 1. */
const twoSamples = (difference: number, n: number): number => ofTwo(difference, Math.sqrt(2 / n), 2 * n - 2);
/** n pairs whose differences have a standard deviation of 1. */
const paired = (difference: number, n: number): number => ofTwo(difference, Math.sqrt(1 / n), n - 1);
/** Both sides of the printed number of groups or pairs, to its last digit. */
const reaches = (at: (n: number) => number, power: number, printed: number): void => {
  expect(at(printed - 0.006)).toBeLessThan(power);
  expect(at(printed + 0.006)).toBeGreaterThan(power);
};

describe('power', () => {
  test('two samples, half a standard deviation: 63.77, so 64 a group for 0.8; 85.03, so 86 for 0.9', () => {
    const at = (n: number): number => twoSamples(0.5, n);
    reaches(at, 0.8, 63.77);
    reaches(at, 0.9, 85.03);
    expect([at(63) < 0.8, at(64) >= 0.8, at(85) < 0.9, at(86) >= 0.9]).toEqual([true, true, true, true]);
    expect(at(86)).toBeCloseTo(0.9032, 4);
  });
  test('two samples of 20, one standard deviation apart: 0.8690', () => {
    expect(twoSamples(1, 20)).toBeCloseTo(0.869, 4);
  });
  test('pairs: 9.94, so 10 for one standard deviation; 0.360 for a third with 25', () => {
    reaches((n) => paired(1, n), 0.8, 9.94);
    expect(paired(1 / 3, 25)).toBeCloseTo(0.36, 3);
  });
  test('the detectable difference of two treatments has just the power asked for in pairs', () => {
    const difference = detectableDifference({
      standardError: 0.01 * Math.sqrt(2 / 4),
      df: 3,
      treatments: 2,
      verdict: 'against the check',
    });
    expect(paired(difference / (0.01 * Math.SQRT2), 4)).toBeCloseTo(0.8, 6);
  });
  test("must pass Dunnett's critical value: 2.812 for 3 treatments and a check with 9 df (Dunnett 1964, table 2); 3.12 by Tukey for 4 (q 4.415)", () => {
    // A difference as large as the critical value is called one about half the time: a little more, since t is skewed.
    for (const [verdict, critical] of [
      ['against the check', 2.812],
      ['all pairs', 4.415 / Math.SQRT2],
    ] as const) {
      const power = powerOfDifference({ difference: critical, standardError: 1, df: 9, treatments: 4, verdict });
      expect(power).toBeGreaterThan(0.45);
      expect(power).toBeLessThan(0.55);
    }
  });
  test('without a difference is the level of the test', () => {
    expect(twoSamples(0, 7)).toBeCloseTo(0.05, 7);
  });
});
