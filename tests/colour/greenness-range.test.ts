import { expect, test } from 'vitest';
import { ANY_TURF, greennessRange } from '@/lib/colour/greenness-range';

test('a greenness map spans what its plots hold, with room about them, in steps of 0.05', () => {
  expect(greennessRange([0.46, 0.508, 0.545])).toEqual({ from: 0.4, to: 0.65 });
  expect(greennessRange([0.2])).toEqual({ from: 0.1, to: 0.3 });
});

test('a photo without a reading is mapped over any turf, and no range leaves 0 to 1', () => {
  expect(greennessRange([])).toEqual(ANY_TURF);
  expect(greennessRange([0.01, 0.99])).toEqual({ from: 0, to: 1 });
});
