import { describe, expect, test } from 'vitest';
import { mean, median, quantile, standardDeviation } from '@/lib/stats/describe';
import { expectClose } from '../support/close';

describe('NIST StRD, univariate summary statistics', () => {
  // www.itl.nist.gov/div898/strd/univ: certified mean and standard deviation of NumAcc1 and NumAcc2, data as defined
  // there.
  test('NumAcc1: 10000001, 10000003, 10000002 has mean 10000002 and standard deviation 1', () => {
    const values = [10000001, 10000003, 10000002];
    expect(mean(values)).toBe(10000002);
    expect(standardDeviation(values)).toBe(1);
  });

  test('NumAcc2: 1.2 and 1000 alternations of 1.1 and 1.3 has mean 1.2 and standard deviation 0.1', () => {
    const values = [1.2, ...Array.from({ length: 1000 }, (_, i) => (i % 2 === 0 ? 1.1 : 1.3))];
    expectClose('mean', mean(values), 1.2, 1e-14);
    expectClose('standard deviation', standardDeviation(values), 0.1, 1e-13);
  });
});

describe('quantile of type 7', () => {
  // numpy 1.24: np.quantile([1, 2, 4, 8, 16, 32], [0.1, 0.25, 0.5, 0.9]).
  test.each([
    [0, 1],
    [0.1, 1.5],
    [0.25, 2.5],
    [0.5, 6],
    [0.9, 24],
    [1, 32],
  ])('%f of 1, 2, 4, 8, 16, 32 is %f', (p, wanted) => {
    expectClose('quantile', quantile([32, 1, 4, 2, 16, 8], p), wanted, 1e-12);
  });
  test('of one value is that value', () => expect(quantile([5], 0.3)).toBe(5));
  test('leaves its list alone', () => expect(median(Object.freeze([3, 1, 2]))).toBe(2));
  test('of nothing is refused', () => expect(() => median([])).toThrow(RangeError));
});
