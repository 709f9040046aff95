import { describe, expect, test } from 'vitest';
import {
  dateText,
  dayText,
  hourText,
  momentText,
  monthText,
  shortDayText,
  timeText,
  weekBegins,
  weekdayYearText,
} from '@/lib/units/dates';

const us = { unitSystem: 'us-customary', timeZone: 'America/New_York' } as const;
const metric = { unitSystem: 'metric', timeZone: 'Europe/Rome' } as const;
// 1 May 2026 was a Friday; New York is four hours behind UTC in summer, Rome two ahead.
const evening = new Date('2026-05-01T23:30:00Z');

describe('a reader of US units', () => {
  test('reads the month before the day, and the clock in twelve hours', () => {
    expect(dayText(evening, us)).toBe('May 1, 2026');
    expect(shortDayText(evening, us)).toBe('May 1');
    expect(timeText(evening, us)).toBe('7:30 PM');
    expect(momentText(evening, us)).toBe('Fri, May 1, 2026, 7:30 PM');
    expect(weekdayYearText(evening, us)).toBe('Fri 2026');
    expect(dateText('2026-05-01', us)).toBe('May 1, 2026');
  });

  test('midnight is 12 AM and noon 12 PM; a full hour is short in a cell', () => {
    expect(timeText(new Date('2026-05-01T04:00:00Z'), us)).toBe('12:00 AM');
    expect(hourText(new Date('2026-05-01T16:00:00Z'), us)).toBe('12 PM');
  });

  test('has weeks from Sunday', () => expect(weekBegins(us)).toBe(0));
});

describe('a metric reader', () => {
  test('reads the day before the month, and the clock in twenty-four hours', () => {
    expect(dayText(evening, metric)).toBe('2 May 2026');
    expect(shortDayText(evening, metric)).toBe('2 May');
    expect(timeText(evening, metric)).toBe('01:30');
    expect(momentText(evening, metric)).toBe('Sat 2 May 2026, 01:30');
    expect(dateText('2026-05-01', metric)).toBe('1 May 2026');
    expect(hourText(new Date('2026-05-01T22:00:00Z'), metric)).toBe('00');
    expect(monthText('2026-05')).toBe('May 2026');
  });

  test('has weeks from Monday', () => expect(weekBegins(metric)).toBe(1));
});
