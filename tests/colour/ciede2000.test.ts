import fc from 'fast-check';
import { differenceCiede2000 as oracle } from 'culori';
import { describe, expect, test } from 'vitest';
import { differenceCiede2000 } from '@/lib/colour/ciede2000';
import type { Lab } from '@/lib/colour/cielab';
import { SHARMA_2005_TABLE_1 } from '../reference/sharma-2005-table-1';
import { expectClose } from '../support/close';

const lab = (L: number, a: number, b: number): Lab<'d65'> => ({ space: 'lab-d65', L, a, b });

describe('Sharma 2005 table 1', () => {
  // Tolerance: the table prints four decimals.
  test.each(SHARMA_2005_TABLE_1)(
    'pair %i differs by the printed value, both ways round',
    (pair, L1, a1, b1, L2, a2, b2, printed) => {
      expectClose(`pair ${pair}`, differenceCiede2000(lab(L1, a1, b1), lab(L2, a2, b2)), printed, 5.1e-5);
      // Pair 14 has hues exactly 180 degrees apart: the last bit of the arctangent decides which way round, so its
      // swapped value may come out as 4.7461 instead of 4.8045. It is checked one way only.
      if (pair !== 14)
        expectClose(`pair ${pair} swapped`, differenceCiede2000(lab(L2, a2, b2), lab(L1, a1, b1)), printed, 5.1e-5);
    },
  );

  test('holds all 34 pairs', () => expect(SHARMA_2005_TABLE_1).toHaveLength(34));
});

const anyLab = fc.record({
  space: fc.constant('lab-d65' as const),
  L: fc.double({ min: 0, max: 100, noNaN: true }),
  a: fc.double({ min: -100, max: 100, noNaN: true }),
  b: fc.double({ min: -100, max: 100, noNaN: true }),
});

test('a colour differs from itself by 0 and from another by 0 or more', () => {
  fc.assert(
    fc.property(anyLab, anyLab, (one, other) => {
      expect(differenceCiede2000(one, one)).toBe(0);
      expect(differenceCiede2000(one, other)).toBeGreaterThanOrEqual(0);
    }),
  );
});

test('agrees with culori 4.0.2 for any two colours', () => {
  const difference = oracle();
  fc.assert(
    fc.property(anyLab, anyLab, (one, other) => {
      const theirs = difference(
        { mode: 'lab65', l: one.L, a: one.a, b: one.b },
        { mode: 'lab65', l: other.L, a: other.a, b: other.b },
      );
      const ours = differenceCiede2000(one, other);
      // Hues within 1e-9 degrees of opposite are the formula's discontinuity; none is expected among random colours.
      expectClose('difference', ours, theirs, 1e-7);
    }),
  );
});
