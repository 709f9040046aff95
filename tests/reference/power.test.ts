// Power of the usual textbook cases: noncentral t and F in R 4.2.2 (power.t.test strict, power.anova.test); sample
// sizes 64, 53, 159 and 172 as printed in public power-analysis manuals.
import { describe, expect, it } from 'vitest';
import {
  criticalT,
  detectableDifference,
  leastFavourableSpread,
  powerFTest,
  powerOfDifference,
  powerPaired,
  powerTwoSample,
  replicatesExact,
  replicatesNeeded,
} from '@/lib/stats/power';

describe('power', () => {
  it('two samples, half a standard deviation: 63.77, so 64 a group for 0.8; 85.03, so 86 for 0.9', () => {
    const at = (n: number): number => powerTwoSample({ difference: 0.5, sd: 1, nPerGroup: n });
    expect(replicatesExact(at, 0.8)).toBeCloseTo(63.77, 2);
    expect(replicatesNeeded(at, 0.8)).toBe(64);
    expect(replicatesExact(at, 0.9)).toBeCloseTo(85.03, 2);
    expect(replicatesNeeded(at, 0.9)).toBe(86);
    expect(at(86)).toBeCloseTo(0.9032, 4);
  });
  it('two samples of 20, one standard deviation apart: 0.8690', () => {
    expect(powerTwoSample({ difference: 1, sd: 1, nPerGroup: 20 })).toBeCloseTo(0.869, 4);
  });
  it('pairs: 9.94, so 10 for one standard deviation; 0.360 for a third with 25', () => {
    const at = (n: number): number => powerPaired({ difference: 1, sdOfDifferences: 1, pairs: n });
    expect(replicatesExact(at)).toBeCloseTo(9.94, 2);
    expect(replicatesNeeded(at)).toBe(10);
    expect(powerPaired({ difference: 1 / 3, sdOfDifferences: 1, pairs: 25 })).toBeCloseTo(0.36, 3);
  });
  it('one-way with f = 0.25 and 3 groups: 52.40, so 53 a group', () => {
    // f² = Σ(τ − τ̄)² / (k sd²)
    const at = (n: number): number =>
      powerFTest({ spread: 3 * 0.25 ** 2, sd: 1, treatments: 3, replicates: n, layout: 'one-way' });
    expect(replicatesExact(at)).toBeCloseTo(52.4, 2);
    expect(replicatesNeeded(at)).toBe(53);
  });
  it('one-way, 4 groups, variance 1 between and 3 within: 11.93 for 0.8; 5 a group give 0.3536', () => {
    // The between variance of power.anova.test has k − 1 below.
    const at = (n: number): number =>
      powerFTest({ spread: 3, sd: Math.sqrt(3), treatments: 4, replicates: n, layout: 'one-way' });
    expect(replicatesExact(at)).toBeCloseTo(11.93, 2);
    expect(at(5)).toBeCloseTo(0.3536, 4);
  });
  it('blocks of two treatments are the paired test', () => {
    const blocks = powerFTest({
      spread: leastFavourableSpread(1),
      sd: 0.7,
      treatments: 2,
      replicates: 6,
      layout: 'blocks',
    });
    expect(blocks).toBeCloseTo(powerPaired({ difference: 1, sdOfDifferences: 0.7 * Math.SQRT2, pairs: 6 }), 7);
  });
  it('the detectable difference of two treatments has just the power asked for in pairs', () => {
    const difference = detectableDifference({
      standardError: 0.01 * Math.sqrt(2 / 4),
      df: 3,
      treatments: 2,
      verdict: 'against the check',
    });
    expect(powerPaired({ difference, sdOfDifferences: 0.01 * Math.SQRT2, pairs: 4 })).toBeCloseTo(0.8, 6);
  });
  it("must pass Dunnett's critical value: 2.812 for 3 treatments and a check with 9 df, 3.20 by Tukey for 4 (Dunnett 1964, table 2; q 4.415)", () => {
    expect(criticalT('against the check', 4, 9)).toBeCloseTo(2.81, 2);
    expect(criticalT('all pairs', 4, 9)).toBeCloseTo(4.415 / Math.SQRT2, 3);
    expect(
      powerOfDifference({ difference: 2.812, standardError: 1, df: 9, treatments: 4, verdict: 'against the check' }),
    ).toBeLessThan(0.55);
  });
  it('without a difference is the level of the test', () => {
    expect(powerTwoSample({ difference: 0, sd: 1, nPerGroup: 7 })).toBeCloseTo(0.05, 7);
    expect(powerFTest({ spread: 0, sd: 1, treatments: 4, replicates: 3, layout: 'blocks' })).toBeCloseTo(0.05, 9);
  });
});
