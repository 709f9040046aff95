import { type Check, LABEL } from '@/lib/spray/check';
import { quantity } from '@/lib/units/quantity';
import type { PlanProduct } from './plan-product';

/** What is known of a spray's air, and of what came after it. Left out: not known, or still to come. */
export interface WhatCame {
  readonly airTempC: number | null;
  /**
   * Hours from the end of the spray to the first water of 0.25 mm (0.01 in, what a gauge shows) or more; null where
   * none came in the hours known.
   */
  readonly hoursToWater?: number | null;
  /** Whether hours of weather or waterings are known for as long as the label asks. */
  readonly waterKnownHours?: number;
  /** Days from the spray to the first mowing; null where none is written down. */
  readonly daysToMowing?: number | null;
}

const about = { subject: '', value: null, limit: null, unit: '', source: LABEL } as const;
const hours = (count: number): string => (count === 1 ? 'an hour' : `${count} hours`);
const days = (count: number): string => (count === 1 ? 'a day' : `${count} days`);

/**
 * What labels ask of temperature, rain, watering, mowing and people. Before a spray each is said, since it has to be
 * kept; after it, what came is held against it, and what isn't known is passed over.
 */
export function labelConditions(
  products: readonly Pick<PlanProduct, 'name' | 'conditions'>[],
  came: WhatCame,
): readonly Check[] {
  const after = came.daysToMowing !== undefined || came.hoursToWater !== undefined;
  return products.flatMap(({ name, conditions }): Check[] => {
    if (!conditions) return [];
    return [
      ...temperature(name, conditions, came.airTempC),
      ...(after ? whatCame(name, conditions, came) : toBeKept(name, conditions)),
    ];
  });
}

type Conditions = NonNullable<PlanProduct['conditions']>;

function temperature(name: string, { lowestTempC, highestTempC }: Conditions, airTempC: number | null): Check[] {
  if (airTempC === null || (lowestTempC === null && highestTempC === null)) return [];
  const [low, high] = [
    lowestTempC !== null && airTempC < lowestTempC - 1e-9,
    highestTempC !== null && airTempC > highestTempC + 1e-9,
  ];
  const limit = low || highestTempC === null ? lowestTempC : highestTempC;
  const range = [
    lowestTempC !== null && `not below ${quantity('temperature', lowestTempC)}`,
    highestTempC !== null && `not above ${quantity('temperature', highestTempC)}`,
  ]
    .filter(Boolean)
    .join(' and ');
  return [
    {
      ...about,
      code: 'label-temperature',
      level: low || high ? 'over-label' : 'clear',
      subject: name,
      value: airTempC,
      limit,
      unit: '°C',
      sentence: `${name}: ${quantity('temperature', airTempC)}; the label says ${range}.`,
      fix: low || high ? 'Wait for a day or an hour that fits.' : '',
    },
  ];
}

/** What a plan has to be told to keep. */
function toBeKept(name: string, { rainfastHours, reEntryHours, watering, mowingWaitDays }: Conditions): Check[] {
  const note = (code: Check['code'], limit: number | null, unit: string, sentence: string): Check => ({
    ...about,
    code,
    level: 'note',
    subject: name,
    limit,
    unit,
    sentence: `${name}: ${sentence}`,
    fix: '',
  });
  return [
    ...(rainfastHours
      ? [
          note(
            'label-rainfast',
            rainfastHours,
            'h',
            `no rain and no watering for ${hours(rainfastHours)} after the spray.`,
          ),
        ]
      : []),
    ...(watering === 'water-in'
      ? [note('label-watering', null, '', 'the label wants it watered in.')]
      : watering === 'keep-dry'
        ? [note('label-watering', null, '', 'the label wants it left on the leaf: don’t water it in.')]
        : []),
    ...(reEntryHours
      ? [
          note(
            're-entry',
            reEntryHours,
            'h',
            `people and pets stay off for ${hours(reEntryHours)}, and until it is dry.`,
          ),
        ]
      : []),
    ...(mowingWaitDays
      ? [note('label-mowing', mowingWaitDays, 'days', `no mowing for ${days(mowingWaitDays)} after.`)]
      : []),
  ];
}

/** What came after a spray, against its labels. */
function whatCame(
  name: string,
  { rainfastHours, watering, mowingWaitDays }: Conditions,
  { hoursToWater = null, waterKnownHours = 0, daysToMowing = null }: WhatCame,
): Check[] {
  const checks: Check[] = [];
  const wet =
    (rainfastHours !== null && hoursToWater !== null && hoursToWater < rainfastHours) ||
    (watering === 'keep-dry' && rainfastHours === null && hoursToWater !== null && hoursToWater < KEEP_DRY_HOURS);
  if (wet && hoursToWater !== null) {
    const asked = rainfastHours ?? KEEP_DRY_HOURS;
    checks.push({
      ...about,
      code: 'label-rainfast',
      level: 'caution',
      subject: name,
      value: hoursToWater,
      limit: asked,
      unit: 'h',
      source:
        rainfastHours === null
          ? 'the label says not to water it in; that a day counts is common practice, no source'
          : LABEL,
      sentence: `${name}: water came ${hoursToWater < 1 ? 'within the hour' : `after ${hours(Math.round(hoursToWater))}`}; the label wants it dry for ${hours(asked)}. Part of it may be washed off.`,
      fix: 'Judge it with care, and keep to the label’s interval before coming again.',
    });
  }
  if (watering === 'water-in' && hoursToWater === null && waterKnownHours >= WATER_IN_HOURS) {
    checks.push({
      ...about,
      code: 'label-watering',
      level: 'caution',
      subject: name,
      sentence: `${name}: no water in the ${WATER_IN_HOURS} hours after; the label wants it watered in.`,
      fix: 'Water it in as the label says.',
    });
  }
  if (mowingWaitDays !== null && daysToMowing !== null && daysToMowing < mowingWaitDays) {
    checks.push({
      ...about,
      code: 'label-mowing',
      level: 'over-label',
      subject: name,
      value: daysToMowing,
      limit: mowingWaitDays,
      unit: 'days',
      sentence: `${name}: mown ${daysToMowing < 1 ? 'the same day' : `${days(Math.round(daysToMowing))} after`}; the label asks for ${days(mowingWaitDays)}.`,
      fix: 'Leave more days between spray and mowing.',
    });
  }
  return checks;
}

/** A label that says not to water it in, without a number: a day. Common practice, no source. */
const KEEP_DRY_HOURS = 24;
/** A label that wants it watered in, without a number: within a day. Common practice, no source. */
const WATER_IN_HOURS = 24;
