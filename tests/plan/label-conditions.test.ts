import { describe, expect, test } from 'vitest';
import { labelConditions, type WhatCame } from '@/lib/plan/label-conditions';
import type { LabelConditions } from '@/lib/plan/plan-product';
import { asRead } from '@/lib/units/quantity';

const nothing: LabelConditions = {
  lowestTempC: null,
  highestTempC: null,
  rainfastHours: null,
  reEntryHours: null,
  watering: null,
  mowingWaitDays: null,
};
const of = (conditions: Partial<LabelConditions>, came: Partial<WhatCame>) =>
  labelConditions([{ name: 'Iron', conditions: { ...nothing, ...conditions } }], { airTempC: null, ...came });
const codes = (conditions: Partial<LabelConditions>, came: Partial<WhatCame>) =>
  of(conditions, came).map((check) => `${check.code} ${check.level}`);
const done = { hoursToWater: null, waterKnownHours: 168, daysToMowing: null };

describe('before a spray', () => {
  test('the air is held against the label’s lowest and highest, both ends allowed', () => {
    const range = { lowestTempC: 10, highestTempC: 30 };
    expect(codes(range, { airTempC: 9.9 })).toEqual(['label-temperature over-label']);
    expect(codes(range, { airTempC: 10 })).toEqual(['label-temperature clear']);
    expect(codes(range, { airTempC: 30 })).toEqual(['label-temperature clear']);
    expect(codes(range, { airTempC: 30.1 })).toEqual(['label-temperature over-label']);
    expect(codes(range, { airTempC: null })).toEqual([]);
    // 86 °F is 30 °C.
    expect(asRead(of(range, { airTempC: 32 })[0]!.sentence, 'us-customary')).toBe(
      'Iron: 89.6 °F; the label says not below 50 °F and not above 86 °F.',
    );
  });

  test('what has to be kept after is said as a note, and a label that says nothing is silent', () => {
    expect(codes({ rainfastHours: 4, reEntryHours: 12, watering: 'keep-dry', mowingWaitDays: 1 }, {})).toEqual([
      'label-rainfast note',
      'label-watering note',
      're-entry note',
      'label-mowing note',
    ]);
    expect(codes({}, {})).toEqual([]);
  });
});

describe('after a spray', () => {
  test('water sooner than the label’s hours is a caution; later, or none, is nothing', () => {
    expect(codes({ rainfastHours: 4 }, { ...done, hoursToWater: 3.9 })).toEqual(['label-rainfast caution']);
    expect(codes({ rainfastHours: 4 }, { ...done, hoursToWater: 4 })).toEqual([]);
    expect(codes({ rainfastHours: 4 }, done)).toEqual([]);
  });

  test('a product to be watered in that got no water in a day of known weather is a caution; unknown weather says nothing', () => {
    expect(codes({ watering: 'water-in' }, done)).toEqual(['label-watering caution']);
    expect(codes({ watering: 'water-in' }, { ...done, hoursToWater: 20 })).toEqual([]);
    expect(codes({ watering: 'water-in' }, { ...done, waterKnownHours: 3 })).toEqual([]);
  });

  test('mown before the label’s days is past the label', () => {
    expect(codes({ mowingWaitDays: 2 }, { ...done, daysToMowing: 1.5 })).toEqual(['label-mowing over-label']);
    expect(codes({ mowingWaitDays: 2 }, { ...done, daysToMowing: 2 })).toEqual([]);
  });
});
