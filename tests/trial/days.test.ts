import { describe, expect, test } from 'vitest';
import { calendarFile } from '@/lib/trial/calendar-file';
import { addDays, daysBetween, whatIsDue } from '@/lib/trial/due';
import { dataDictionaryCsv, longCsv } from '@/lib/trial/long-csv';

describe('what is due', () => {
  const input = { firstSprayOn: '2024-02-27', photoDays: [0, 3, 7], ratingDays: [7], plots: ['101', '102'], done: [] };
  test('counts days over the leap day', () => {
    expect(daysBetween('2024-02-27', '2024-03-01')).toBe(3);
    expect(addDays('2024-02-27', 3)).toBe('2024-03-01');
    expect(() => daysBetween('2024-02-30', '2024-03-01')).toThrow("date: expected yyyy-mm-dd, got '2024-02-30'");
  });
  test('tells due, late, missed and later', () => {
    const state = (today: string) =>
      whatIsDue(input, today)
        .filter((one) => one.kind === 'photo')
        .map((one) => one.state);
    expect(state('2024-03-01')).toEqual(['missed', 'due', 'later']);
    expect(state('2024-03-02')).toEqual(['missed', 'late', 'later']);
    expect(state('2024-03-03')).toEqual(['missed', 'missed', 'later']);
  });
  test('names the plots still missing, and counts a photo a day late', () => {
    const done = [{ kind: 'photo' as const, on: '2024-03-02', plot: '101' }];
    const third = whatIsDue({ ...input, done }, '2024-03-02').find(
      (one) => one.kind === 'photo' && one.dayOfTrial === 3,
    )!;
    expect(third.missingPlots).toEqual(['102']);
    const both = [...done, { kind: 'photo' as const, on: '2024-03-01', plot: '102' }];
    expect(
      whatIsDue({ ...input, done: both }, '2024-03-09').find((one) => one.kind === 'photo' && one.dayOfTrial === 3)!
        .state,
    ).toBe('done');
  });
});

describe('calendar file (RFC 5545)', () => {
  const long = 'Photos of all strips; from the left corner, low sun: größer, ä \\ and 🌱 — '.repeat(3);
  const text = calendarFile(
    'Iron, two rates',
    [{ uid: 'trial-7-day-3@swathbook', on: '2024-12-31', title: long, text: 'line one\nline two' }],
    '2024-05-01T06:07:08Z',
  );
  test('ends every line with CRLF and has none longer than 75 octets (3.1)', () => {
    expect(text.endsWith('END:VCALENDAR\r\n')).toBe(true);
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
    for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
  });
  test('unfolds to the escaped text, no character split (3.1, 3.3.11)', () => {
    const unfolded = text.replaceAll('\r\n ', '');
    expect(unfolded).toContain(
      `SUMMARY:${long.replaceAll('\\', '\\\\').replaceAll(';', '\\;').replaceAll(',', '\\,')}\r\n`,
    );
    expect(unfolded).toContain('DESCRIPTION:line one\\nline two\r\n');
    expect(text).not.toContain('\uFFFD');
  });
  test('has an all-day event over the turn of the year, with the uid and stamp given', () => {
    expect(text).toContain('DTSTART;VALUE=DATE:20241231\r\nDTEND;VALUE=DATE:20250101\r\n');
    expect(text).toContain('UID:trial-7-day-3@swathbook\r\nDTSTAMP:20240501T060708Z\r\n');
  });
  test('opens and closes every component in order', () => {
    const open: string[] = [];
    const wrong: string[] = [];
    for (const line of text.split('\r\n')) {
      if (line.startsWith('BEGIN:')) open.push(line.slice(6));
      if (line.startsWith('END:') && open.pop() !== line.slice(4)) wrong.push(line);
    }
    expect([open, wrong]).toEqual([[], []]);
  });
  test('refuses the same uid twice', () => {
    const day = { uid: 'x', on: '2024-05-01', title: 't' };
    expect(() => calendarFile('n', [day, day], '2024-05-01T00:00:00Z')).toThrow(
      "uid: expected each once, got 'x' twice",
    );
  });
});

describe('long CSV', () => {
  const row = {
    trial: 'Iron, "two" rates',
    on: '2024-05-04',
    dayOfTrial: 3,
    block: '1',
    plot: '101',
    treatment: '=SUM(A1)',
    subTreatment: null,
    measure: 'DGCI',
    value: 0.5123,
    low95: null,
    high95: null,
    unit: '1',
    photo: null,
    methodVersion: 'g1',
    excludedBecause: null,
  };
  test('quotes by RFC 4180 and defuses formulas', () => {
    const [, line] = longCsv([row]).split('\r\n');
    expect(line).toBe(`"Iron, ""two"" rates",2024-05-04,3,1,101,'=SUM(A1),,DGCI,0.5123,,,1,,g1,`);
  });
  test('has every heading in the data dictionary, in order', () => {
    const headings = longCsv([]).trim().split(',');
    expect(
      dataDictionaryCsv()
        .trim()
        .split('\r\n')
        .slice(1)
        .map((line) => line.split(',')[0]),
    ).toEqual(headings);
  });
});
