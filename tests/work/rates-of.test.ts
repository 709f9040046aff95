import { expect, test } from 'vitest';
import type { Trial } from '@/lib/diary/trials';
import { ratesOf } from '@/lib/work/trials/treatment-rates';

const treatment = (name: string, rate: number | null) => ({
  id: name,
  name,
  isCheck: rate === null,
  onSubplots: false,
  carrierLPerHa: 600,
  items:
    rate === null
      ? []
      : [{ productId: 'iron', rateEnteredValue: rate, rateEnteredUnit: 'g/100m2', product: { name: 'Iron salt' } }],
});
const trial = {
  treatments: [treatment('None', null), treatment('Lean', 48.8243), treatment('Full', 97.6486)],
} as unknown as Pick<Trial, 'treatments'>;

test('rates typed in grams per 100 m² are a US reader’s pounds per 1000 ft², all in one unit: 48.8243 g on 100 m² is 0.1 lb on 1000 ft²', () => {
  // 0.45359237 kg (NIST Handbook 44, appendix C) on 92.90304 m²: 488.243 g on 100 m² is 1 lb on 1000 ft².
  const rates = ratesOf(trial, 'us-customary')!;
  expect(rates.unit).toBe('lb/1000 ft² of Iron salt');
  expect(rates.of['None']).toBe(0);
  expect(rates.of['Lean']).toBeCloseTo(0.1, 6);
  expect(rates.of['Full']).toBeCloseTo(0.2, 6);
});

test('a metric reader has them as typed', () => {
  expect(ratesOf(trial, 'metric')).toEqual({
    unit: 'g/100 m² of Iron salt',
    of: { None: 0, Lean: 48.8243, Full: 97.6486 },
  });
});
