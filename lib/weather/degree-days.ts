import { expectFinite, expectInRange } from '@/lib/expect';

export interface DayExtremes {
  /** Highest and lowest temperature of the day, and the base, all in one unit: °C gives °C-days, °F gives °F-days. */
  readonly max: number;
  readonly min: number;
  readonly base: number;
}

/**
 * The two conventions in use, which differ on days whose minimum lies below the base:
 * `mean-first` takes the mean of maximum and minimum, then subtracts the base;
 * `limits-first` first raises the minimum (and maximum) to the base and lowers both to the upper limit.
 */
export type DegreeDayConvention = 'mean-first' | 'limits-first';

function checked({ max, min, base }: DayExtremes): void {
  expectFinite('base', base);
  expectInRange('max', max, -100, 200, 'degrees');
  expectInRange('min', min, -100, max, 'degrees (not above the maximum)');
}

/**
 * Growing degree days of one day by the mean: max(0, (max + min)/2 − base).
 * @throws RangeError when the minimum lies above the maximum
 * @example degreeDaysMeanFirst({ max: 68, min: 42, base: 50 }) // 5
 */
function degreeDaysMeanFirst(day: DayExtremes): number {
  checked(day);
  return Math.max(0, (day.max + day.min) / 2 - day.base);
}

/**
 * Growing degree days of one day with the limits put in first: minimum not below the base, maximum not above the upper
 * limit.
 * @param upper upper limit in the unit of the day, or null for none (86 °F with base 50 °F for maize)
 * @throws RangeError when the minimum lies above the maximum, or the upper limit below the base
 * @see Iowa State University, Agronomy 541 (86/50 method)
 * @example degreeDaysLimitsFirst({ max: 68, min: 42, base: 50 }, 86) // 9
 */
function degreeDaysLimitsFirst(day: DayExtremes, upper: number | null = null): number {
  checked(day);
  if (upper !== null) expectInRange('upper', upper, day.base, 200, 'degrees (not below the base)');
  const within = (value: number): number => Math.min(Math.max(value, day.base), upper ?? Number.POSITIVE_INFINITY);
  return (within(day.max) + within(day.min)) / 2 - day.base;
}

/**
 * Degree days added up over days; days without both extremes add nothing and are counted, so a gap is seen.
 * @throws RangeError as the convention does
 */
export function sumDegreeDays(
  days: readonly { readonly max: number | null; readonly min: number | null }[],
  convention: DegreeDayConvention,
  limits: { readonly base: number; readonly upper?: number | null },
): { degreeDays: number; daysCounted: number; daysMissing: number } {
  let degreeDays = 0;
  let daysCounted = 0;
  for (const { max, min } of days) {
    if (max === null || min === null) continue;
    const day = { max, min, base: limits.base };
    degreeDays +=
      convention === 'mean-first' ? degreeDaysMeanFirst(day) : degreeDaysLimitsFirst(day, limits.upper ?? null);
    daysCounted += 1;
  }
  return { degreeDays, daysCounted, daysMissing: days.length - daysCounted };
}
