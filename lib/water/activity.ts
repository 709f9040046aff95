import { expectNotNegative } from '@/lib/expect';

/** Davies' A at 25 °C, kg^½ mol^−½ (Davies 1962, Ion Association, p. 41; 0.509 in Stumm & Morgan 1996, table 3.3). */
const A = 0.509;
/** The Davies equation is fitted up to about 0.5 mol/L; above it the coefficients are held at their value there. */
export const DAVIES_LIMIT_MOL_PER_L = 0.5;

/**
 * log10 of the activity coefficient of an ion, by Davies; 0 for an uncharged species.
 * Holds up to 0.5 mol/L; above, the value at 0.5 is given and the caller marks its answer `extrapolated`.
 * @param z charge
 * @param ionicStrengthMolPerL 0 or more
 * @throws RangeError for a negative ionic strength
 * @example log10Activity(1, 0.1) // -0.1069
 */
export function log10Activity(z: number, ionicStrengthMolPerL: number): number {
  const I = Math.min(expectNotNegative('ionic strength', ionicStrengthMolPerL, 'mol/L'), DAVIES_LIMIT_MOL_PER_L);
  const root = Math.sqrt(I);
  return -A * z * z * (root / (1 + root) - 0.3 * I);
}
