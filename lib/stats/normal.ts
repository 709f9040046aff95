import jStat from 'jstat';
import { expectInRange } from '@/lib/expect';

const INV_SQRT_2PI = 1 / Math.sqrt(2 * Math.PI);

/** Density of the standard normal distribution at z, 0 to 0.3989. */
export function normalDensity(z: number): number {
  return INV_SQRT_2PI * Math.exp(-0.5 * z * z);
}

/** Probability, 0 to 1, that a standard normal value is at most z. Absolute error below 1e-15. */
export function normalCdf(z: number): number {
  if (z > 8.5) return 1;
  if (z < -38) return 0;
  if (z < -4) return normalTail(-z);
  return 0.5 * (1 + jStat.erf(z * Math.SQRT1_2));
}

/** Upper tail beyond z > 4 by Laplace's continued fraction (Abramowitz & Stegun 1964, 26.2.14), so that tiny p keep their digits. */
function normalTail(z: number): number {
  let fraction = 0;
  for (let k = 60; k >= 1; k--) fraction = k / (z + fraction);
  return normalDensity(z) / (z + fraction);
}

/** The z below which a share `probability` (above 0, below 1) of a standard normal distribution lies. */
export function normalQuantile(probability: number): number {
  expectInRange('probability', probability, Number.MIN_VALUE, 1 - Number.EPSILON / 2, '');
  let z = jStat.normal.inv(probability, 0, 1);
  for (let step = 0; step < 2; step++) {
    // One-sided residual keeps its digits in both tails.
    const error = probability < 0.5 ? normalCdf(z) - probability : 1 - probability - normalCdf(-z);
    z -= error / normalDensity(z);
  }
  return z;
}
