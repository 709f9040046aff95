import fc from 'fast-check';
import { expect, test } from 'vitest';
import { fromM, toM } from '@/lib/units/length';
import { fieldDigits } from '@/lib/units/field-digits';

test('an elevation of 210 m stands as 689 ft in its field', () => {
  expect(fieldDigits(fromM(210, 'ft').value)).toBe(689);
});

test('what was typed with up to four digits comes back as typed from the unit it is kept in', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 9999 }), fc.integer({ min: -3, max: 2 }), (digits, power) => {
      const typed = Number(`${digits}e${power}`);
      expect(fieldDigits(fromM(toM({ value: typed, unit: 'ft' }), 'ft').value)).toBe(typed);
    }),
  );
});

test('no field is further than 0.02% from what is kept', () => {
  fc.assert(
    fc.property(fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (value) => {
      expect(Math.abs(fieldDigits(value) - value)).toBeLessThanOrEqual(2e-4 * value);
    }),
  );
});
