import { expect, test } from 'vitest';
import { seasonOf } from '@/lib/plan/season';

const iso = (ms: number) => new Date(ms).toISOString();

test('north of the equator the season is the calendar year by the lawn’s clock', () => {
  const season = seasonOf(Date.UTC(2026, 0, 1, 3), 'America/Denver', 40); // still 31 December 2025, 20:00, in Denver
  expect([season.year, season.beginsIn, iso(season.fromMs), iso(season.toMs)]).toEqual([
    2025,
    'January',
    '2025-01-01T07:00:00.000Z',
    '2026-01-01T07:00:00.000Z',
  ]);
});

test('south of it the season runs from July to June, so that no summer is cut in two', () => {
  const season = seasonOf(Date.UTC(2026, 0, 15), 'Australia/Sydney', -34);
  expect([season.year, season.beginsIn, iso(season.fromMs), iso(season.toMs)]).toEqual([
    2025,
    'July',
    '2025-06-30T14:00:00.000Z',
    '2026-06-30T14:00:00.000Z',
  ]);
});

test('where the lawn lies isn’t known, the calendar year counts', () => {
  expect(seasonOf(Date.UTC(2026, 7, 1), 'UTC', null)).toMatchObject({ year: 2026, beginsIn: 'January' });
});
