import { describe, expect, test } from 'vitest';
import { ArchiveName, readRange } from '@/lib/forms/archive-request';
import { readCardsQuery } from '@/lib/forms/cards-form';
import { readUndo } from '@/lib/forms/bin-form';
import { readCompareQuery } from '@/lib/forms/queries/compare-query';
import { readDiaryQuery } from '@/lib/forms/queries/diary-query';
import { readEventQuery } from '@/lib/forms/queries/event-query';
import { readCalendarQuery, readFindQuery } from '@/lib/forms/queries/find-query';
import { readPaper } from '@/lib/forms/queries/paper-query';
import { readPhotosQuery } from '@/lib/forms/queries/photos-query';
import { readResponseQuery } from '@/lib/forms/queries/response-query';
import { readSeasonQuery } from '@/lib/forms/queries/season-query';
import { readCalendarDay, readWeatherQuery, WeatherExportQuery } from '@/lib/forms/queries/weather-query';
import { WeatherUploadQuery } from '@/lib/forms/weather/weather-file';

const ID = 'cmabcdef0000000000000000a';

describe('an address nobody can read', () => {
  test('shows the page as if nothing had been asked', () => {
    expect(readDiaryQuery({ show: 'everything', plot: '../x', before: 'soon' })).toEqual({ show: 'all' });
    expect(readPhotosQuery({ viewpoint: 'A B', before: '' })).toEqual({});
    expect(readEventQuery({ kind: 'party', plot: '' })).toEqual({ kind: 'mowing', plotId: null });
    expect(readFindQuery({ in: 'attic', from: '2026-02-30', kind: 'stain', state: 'maybe', q: '  iron ' })).toEqual({
      q: 'iron',
      in: 'all',
      from: null,
      to: null,
      kind: null,
      state: null,
    });
    expect(readCardsQuery({ trial: 'no such', paper: 'a3' })).toEqual({});
    expect(readSeasonQuery({ from: 'spring' })).toEqual({ from: null, to: null });
    expect(readCalendarQuery({ month: '2026-13' })).toBeNull();
    expect(readWeatherQuery({ year: '1066', base: 'hot', leaf: '90', minutes: '-5' })).toMatchObject({
      year: null,
      base: 'warm',
      leafAreaM2PerM2: 1,
      workMinutes: 45,
    });
  });
  test('leaves what can be read beside it', () => {
    expect(readDiaryQuery({ show: 'photos', plot: 'x' })).toEqual({ show: 'photos' });
    expect(readCompareQuery({ viewpoint: ID, before: '!', after: ID })).toEqual({ viewpoint: ID, after: ID });
    expect(readCompareQuery({ before: ID })).toBeNull();
  });
});

describe('what an address may ask', () => {
  test('colour is held against days 3, 7 and 14, else 7', () => {
    expect(['3', '7', '14', '8', undefined].map((days) => readResponseQuery({ days }).days)).toEqual([3, 7, 14, 7, 7]);
  });
  test('cards are printed on Letter for US units and on A4 for metric ones, unless the address says', () => {
    expect(readPaper({}, 'us-customary')).toBe('letter');
    expect(readPaper({}, 'metric')).toBe('a4');
    expect(readPaper({ paper: 'a5' }, 'us-customary')).toBe('a5');
  });
  test('a carrier volume comes with its unit and is read in L/ha', () => {
    const asked = readWeatherQuery({ 'carrier.value': '2', 'carrier.unit': 'L/100m2' });
    expect(asked.carrierLPerHa).toBeCloseTo(200, 9);
    expect(readWeatherQuery({ 'carrier.value': '2', 'carrier.unit': 'buckets' }).carrier).toBeNull();
  });
  test('a day is a day of the calendar', () => {
    expect(readCalendarDay('2026-02-28')).toEqual({ year: 2026, month: 2, day: 28 });
    expect(readCalendarDay('2026-02-29')).toBeNull();
  });
  test('a year of weather to take away is a year', () => {
    expect(WeatherExportQuery.parse({ lawn: ID, year: '2026' }).year).toBe(2026);
    expect(WeatherExportQuery.safeParse({ lawn: ID, year: 'last' }).error?.issues[0]?.message).toBe(
      'year: expected a year such as 2026',
    );
  });
  test('an uploaded file keeps its name without what leads elsewhere', () => {
    expect(WeatherUploadQuery.parse({ lawn: ID, name: ' ../a\\b\n.csv ' }).name).toBe('.._a_b_.csv');
    expect(WeatherUploadQuery.safeParse({ lawn: ID, name: ' ' }).error?.issues[0]?.message).toBe(
      'name: expected the file’s name, got nothing',
    );
  });
});

describe('a kept archive is asked for', () => {
  test('by the name archives have, and nothing that leads out of their folder', () => {
    expect(ArchiveName.safeParse('swathbook-20260501T120000Z.zip').success).toBe(true);
    for (const name of ['../diary.db', 'swathbook-20260501T120000Z.zip/..', 'swathbook-1.zip'])
      expect(ArchiveName.safeParse(name).success).toBe(false);
  });
  test('in ranges as RFC 9110 14.1.2 has them: from, from-to and the last so many', () => {
    expect(readRange('bytes=0-499', 10_000)).toEqual({ from: 0, to: 499 });
    expect(readRange('bytes=9500-', 10_000)).toEqual({ from: 9500, to: 9999 });
    expect(readRange('bytes=-500', 10_000)).toEqual({ from: 9500, to: 9999 });
    expect(readRange('bytes=-20000', 10_000)).toEqual({ from: 0, to: 9999 });
    expect(readRange('bytes=0-20000', 10_000)).toEqual({ from: 0, to: 9999 });
    expect(readRange('bytes=10000-', 10_000)).toBe('outside');
    for (const whole of [null, 'bytes=-', 'bytes=5-2', 'bytes=0-1,5-6', 'lines=0-1'])
      expect(readRange(whole, 10_000)).toBeNull();
  });
});

test('what was binned last is known by kind and name, or not at all', () => {
  expect(readUndo(`spray:${ID}`)).toEqual({ kind: 'spray', id: ID });
  for (const text of [undefined, '', 'spray', `lawn:${ID}`, 'spray:../x']) expect(readUndo(text)).toBeNull();
});
