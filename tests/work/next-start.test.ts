import { describe, expect, test } from 'vitest';
import { readPlanWish } from '@/lib/forms/queries/plan-query';
import { emptyHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { nextStart } from '@/lib/work/sprays/next-start';
import { planAddress } from '@/lib/work/sprays/plan-address';

const now = new Date('2026-06-10T12:00:00Z');
const wish = {
  sprayedAt: new Date('2026-06-08T18:30:00Z'),
  hoursLater: 0,
  notBefore: null,
  maxTempC: null,
  maxWindMPerS: null,
};
/** Hours from now on, 28 °C on the first two days and 22 °C from the 12th on, windy on the 13th. */
const hours = Array.from({ length: 24 * 6 }, (_, index) => {
  const at = now.getTime() + index * HOUR_MS;
  const day = new Date(at).toISOString().slice(0, 10);
  return { ...emptyHour(at), airTempC: day < '2026-06-12' ? 28 : 22, windMPerS: day === '2026-06-13' ? 6 : 1 };
});

describe('the start of a plan for next time', () => {
  test('is at the spray’s own time of day, today if that is still to come', () => {
    expect(nextStart(wish, 'UTC', [], now)).toBe('2026-06-10T18:30');
    expect(nextStart({ ...wish, sprayedAt: new Date('2026-06-08T07:00:00Z') }, 'UTC', [], now)).toBe(
      '2026-06-11T07:00',
    );
  });
  test('is later by the hours wished, by the lawn’s clock', () => {
    expect(nextStart({ ...wish, hoursLater: 1.5 }, 'UTC', [], now)).toBe('2026-06-10T20:00');
    expect(nextStart(wish, 'America/New_York', [], now)).toBe('2026-06-10T14:30');
  });
  test('waits: not before the interval is over', () => {
    expect(nextStart({ ...wish, notBefore: new Date('2026-06-12T20:00:00Z') }, 'UTC', [], now)).toBe(
      '2026-06-13T18:30',
    );
  });
  test('is on the first day known to be cool enough for a day, and calm enough at the hour', () => {
    expect(nextStart({ ...wish, maxTempC: 26 }, 'UTC', hours, now)).toBe('2026-06-12T18:30');
    expect(
      nextStart(
        { ...wish, maxTempC: 26, notBefore: new Date('2026-06-13T00:00:00Z'), maxWindMPerS: 4 },
        'UTC',
        hours,
        now,
      ),
    ).toBe('2026-06-14T18:30');
    // Nobody knows of such a day: the first is taken, and the plan's own checks say what is wrong with it.
    expect(nextStart({ ...wish, maxTempC: 10 }, 'UTC', hours, now)).toBe('2026-06-10T18:30');
  });
  test('goes through the address of a new plan', () => {
    const address = planAddress({ plotIds: ['cplotplotplot'], items: [], startedLocal: '2026-06-12T18:30' });
    const search = Object.fromEntries(new URL(address, 'http://here').searchParams);
    expect(readPlanWish(search)).toEqual({
      plotIds: ['cplotplotplot'],
      items: [],
      carrier: null,
      startedLocal: '2026-06-12T18:30',
    });
    expect(readPlanWish({ start: 'tomorrow' })).toBeNull();
  });
});
