import { describe, expect, test } from 'vitest';
import { correlation, regress, varianceInflation } from '@/lib/stats/regression';

describe('regression', () => {
  test('finds an exact line and leaves out an x that is constant or a combination of others', () => {
    const x = [1, 2, 3, 4, 5, 6];
    const result = regress([3.1, 4.9, 7.2, 8.8, 11.1, 12.9], {
      x,
      twice: x.map((value) => 2 * value + 1),
      same: x.map(() => 4),
    });
    if (!result.ok) throw new Error(result.reason);
    expect(result.fit.slopes.map((one) => one.name)).toEqual(['x']);
    expect(result.fit.leftOut).toEqual(['twice', 'same']);
    expect(result.fit.slopes[0]!.value).toBeCloseTo(34.6 / 17.5, 9); // sums of products by hand
  });
  test('says why there is no fit', () => {
    expect(regress([1, 2, 3], { a: [1, 2, 3], b: [2, 1, 3] })).toEqual({
      ok: false,
      reason: "2 x's need at least 4 observations for a slope with an interval, here are 3",
    });
    expect(regress([1, 2, 3], { a: [5, 5, 5] })).toEqual({ ok: false, reason: 'no x varies: a' });
  });
  test('inflation of two x is 1 / (1 − r²), without limit when they are the same', () => {
    const [a, b] = [
      [1, 2, 3, 4, 5],
      [2, 1, 4, 3, 6],
    ];
    expect(varianceInflation([a, b])[0]).toBeCloseTo(1 / (1 - correlation(a, b)! ** 2), 10);
    expect(varianceInflation([a, a.map((value) => 3 * value)])).toEqual([Infinity, Infinity]);
    expect(varianceInflation([a, [7, 7, 7, 7, 7]])[1]).toBeNull();
  });
});
