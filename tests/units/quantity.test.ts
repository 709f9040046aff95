import { describe, expect, test } from 'vitest';
import { allAsRead, asRead, quantity } from '@/lib/units/quantity';

describe('a sentence with quantities', () => {
  test('is read in the reader’s units', () => {
    // 86 °F is 30 °C; 1 lb/1000 ft² is 48.82 kg/ha; 1 gal/1000 ft² is 407.46 L/ha (exact by definition of the units,
    // NIST Handbook 44).
    const sentence = `up to ${quantity('temperature', 30)}, ${quantity('nutrientRate', 48.8243)} of N in ${quantity('liquidRate', 407.4584)}`;
    expect(asRead(sentence, 'us-customary')).toBe('up to 86 °F, 1 lb/1000 ft² of N in 1 gal/1000 ft²');
    expect(asRead(sentence, 'metric')).toBe('up to 30 °C, 48.8 kg/ha of N in 4.07 L/100 m²');
  });

  test('a strength is ounces of weight in a gallon, 1 oz/gal being 7.489 g/L, and alkalinity ppm', () => {
    expect(asRead(quantity('strength', 7.48915), 'us-customary')).toBe('1 oz/gal');
    expect(asRead(quantity('strength', 7.48915), 'metric')).toBe('7.49 g/L');
    expect(asRead(quantity('alkalinity', 180), 'us-customary')).toBe('180 ppm as CaCO₃');
    expect(asRead(quantity('alkalinity', 180), 'metric')).toBe('180 mg/L as CaCO₃');
  });

  test('small and negative numbers survive the sentence', () => {
    expect(asRead(quantity('temperature', -0.05), 'metric')).toBe('-0.1 °C');
    expect(asRead(quantity('strength', 2.5e-9), 'metric')).toBe('0.0000025 mg/L');
  });

  test('words in brackets that are no quantity stay', () => {
    expect(asRead('a product named ⟦iron 6⟧', 'metric')).toBe('a product named ⟦iron 6⟧');
  });

  test('a whole answer is read, dates and numbers untouched', () => {
    const at = new Date(0);
    expect(allAsRead({ at, n: 3, list: [{ text: quantity('water', 25.4) }] }, 'us-customary')).toEqual({
      at,
      n: 3,
      list: [{ text: '1.00 in' }],
    });
  });
});
