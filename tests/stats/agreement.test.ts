import { describe, expect, test } from 'vitest';
import { blandAltman, linConcordance, weightedKappa } from '@/lib/stats/agreement';
import { seededRandom } from '@/lib/stats/random';

describe('agreement', () => {
  test('Lin is 1 for identical lists, -1 for mirrored ones, and the same both ways round', () => {
    expect(linConcordance([1, 2, 3, 4], [1, 2, 3, 4])!.ccc).toBeCloseTo(1, 12);
    expect(linConcordance([1, 2, 3], [3, 2, 1])!.ccc).toBeCloseTo(-1, 12);
    expect(linConcordance([1, 2, 4, 3], [2, 2, 5, 3])!.ccc).toBeCloseTo(
      linConcordance([2, 2, 5, 3], [1, 2, 4, 3])!.ccc,
      12,
    );
  });
  test('Lin falls below r by a shift: worked by hand, x 1..5 and x + 1 give 2·2/(2 + 2 + 1) = 0.8 with r = 1', () => {
    const got = linConcordance([1, 2, 3, 4, 5], [2, 3, 4, 5, 6])!;
    expect(got.ccc).toBeCloseTo(0.8, 12);
    expect(got.pearson).toBeCloseTo(1, 12);
  });
  test("Lin's 95% interval covers the true value about 95 times in 100 (seeded simulation, 600 sets of 40 pairs)", () => {
    const random = seededRandom('lin');
    // x = u + e, y = u + e' + 0.5 with variances 1 and 0.25: true ccc = 2 / (1.25 + 1.25 + 0.25).
    const truth = 2 / 2.75;
    let inside = 0;
    for (let run = 0; run < 600; run++) {
      const u = Array.from({ length: 40 }, () => random.normal());
      const [low, high] = linConcordance(
        u.map((v) => v + 0.5 * random.normal()),
        u.map((v) => v + 0.5 * random.normal() + 0.5),
      )!.interval!;
      if (low <= truth && truth <= high) inside += 1;
    }
    expect(inside / 600).toBeGreaterThan(0.925);
    expect(inside / 600).toBeLessThan(0.975);
  });
  test('Bland-Altman: differences 1, -1, 3 have bias 1, sd 2 and limits 1 ± 3.92', () => {
    const got = blandAltman([2, 4, 9], [1, 5, 6]);
    expect(got.bias).toBeCloseTo(1, 12);
    expect(got.sd).toBeCloseTo(2, 12);
    expect([got.low, got.high].map((value) => Number(value.toFixed(2)))).toEqual([-2.92, 4.92]);
  });
  test('weighted kappa as numpy, contingency table of Cohen 1968 gives it', () => {
    const first = [1, 2, 3, 4, 5, 3, 2, 4, 5, 1, 3, 2];
    const second = [1, 3, 3, 4, 4, 2, 2, 5, 5, 2, 3, 1];
    expect(weightedKappa(first, second, [1, 2, 3, 4, 5], 'quadratic')).toBeCloseTo(0.8565737051792829, 10);
    expect(weightedKappa(first, second, [1, 2, 3, 4, 5], 'linear')).toBeCloseTo(0.6635514018691588, 10);
  });
  test('kappa is 1 for full agreement, null when both use one category only', () => {
    expect(weightedKappa([1, 5, 9], [1, 5, 9], [1, 5, 9])).toBe(1);
    expect(weightedKappa([5, 5], [5, 5], [1, 5, 9])).toBeNull();
    expect(() => weightedKappa([4], [5], [1, 5, 9])).toThrow('rating: expected one of 1, 5, 9, got 4');
  });
});
