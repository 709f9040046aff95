import { describe, expect, test } from 'vitest';
import { instantOfLocal, localOfInstant, offsetMinutesAt } from '@/lib/work/diary/lawn-time';
import { notYet, tooLong } from '@/lib/work/diary/not-yet';
import { spraysOfTrial } from '@/lib/work/trials/trial-sprays';

describe('a lawn’s clock', () => {
  test('is its zone’s, summer time with it: New York is 4 hours behind UTC in May and 5 in January (IANA time zones)', () => {
    expect(instantOfLocal('2026-05-01T07:30', 'America/New_York').toISOString()).toBe('2026-05-01T11:30:00.000Z');
    expect(offsetMinutesAt(new Date('2026-05-01T00:00Z'), 'America/New_York')).toBe(-240);
    expect(offsetMinutesAt(new Date('2026-01-01T00:00Z'), 'America/New_York')).toBe(-300);
    expect(localOfInstant(new Date('2026-05-01T11:30:00Z'), 'America/New_York')).toBe('2026-05-01T07:30');
  });
});

describe('a moment that is written down', () => {
  const now = new Date('2026-05-01T12:00Z');
  test('has been, with a quarter of an hour for clocks that differ', () => {
    expect(notYet('Start', '2026-05-01T12:14', new Date('2026-05-01T12:14Z'), now)).toBeNull();
    expect(notYet('Start', '2026-05-01T12:16', new Date('2026-05-01T12:16Z'), now)).toBe(
      'Start: expected a time that has been, got 2026-05-01 12:16, which is still to come',
    );
  });
  test('lies in a diary’s years', () => {
    expect(notYet('Start', '0206-05-01T12:00', new Date('0206-05-01T12:00Z'), now)).toBe(
      'Start: expected a time from 1950 on, got 0206-05-01 12:00',
    );
  });
  test('ends within a day', () => {
    expect(tooLong(now, new Date('2026-05-02T12:00Z'), '2026-05-02T12:00')).toBeNull();
    expect(tooLong(now, new Date('2026-05-02T12:01Z'), '2026-05-02T12:01')).toBe(
      'End: expected a time within a day of the start, got 2026-05-02 12:01',
    );
  });
});

test('a trial’s sprays are those on its plots from its first day by the lawn’s clock on, oldest first', () => {
  const spray = (at: string, ...plotIds: string[]) => ({ startedAt: new Date(at), plotIds });
  const own = [spray('2026-05-08T12:00Z', 'a', 'x'), spray('2026-05-01T04:30Z', 'b')];
  const others = [spray('2026-05-01T03:30Z', 'a'), spray('2026-05-09T12:00Z', 'x')];
  // 04:30 UTC is half past midnight in New York, 03:30 still the day before.
  expect(
    spraysOfTrial({ startsOn: '2026-05-01', plotIds: ['a', 'b'] }, [...own, ...others], 'America/New_York'),
  ).toEqual([own[1], own[0]]);
});
