import { describe, expect, test } from 'vitest';
import { sequentialAnova } from '@/lib/stats/anova';
import { adjustedMeans, dunnettAgainst, meanIntervals, tukeyHsd } from '@/lib/stats/compare-means';
import { fitLinearModel, marginalMeanWeights } from '@/lib/stats/linear-model';
import { seededRandom } from '@/lib/stats/random';

const random = seededRandom('linear model');
const block = ['1', '1', '1', '2', '2', '2', '3', '3', '3', '4', '4', '4'];
const treatment = ['a', 'b', 'c', 'a', 'b', 'c', 'a', 'b', 'c', 'a', 'b', 'c'];
const response = block.map((b, i) => Number(b) + { a: 0, b: 1, c: 3 }[treatment[i]!]! + random.normal());

describe('linear model', () => {
  test('does not change what it is given', () => {
    const data = Object.freeze({
      response: Object.freeze([...response]),
      factors: Object.freeze({ block: Object.freeze([...block]), treatment: Object.freeze([...treatment]) }),
    });
    expect(() => fitLinearModel(data, [['block'], ['treatment']])).not.toThrow();
  });
  test('residuals add up to 0 in every block and every treatment', () => {
    const fit = fitLinearModel({ response, factors: { block, treatment } }, [['block'], ['treatment']]);
    for (const [values, levels] of [
      [block, '1234'],
      [treatment, 'abc'],
    ] as const) {
      for (const level of levels)
        expect(fit.residuals.filter((_, i) => values[i] === level).reduce((a, b) => a + b, 0)).toBeCloseTo(0, 10);
    }
    expect(fit.leverage.reduce((a, b) => a + b, 0)).toBeCloseTo(fit.rank, 10);
  });
  test('sums of squares add up to the total', () => {
    const rows = sequentialAnova(
      fitLinearModel({ response, factors: { block, treatment } }, [['block'], ['treatment']]),
    ).rows;
    const mean = response.reduce((a, b) => a + b) / 12;
    expect(rows.reduce((sum, row) => sum + row.ss, 0)).toBeCloseTo(
      response.reduce((sum, value) => sum + (value - mean) ** 2, 0),
      9,
    );
  });
  test('a constant added to one block changes no treatment comparison, even with plots missing', () => {
    const keep = response.map((_, i) => i !== 1 && i !== 9);
    const only = <T>(list: readonly T[]): T[] => list.filter((_, i) => keep[i]);
    const pairs = (shift: number) => {
      const moved = response.map((value, i) => value + (block[i] === '2' ? shift : 0));
      return tukeyHsd(
        adjustedMeans(
          fitLinearModel({ response: only(moved), factors: { block: only(block), treatment: only(treatment) } }, [
            ['block'],
            ['treatment'],
          ]),
          'treatment',
        )!.table,
      );
    };
    pairs(100).forEach((one, i) => expect(one.p).toBeCloseTo(pairs(0)[i]!.p, 9));
  });
  test('tells what the data cannot: a treatment whose only plots stand in a block of their own', () => {
    const fit = fitLinearModel(
      {
        response: [1, 2, 3, 4, 9, 8],
        factors: { block: ['1', '1', '2', '2', '3', '3'], treatment: ['a', 'b', 'a', 'b', 'c', 'c'] },
      },
      [['block'], ['treatment']],
    );
    const weights = (level: string) => marginalMeanWeights(fit, { treatment: level });
    const minus = (x: number[], y: number[]) => x.map((value, i) => value - y[i]!);
    expect(fit.estimate(minus(weights('a'), weights('b')))).not.toBeNull();
    expect(fit.estimate(minus(weights('a'), weights('c')))).toBeNull();
    expect(adjustedMeans(fit, 'treatment')!.table.levels).toEqual([]);
  });
  test('has no means without error degrees of freedom', () => {
    expect(
      adjustedMeans(
        fitLinearModel({ response: [1, 2], factors: { treatment: ['a', 'b'] } }, [['treatment']]),
        'treatment',
      ),
    ).toBeNull();
  });
  test('intervals of Tukey and Dunnett leave out 0 exactly when p is below 0.05', () => {
    const { table } = adjustedMeans(
      fitLinearModel({ response, factors: { block, treatment } }, [['block'], ['treatment']]),
      'treatment',
    )!;
    for (const one of [...tukeyHsd(table), ...dunnettAgainst(table, 'a')])
      expect(one.low > 0 || one.high < 0).toBe(one.p < 0.05);
    expect(meanIntervals(table).every((one) => one.high > one.low)).toBe(true);
  });
  test('refuses an unknown term, a short list and a value that is no number', () => {
    expect(() => fitLinearModel({ response, factors: { block } }, [['row']])).toThrow(
      "terms: expected a factor or covariate of the data, got 'row'",
    );
    expect(() => fitLinearModel({ response, factors: { block: ['1'] } }, [['block']])).toThrow(
      'factors.block: expected 12 levels, one an observation, got 1',
    );
    expect(() => fitLinearModel({ response: [1, NaN], factors: { block: ['1', '2'] } }, [['block']])).toThrow(
      'response: expected finite numbers, got NaN',
    );
  });
});
