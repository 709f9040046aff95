import { expectNotNegative, expectWhole } from '@/lib/expect';

/**
 * The highest wind of Beaufort 0 to 11 at 10 m, m/s to one decimal; above the last is 12. World Meteorological
 * Organization scale.
 */
const BEAUFORT_UPPER_M_PER_S = [0.2, 1.5, 3.3, 5.4, 7.9, 10.7, 13.8, 17.1, 20.7, 24.4, 28.4, 32.6] as const;

/**
 * Beaufort number, 0 to 12, of a wind at 10 m. Winds are rounded to the table's 0.1 m/s first.
 * @throws RangeError on a negative wind
 * @example beaufort(3.0) // 2
 */
export function beaufort(windMPerS: number): number {
  const rounded = Math.round(expectNotNegative('windMPerS', windMPerS, 'm/s') * 10) / 10;
  const force = BEAUFORT_UPPER_M_PER_S.findIndex((upper) => rounded <= upper);
  return force === -1 ? 12 : force;
}

/**
 * The wind, m/s, that stands for a Beaufort number: v = 0.836 B^1.5.
 * @throws RangeError unless a whole number from 0 to 12
 * @see World Meteorological Organization equivalent scale (formula from memory)
 * @example beaufortWindMPerS(3) // 4.34
 */
export function beaufortWindMPerS(force: number): number {
  return 0.836 * expectWhole('force', force, 0, 12) ** 1.5;
}
