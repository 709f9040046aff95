// Gomez & Gomez 1984, Statistical Procedures for Agricultural Research: randomised complete blocks, seeding rate of
// rice (table 2.5, p. 26; data as in agridat gomez.seedrate) and one-way layout, rice insecticides (table 2.1; data
// from memory). Analysis values recomputed with R 4.2.2.
import { describe, expect, test } from 'vitest';
import { adjustedAnova, sequentialAnova } from '@/lib/stats/anova';
import { adjustedMeans, protectedLsd, standardErrorOfDifference, tukeyHsd } from '@/lib/stats/compare-means';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { nonAdditivity } from '@/lib/stats/residual-checks';
import { studentizedRangeQuantile } from '@/lib/stats/studentized-range';
import { tQuantile } from '@/lib/stats/student-t';

const SEED_RATE: Record<string, number[]> = {
  25: [5113, 5398, 5307, 4678],
  50: [5346, 5952, 4719, 4264],
  75: [5272, 5713, 5483, 4749],
  100: [5164, 4831, 4986, 4410],
  125: [4804, 4848, 4432, 4748],
  150: [5254, 4542, 4919, 4098],
};
const INSECTICIDES = [
  [2537, 2069, 2104, 1797],
  [3366, 2591, 2211, 2544],
  [2536, 2459, 2827, 2385],
  [2387, 2453, 1556, 2116],
  [1997, 1679, 1649, 1859],
  [1796, 1704, 1904, 1320],
  [1401, 1516, 1270, 1077],
];

describe('seeding rate in randomised complete blocks (Gomez & Gomez 1984, p. 26)', () => {
  const rates = Object.keys(SEED_RATE);
  const response = rates.flatMap((rate) => SEED_RATE[rate]!);
  const fit = fitLinearModel(
    {
      response,
      factors: {
        rep: rates.flatMap(() => ['1', '2', '3', '4']),
        rate: rates.flatMap((rate) => [rate, rate, rate, rate]),
      },
    },
    [['rep'], ['rate']],
  );
  const [rep, rate, error] = sequentialAnova(fit).rows;
  const { table } = adjustedMeans(fit, 'rate')!;

  test('has the printed table', () => {
    expect([rep!.df, rate!.df, error!.df]).toEqual([3, 5, 15]);
    expect(rep!.ss).toBeCloseTo(1944361, 0);
    expect(rep!.f).toBeCloseTo(5.862, 3);
    expect(rate!.ss).toBeCloseTo(1198331, 0);
    expect(rate!.f).toBeCloseTo(2.168, 3);
    expect(rate!.p).toBeCloseTo(0.1128, 4);
    expect(error!.ss).toBeCloseTo(1658376, 0);
    expect(error!.ms).toBeCloseTo(110558, 0);
    expect((100 * Math.sqrt(error!.ms!)) / (response.reduce((a, b) => a + b) / 24)).toBeCloseTo(6.7, 2);
  });
  test('has the printed standard errors, LSD and HSD', () => {
    expect(Math.sqrt(table.covariance[0]![0]!)).toBeCloseTo(166.25, 2);
    const sed = standardErrorOfDifference(table, 0, 1);
    expect(sed).toBeCloseTo(235.12, 2);
    expect(tQuantile(0.975, 15) * sed).toBeCloseTo(501.14, 2);
    expect((studentizedRangeQuantile(0.95, 6, 15) * sed) / Math.SQRT2).toBeCloseTo(763.88, 2);
  });
  test('separates nothing by the protected LSD, though the bare LSD would part 75 from 125 and 150', () => {
    const guarded = protectedLsd(table, rate!.p!);
    expect(guarded.filter((one) => one.significant)).toEqual([]);
    const bare = protectedLsd(table, 0).filter((one) => one.significant);
    expect(bare.map((one) => [one.a, one.b, Math.round(one.difference * 100) / 100])).toEqual([
      ['75', '125', 596.25],
      ['75', '150', 601],
    ]);
    const tukey = tukeyHsd(table);
    expect(tukey.some((one) => one.significant)).toBe(false);
    expect(Math.min(...tukey.map((one) => one.p))).toBeCloseTo(0.169, 3);
  });
  test("has Tukey's non-additivity F 1.214, p .289", () => {
    const test = nonAdditivity(fit)!;
    expect(test.f).toBeCloseTo(1.214, 3);
    expect(test.p).toBeCloseTo(0.289, 3);
  });
  test('gives the same table whichever term comes first, as the data are complete', () => {
    const other = adjustedAnova(fit).rows;
    expect(other[0]!.ss).toBeCloseTo(rep!.ss, 4);
    expect(other[1]!.ss).toBeCloseTo(rate!.ss, 4);
  });
});

describe('rice insecticides in a one-way layout (Gomez & Gomez 1984, table 2.1)', () => {
  const fit = fitLinearModel(
    {
      response: INSECTICIDES.flat(),
      factors: { treatment: INSECTICIDES.flatMap((row, i) => row.map(() => `T${i + 1}`)) },
    },
    [['treatment']],
  );
  const [treatment, error] = sequentialAnova(fit).rows;
  const { table } = adjustedMeans(fit, 'treatment')!;
  test('has the printed table and critical differences', () => {
    expect([treatment!.df, error!.df]).toEqual([6, 21]);
    expect(treatment!.ss).toBeCloseTo(5587175, 0);
    expect(error!.ss).toBeCloseTo(1990237.5, 3); // printed rounded, 1990238
    expect(error!.ms).toBeCloseTo(94773, 0);
    expect(treatment!.f).toBeCloseTo(9.826, 3);
    expect(table.means.map((mean) => Math.round(mean))).toEqual([2127, 2678, 2552, 2128, 1796, 1681, 1316]);
    const sed = standardErrorOfDifference(table, 0, 1);
    expect(tQuantile(0.975, 21) * sed).toBeCloseTo(452.7, 1);
    expect(tQuantile(0.995, 21) * sed).toBeCloseTo(616.3, 1);
    expect((studentizedRangeQuantile(0.95, 7, 21) * sed) / Math.SQRT2).toBeCloseTo(707.6, 1);
  });
});
