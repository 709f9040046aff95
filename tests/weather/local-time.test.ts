import { describe, expect, test } from 'vitest';
import type { WallTime } from '@/lib/weather/local-time';
import { isTimeZone, localDateKey, localDay, wallAsUtcMs, zoneClock } from '@/lib/weather/local-time';

const wall = (year: number, month: number, day: number, hour = 0, minute = 0): WallTime => ({
  year,
  month,
  day,
  hour,
  minute,
  second: 0,
});
const zones = [
  'America/New_York',
  'Europe/London',
  'Europe/Berlin',
  'Australia/Lord_Howe',
  'Asia/Kolkata',
  'America/Sao_Paulo',
  'Pacific/Apia',
  'UTC',
  'Africa/Casablanca',
];

describe('local time', () => {
  // United States rule since 2007: second Sunday of March and first Sunday of November, 02:00 (Energy Policy Act of
  // 2005).
  const newYork = zoneClock('America/New_York');
  test('the hour skipped in spring never is', () => {
    expect(newYork.instantOf(wall(2024, 3, 10, 2, 30))).toEqual({
      kind: 'never',
      gapMin: 60,
      gapEndUtcMs: Date.parse('2024-03-10T07:00Z'),
    });
    expect(newYork.instantOf(wall(2024, 3, 10, 1, 59))).toEqual({
      kind: 'once',
      utcMs: Date.parse('2024-03-10T06:59Z'),
    });
    expect(newYork.instantOf(wall(2024, 3, 10, 3, 0))).toEqual({
      kind: 'once',
      utcMs: Date.parse('2024-03-10T07:00Z'),
    });
  });
  test('the hour repeated in autumn is twice', () => {
    expect(newYork.instantOf(wall(2024, 11, 3, 1, 30))).toEqual({
      kind: 'twice',
      earlierUtcMs: Date.parse('2024-11-03T05:30Z'),
      laterUtcMs: Date.parse('2024-11-03T06:30Z'),
    });
    expect(newYork.instantOf(wall(2024, 11, 3, 2, 0)).kind).toBe('once');
    expect(newYork.instantOf(wall(2024, 11, 3, 0, 59)).kind).toBe('once');
  });
  test('Lord Howe shifts by half an hour', () => {
    expect(zoneClock('Australia/Lord_Howe').instantOf(wall(2024, 10, 6, 2, 15))).toMatchObject({
      kind: 'never',
      gapMin: 30,
    });
    expect(zoneClock('Australia/Lord_Howe').instantOf(wall(2024, 4, 7, 1, 45)).kind).toBe('twice');
  });
  test('Samoa has no 30 December 2011', () => {
    expect(zoneClock('Pacific/Apia').instantOf(wall(2011, 12, 30, 12)).kind).toBe('never');
    expect(zoneClock('Pacific/Apia').instantOf(wall(2011, 12, 31, 12)).kind).toBe('once');
  });
  test.each(zones)('every hour of 2011 and 2024 goes to the wall and back in %s', (zone) => {
    const clock = zoneClock(zone);
    const lost: string[] = [];
    for (const [from, to] of [
      [2011, 2012],
      [2024, 2025],
    ] as const) {
      for (let at = Date.UTC(from, 0, 1); at < Date.UTC(to, 0, 1); at += 3_600_000) {
        const found = clock.instantOf(clock.wallAt(at));
        const instants =
          found.kind === 'once' ? [found.utcMs] : found.kind === 'twice' ? [found.earlierUtcMs, found.laterUtcMs] : [];
        if (!instants.includes(at)) lost.push(new Date(at).toISOString());
      }
    }
    expect(lost).toEqual([]);
  });
  test.each(zones)('days follow each other without a gap or overlap and hold every hour of a year in %s', (zone) => {
    const clock = zoneClock(zone);
    let hours = 0;
    let end = localDay(clock, { year: 2023, month: 12, day: 31 }).endUtcMs;
    for (let i = 0; i < 366; i += 1) {
      const at = new Date(Date.UTC(2024, 0, 1 + i));
      const day = localDay(clock, { year: at.getUTCFullYear(), month: at.getUTCMonth() + 1, day: at.getUTCDate() });
      expect(day.startUtcMs).toBe(end);
      end = day.endUtcMs;
      hours += day.hours;
    }
    expect(hours).toBe(366 * 24);
  });
  test('the day the clocks change has 23 or 25 hours, and the wall date holds to the last minute', () => {
    expect(localDay(newYork, { year: 2024, month: 3, day: 10 }).hours).toBe(23);
    expect(localDay(newYork, { year: 2024, month: 11, day: 3 }).hours).toBe(25);
    expect(localDateKey(newYork, Date.parse('2024-11-04T04:59Z'))).toBe('2024-11-03');
    expect(localDateKey(newYork, Date.parse('2024-11-04T05:00Z'))).toBe('2024-11-04');
  });
  test('a date that is not in the calendar and a zone nobody knows are refused', () => {
    expect(() => wallAsUtcMs(wall(2023, 2, 29))).toThrow('day: expected a whole number from 1 to 28, got 29');
    expect(isTimeZone('Mars/Olympus')).toBe(false);
    expect(() => zoneClock('Mars/Olympus')).toThrow(RangeError);
  });
});
