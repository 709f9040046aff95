import jStat from 'jstat';
import { expectPositive } from '@/lib/expect';

/**
 * Probability, 0 to 1, of an F value above `f` with `df1` and `df2` degrees of freedom (the p-value of an F test).
 * @see Abramowitz & Stegun 1964, 26.6.2
 */
export function fUpperP(f: number, df1: number, df2: number): number {
  expectPositive('df1', df1, '');
  expectPositive('df2', df2, '');
  if (f <= 0) return 1;
  if (f === Infinity) return 0;
  return jStat.ibeta(df2 / (df2 + df1 * f), df2 / 2, df1 / 2);
}
