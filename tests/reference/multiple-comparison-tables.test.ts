// Critical values: R 4.2.2 qtukey, and Dunnett's by numerical integration in R (mvtnorm); the one-sided ones agree with
// the table printed in Dunnett 1955, JASA 50:1096.
import { describe, expect, test } from 'vitest';
import { dunnettCorrelation, dunnettP, dunnettQuantile } from '@/lib/stats/dunnett';
import { multivariateTCdf, productStructure } from '@/lib/stats/multivariate-t';
import { studentizedRangeUpperP, studentizedRangeQuantile } from '@/lib/stats/studentized-range';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

const equal = (k: number): number[][] =>
  dunnettCorrelation(
    4,
    Array.from({ length: k }, () => 4),
  );
const three = (value: number): number => Number(value.toFixed(3));

describe('studentized range', () => {
  test.each([
    [0.95, 6, [3.46, 4.339, 4.896, 5.305, 5.628]],
    [0.95, 9, [3.199, 3.948, 4.415, 4.755, 5.024]],
    [0.95, 12, [3.081, 3.773, 4.199, 4.508, 4.75]],
    [0.95, 15, [3.014, 3.673, 4.076, 4.367, 4.595]],
    [0.95, 20, [2.95, 3.578, 3.958, 4.232, 4.445]],
    [0.95, 30, [2.888, 3.486, 3.845, 4.102, 4.301]],
    [0.95, Infinity, [2.772, 3.314, 3.633, 3.858, 4.03]],
    [0.99, 12, [4.32, 5.046, 5.502, 5.836, 6.101]],
    [0.99, 20, [4.024, 4.639, 5.018, 5.293, 5.51]],
  ])('q at %d with %d df for 2 to 6 means', (probability, df, printed) => {
    expect([2, 3, 4, 5, 6].map((k) => three(studentizedRangeQuantile(probability, k, df)))).toEqual(printed);
  });
  test('of two means is √2 |t|', () => {
    expect(studentizedRangeQuantile(0.95, 2, 7)).toBeCloseTo(Math.SQRT2 * tQuantile(0.975, 7), 6);
  });
  test('gets its own quantile back', () => {
    expect(studentizedRangeUpperP(studentizedRangeQuantile(0.9, 7, 11), 7, 11)).toBeCloseTo(0.1, 8);
  });
});

describe('Dunnett', () => {
  test.each([
    [0.95, 6, [2.447, 2.863, 3.099, 3.263, 3.388]],
    [0.95, 9, [2.262, 2.614, 2.812, 2.948, 3.052]],
    [0.95, 12, [2.179, 2.502, 2.683, 2.807, 2.901]],
    [0.95, 15, [2.131, 2.439, 2.61, 2.727, 2.816]],
    [0.95, 20, [2.086, 2.379, 2.54, 2.651, 2.735]],
    [0.95, 30, [2.042, 2.321, 2.474, 2.578, 2.657]],
  ])('two-sided critical value at %d with %d df for 1 to 5 treatments', (probability, df, printed) => {
    // Two last digits of the source were rounded from simulation-grade integration: within 0.001.
    [1, 2, 3, 4, 5].forEach((k, i) =>
      expect(Math.abs(dunnettQuantile(probability, equal(k), df, 'two') - printed[i]!)).toBeLessThan(0.001),
    );
  });
  test('two-sided at 0.99 for 2 to 4 treatments', () => {
    expect([2, 3, 4].map((k) => three(dunnettQuantile(0.99, equal(k), 12, 'two')))).toEqual([3.387, 3.577, 3.709]);
    expect([2, 3].map((k) => three(dunnettQuantile(0.99, equal(k), 20, 'two')))).toEqual([3.127, 3.285]);
  });
  test('one-sided critical values as printed in 1955', () => {
    expect([2, 3, 4, 5].map((k) => three(dunnettQuantile(0.95, equal(k), 10, 'one')))).toEqual([
      2.151, 2.338, 2.466, 2.562,
    ]);
    expect([2, 3, 4, 5].map((k) => three(dunnettQuantile(0.95, equal(k), 20, 'one')))).toEqual([
      2.027, 2.192, 2.304, 2.389,
    ]);
    expect([2, 3, 4, 5].map((k) => three(dunnettQuantile(0.95, equal(k), 30, 'one')))).toEqual([
      1.989, 2.147, 2.255, 2.335,
    ]);
  });
  test('with one treatment is the t test', () => {
    expect(dunnettP(2.3, [[1]], 8, 'two')).toBeCloseTo(tTwoSidedP(2.3, 8), 7);
  });
  test('lies between the plain and the Bonferroni p', () => {
    const p = dunnettP(2.4, equal(4), 12, 'two');
    expect(p).toBeGreaterThan(tTwoSidedP(2.4, 12));
    expect(p).toBeLessThan(4 * tTwoSidedP(2.4, 12));
  });
  test('gives the same by the lattice as by the exact integral, for a correlation a hair off the product structure', () => {
    const exact = dunnettCorrelation(3, [4, 5, 3, 4]);
    const nudged = exact.map((row, i) => row.map((value, j) => (i + j === 1 ? value + 1e-8 : value)));
    expect(productStructure(exact)).not.toBeNull();
    expect(productStructure(nudged)).toBeNull();
    expect(multivariateTCdf(2.2, nudged, 11, 'two')).toBeCloseTo(multivariateTCdf(2.2, exact, 11, 'two'), 5);
  });
});
