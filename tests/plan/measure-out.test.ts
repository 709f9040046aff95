import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { measuredOut } from '@/lib/plan/measure-out';

describe('amounts as a person measures them', () => {
  test('a dry product is weighed, and spooned only with a bulk density', () => {
    expect(measuredOut({ massKg: 0.2268, volumeL: null }, 'dry', 'us-customary')).toMatchObject({
      text: '8 oz by weight',
      other: '',
    });
    expect(measuredOut({ massKg: 0.2268, volumeL: 0.2366 }, 'dry', 'us-customary').other).toBe(
      '1 us-cup'.replace('us-', ''),
    );
  });
  test('below 2 oz a customary reader weighs in hundredths of an ounce', () => {
    expect(measuredOut({ massKg: 0.0151, volumeL: null }, 'dry', 'us-customary').text).toBe('0.53 oz by weight');
  });
  test('a liquid is measured by volume, its weight beside it where the density is known', () => {
    expect(measuredOut({ massKg: null, volumeL: 0.0443603 }, 'liquid', 'us-customary')).toMatchObject({
      text: '3 tbsp',
      other: '',
    });
    expect(measuredOut({ massKg: 0.158, volumeL: 0.1 }, 'liquid', 'metric')).toMatchObject({
      text: '100 mL',
      other: '158 g',
    });
  });
  test('what no scale can show is given as a measure of a solution: 148 mg is 7.4 mL of 20 g/L', () => {
    // 1 oz in 1 qt is 28.3495 g in 0.946353 L, 29.957 g/L: 148 mg is 4.94 mL, one teaspoon (4.92892 mL).
    expect(measuredOut({ massKg: 0.000148, volumeL: null }, 'dry', 'us-customary')).toMatchObject({
      text: '1 tsp of it dissolved',
      advice: 'Too little for a scale: dissolve 1 oz by weight in water to make 1 qt, and measure from that.',
    });
    expect(measuredOut({ massKg: 0.000148, volumeL: null }, 'dry', 'metric')).toMatchObject({
      text: '7.4 mL of it dissolved',
      exact: '148 mg',
    });
  });
  test('an amount above nothing never reads as nothing', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-7, max: 50, noNaN: true }),
        fc.constantFrom('metric' as const, 'us-customary' as const),
        fc.constantFrom('dry' as const, 'liquid' as const),
        (amount, system, form) => {
          const out = measuredOut(
            form === 'dry' ? { massKg: amount, volumeL: null } : { massKg: null, volumeL: amount },
            form,
            system,
          );
          expect(out.text).not.toMatch(/^0 /);
        },
      ),
      { seed: 3 },
    );
  });
});
