import fc from 'fast-check';
import { expect, test } from 'vitest';
import { patchesOf } from '@/lib/photo/marks/same-patch';
import { plainPatches } from '../support/plain-patches';

const DAY_MS = 86_400_000;
const place = fc.option(
  fc.record({
    across: fc.integer({ min: 0, max: 10 }).map((n) => n / 10),
    along: fc.integer({ min: 0, max: 20 }).map((n) => n / 20),
  }),
  { nil: null, freq: 8 },
);
const names = fc.integer({ min: 0, max: 30 }).map((n) => `m${n}`);
const mark = fc.record({
  photo: fc.integer({ min: 0, max: 15 }),
  day: fc.integer({ min: 0, max: 400 }),
  place,
  name: names,
});
const known = fc.record({
  id: names,
  place,
  from: fc.integer({ min: 0, max: 400 }),
  days: fc.integer({ min: 0, max: 60 }),
});

test('marks fall into the patches that looking at every patch for every mark gives', () => {
  fc.assert(
    fc.property(
      fc.array(mark, { maxLength: 31 }),
      fc.uniqueArray(known, { maxLength: 5, selector: (one) => one.id }),
      (drawn, judged) => {
        const marks = drawn.map(({ photo, day, ...one }, index) => ({
          ...one,
          id: `m${index}`,
          photoId: `p${photo}`,
          takenAtMs: day * DAY_MS,
        }));
        const patches = judged.map(({ from, days, ...one }) => ({
          ...one,
          fromMs: from * DAY_MS,
          toMs: (from + days) * DAY_MS,
        }));
        expect([...patchesOf(marks, patches)].toSorted()).toEqual([...plainPatches(marks, patches)].toSorted());
      },
    ),
    { numRuns: 400 },
  );
});
