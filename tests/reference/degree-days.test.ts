/**
 * Iowa State University, Agronomy 541 (86/50 method); the Celsius case as printed on a public page ("17/9 °C, base 6 →
 * 7"); the two conventions' disagreement recomputed by hand.
 */
import { expect, test } from 'vitest';
import { sumDegreeDays } from '@/lib/weather/degree-days';

interface Day {
  readonly max: number;
  readonly min: number;
  readonly base: number;
}
const byMean = ({ base, ...day }: Day): number => sumDegreeDays([day], 'mean-first', { base }).degreeDays;
const byLimits = ({ base, ...day }: Day, upper: number): number =>
  sumDegreeDays([day], 'limits-first', { base, upper }).degreeDays;

test('70/50 °F, base 50: 10 degree days by both conventions', () => {
  expect(byMean({ max: 70, min: 50, base: 50 })).toBe(10);
  expect(byLimits({ max: 70, min: 50, base: 50 }, 86)).toBe(10);
});
test('the most a day can give with 86/50 is 36', () => {
  expect(byLimits({ max: 100, min: 90, base: 50 }, 86)).toBe(36);
});
test('17/9 °C: base 6 gives 7, base 0 gives 13, base 10 gives 3 by the mean (a page prints "13 to zero" loosely)', () => {
  expect([6, 0, 10].map((base) => byMean({ max: 17, min: 9, base }))).toEqual([7, 13, 3]);
});
test('85/60 °F, base 50: 22.5', () => expect(byMean({ max: 85, min: 60, base: 50 })).toBe(22.5));
test('68/42 °F, base 50: 5 by the mean, 9 with the minimum raised to the base', () => {
  expect(byMean({ max: 68, min: 42, base: 50 })).toBe(5);
  expect(byLimits({ max: 68, min: 42, base: 50 }, 86)).toBe(9);
});
test('a web table that prints 61/39 → 0 and 70/46 → 8 uses the mean', () => {
  expect(byMean({ max: 61, min: 39, base: 50 })).toBe(0);
  expect(byMean({ max: 70, min: 46, base: 50 })).toBe(8);
});
test('a day without its minimum adds nothing and is counted as missing', () => {
  const days = [
    { max: 70, min: 50 },
    { max: 80, min: null },
  ];
  expect(sumDegreeDays(days, 'mean-first', { base: 50 })).toEqual({ degreeDays: 10, daysCounted: 1, daysMissing: 1 });
});
test('a minimum above the maximum is refused', () =>
  expect(() => byMean({ max: 10, min: 11, base: 0 })).toThrow(RangeError));
