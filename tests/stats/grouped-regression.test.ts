import { describe, expect, test } from 'vitest';
import { groupedRegression } from '@/lib/stats/grouped-regression';
import { tQuantile } from '@/lib/stats/student-t';

/** Rows of plots that had one rate throughout, each seen after every spray. */
function rowsOf(rates: readonly number[], changes: readonly (readonly number[])[]) {
  return rates.flatMap((rate, plot) =>
    changes[plot]!.map((y, spray) => ({ rate, y, plot: `p${plot}`, spray: `p${plot} s${spray}` })),
  );
}
const fitted = (rows: ReturnType<typeof rowsOf>) =>
  groupedRegression(
    rows.map((row) => row.y),
    { rate: rows.map((row) => row.rate) },
    { plot: rows.map((row) => row.plot), spray: rows.map((row) => row.spray) },
  );

describe('a slope on a rate that each plot had throughout', () => {
  test('of four plots is judged by the plots’ means: two degrees of freedom, the interval of the line through the means', () => {
    // With as many rows a plot, the line through the plots' means and its interval are the exact test (Searle, Casella
    // & McCulloch 1992, Variance Components, ch. 4: balanced one-way data): worked out here by the textbook's formulas
    // of a line.
    const rates = [0.5, 1, 2, 4];
    const changes = [
      [0.011, 0.013, 0.015],
      [0.034, 0.032, 0.03],
      [0.028, 0.026, 0.03],
      [0.066, 0.07, 0.068],
    ];
    const means = changes.map((own) => own.reduce((sum, y) => sum + y, 0) / own.length);
    const [meanRate, meanChange] = [rates, means].map((all) => all.reduce((sum, one) => sum + one, 0) / 4) as [
      number,
      number,
    ];
    const sxx = rates.reduce((sum, rate) => sum + (rate - meanRate) ** 2, 0);
    const slope = rates.reduce((sum, rate, i) => sum + (rate - meanRate) * (means[i]! - meanChange), 0) / sxx;
    const rest = rates.reduce((sum, rate, i) => sum + (means[i]! - meanChange - slope * (rate - meanRate)) ** 2, 0);
    const reach = tQuantile(0.975, 2) * Math.sqrt(rest / 2 / sxx);
    const [got] = fitted(rowsOf(rates, changes))!.slopes;
    expect(got!.value).toBeCloseTo(slope, 6);
    expect(got!.df).toBeCloseTo(2, 3);
    expect(got!.low).toBeCloseTo(slope - reach, 4);
    expect(got!.high).toBeCloseTo(slope + reach, 4);
  });

  test('of two plots cannot be told from what else differs between the plots: no interval and no band', () => {
    const got = fitted(
      rowsOf(
        [0.0125, 0.045],
        [
          [0.018, 0.028],
          [0.028, 0.043],
        ],
      ),
    )!;
    expect(got.slopes).toEqual([]);
    expect(got.untold).toMatchObject([{ name: 'rate', group: 'plot', levels: 2 }]);
    expect(got.untold[0]!.value).toBeCloseTo((0.0355 - 0.023) / 0.0325, 6);
    expect(got.predict({ rate: 0.02 }).low).toBeUndefined();
  });

  test('that changed on the same plots is told, with no more degrees of freedom than rows leave', () => {
    const y = [0.01, 0.031, 0.052, 0.02, 0.039, 0.061];
    const got = groupedRegression(y, { rate: [1, 2, 3, 1, 2, 3] }, { plot: ['a', 'a', 'a', 'b', 'b', 'b'] })!;
    expect(got.untold).toEqual([]);
    expect(got.slopes[0]!.df).toBeLessThanOrEqual(4);
    expect(got.slopes[0]!.low).toBeGreaterThan(0);
    expect(got.slopes[0]!.high).toBeGreaterThan(got.slopes[0]!.low);
  });
});
