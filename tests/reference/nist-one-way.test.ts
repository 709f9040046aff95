// NIST Statistical Reference Datasets, one-way analysis of variance: certified values as printed in the .dat files
// (itl.nist.gov/div898/strd, copies shipped with SciPy's tests, read 2026-11). SiRstv and AtmWtAg are embedded;
// the SmLs sets (Simon & Lesage 1989) are made by their pattern, which was compared with the files entry by entry:
// nine groups with medians .4 .3 .5 .3 .5 .3 .5 .3 .5, each first its median, then by turns a tenth below and above it.
import { describe, expect, test } from 'vitest';
import { sequentialAnova } from '@/lib/stats/anova';
import { fitLinearModel } from '@/lib/stats/linear-model';

const SIRSTV = [
  [196.3052, 196.124, 196.189, 196.2569, 196.3403],
  [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
  [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
  [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
  [196.2119, 196.1051, 196.185, 196.0052, 196.209],
];
const ATMWTAG = [
  [
    568, 465, 572, 785, 446, 903, 526, 494, 616, 587, 519, 486, 419, 569, 508, 672, 385, 518, 662, 424, 360, 333, 610,
    477,
  ],
  [
    79, 344, 513, 197, 604, 385, 642, 365, 151, 82, 517, 448, 198, 482, 334, 609, 101, 512, 469, 360, 254, 261, 450,
    368,
  ],
].map((digits, group) =>
  digits.map((value) =>
    Number(`107.868${group === 1 && value < 100 ? `10${value}` : `1${String(value).padStart(3, '0')}`}`),
  ),
);

function smLs(base: string, perGroup: number): number[][] {
  return [4, 3, 5, 3, 5, 3, 5, 3, 5].map((median) =>
    Array.from({ length: perGroup }, (_, i) =>
      Number(`${base}.${i === 0 ? median : i % 2 === 1 ? median - 1 : median + 1}`),
    ),
  );
}

function oneWay(groups: readonly (readonly number[])[]) {
  const fit = fitLinearModel(
    { response: groups.flat(), factors: { group: groups.flatMap((group, g) => group.map(() => `g${g}`)) } },
    [['group']],
  );
  const [between, within] = sequentialAnova(fit).rows;
  return {
    f: between!.f!,
    ssBetween: between!.ss,
    ssWithin: within!.ss,
    sd: Math.sqrt(within!.ms!),
    rSquared: between!.ss / (between!.ss + within!.ss),
    dfs: [between!.df, within!.df],
  };
}
const off = (got: number, certified: number): number => Math.abs(got / certified - 1);

describe('NIST one-way sets', () => {
  test('SiRstv to 12 digits', () => {
    const got = oneWay(SIRSTV);
    expect(got.dfs).toEqual([4, 20]);
    expect(off(got.f, 1.18046237440255)).toBeLessThan(1e-12);
    expect(off(got.ssBetween, 5.11462616e-2)).toBeLessThan(1e-12);
    expect(off(got.ssWithin, 2.1663656e-1)).toBeLessThan(1e-12);
    expect(off(got.rSquared, 1.90999039051129e-1)).toBeLessThan(1e-12);
    expect(off(got.sd, 1.04076068334656e-1)).toBeLessThan(1e-12);
  });
  test('AtmWtAg to 8 digits', () => {
    expect(ATMWTAG[0]![0]).toBe(107.8681568);
    expect(ATMWTAG[1]![0]).toBe(107.8681079);
    const got = oneWay(ATMWTAG);
    expect(got.dfs).toEqual([1, 46]);
    expect(off(got.f, 15.946733567793)).toBeLessThan(1e-8);
    expect(off(got.ssBetween, 3.638341875e-9)).toBeLessThan(1e-8);
    expect(off(got.ssWithin, 1.04951729166667e-8)).toBeLessThan(1e-8);
    expect(off(got.sd, 1.5104831444641e-5)).toBeLessThan(1e-8);
  });
  // The file's own decimals cannot be held exactly at 13 digits before the point, which limits 07-09 to 4 digits.
  test.each([
    ['SmLs01', '1', 21, 21, 4.82758620689655e-1, 1e-12],
    ['SmLs02', '1', 201, 201, 4.71830985915493e-1, 1e-12],
    ['SmLs03', '1', 2001, 2001, 4.70712773465067e-1, 1e-12],
    ['SmLs04', '1000000', 21, 21, 4.82758620689655e-1, 1e-8],
    ['SmLs05', '1000000', 201, 201, 4.71830985915493e-1, 1e-8],
    ['SmLs06', '1000000', 2001, 2001, 4.70712773465067e-1, 1e-8],
    ['SmLs07', '1000000000000', 21, 21, 4.82758620689655e-1, 1e-4],
    ['SmLs08', '1000000000000', 201, 201, 4.71830985915493e-1, 1e-4],
    ['SmLs09', '1000000000000', 2001, 2001, 4.70712773465067e-1, 1e-4],
  ])('%s: F, R squared and residual standard deviation', (_, base, perGroup, f, rSquared, tolerance) => {
    const got = oneWay(smLs(base, perGroup));
    expect(off(got.f, f)).toBeLessThan(tolerance);
    expect(off(got.rSquared, rSquared)).toBeLessThan(tolerance);
    expect(off(got.sd, 0.1)).toBeLessThan(tolerance);
  });
});
