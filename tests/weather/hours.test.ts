import { NEAR_GROUND_WIND_HEIGHT_M, SERVICE_WIND_HEIGHT_M, windOfHourAt2mMPerS } from '@/lib/weather/wind';
import { describe, expect, test } from 'vitest';
import { summariseDays } from '@/lib/weather/day-summary';
import { etoOfHours } from '@/lib/weather/eto-hours';
import { findGaps } from '@/lib/weather/gaps';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { leafWetHour, leafWetHours } from '@/lib/weather/leaf-wetness';
import { zoneClock } from '@/lib/weather/local-time';
import { hoursToFirstRain, rainBetween } from '@/lib/weather/rain-since';
import { windAt2mMPerS, windAtCanopyMPerS } from '@/lib/weather/wind';

const start = Date.parse('2024-11-03T04:00Z'); // midnight in New York on the day with 25 hours
const run = (count: number, of: (i: number) => Partial<WeatherHour>): WeatherHour[] =>
  Array.from({ length: count }, (_, i) => ({ ...emptyHour(start + i * HOUR_MS), ...of(i) }));
const place = { latitudeDeg: 40.7, longitudeDeg: -74, elevationM: 10 };
const clock = zoneClock('America/New_York');

describe('rain since', () => {
  const hours = run(6, (i) => ({ rainMm: [0, 2, 0, 0, 4, null][i] ?? null }));
  test('an hour cut by the span counts by its share, and unknown hours are counted', () => {
    expect(rainBetween(hours, start + 1.5 * HOUR_MS, start + 6 * HOUR_MS)).toEqual({
      rainMm: 5,
      hoursKnown: 3.5,
      hoursUnknown: 1,
      firstRainUtcMs: start + HOUR_MS,
      lastRainUtcMs: start + 4 * HOUR_MS,
    });
  });
  test('two spans that meet hold what the whole holds', () => {
    const cut = start + 1.3 * HOUR_MS;
    const sum = rainBetween(hours, start, cut).rainMm + rainBetween(hours, cut, start + 6 * HOUR_MS).rainMm;
    expect(sum).toBeCloseTo(rainBetween(hours, start, start + 6 * HOUR_MS).rainMm, 12);
  });
  test('first rain after a spray', () => {
    expect(hoursToFirstRain(hours, start + 2.5 * HOUR_MS, start + 6 * HOUR_MS)).toBe(1.5);
    expect(hoursToFirstRain(hours, start + 2 * HOUR_MS, start + 4 * HOUR_MS)).toBeNull();
  });
});

const wet = (air: Partial<WeatherHour>) => leafWetHour({ ...emptyHour(0), ...air });

test('a leaf is wet by its sensor, else by rain or 90 %, else unknown', () => {
  expect(
    [
      { leafWetMin: 10, relHumidityPercent: 99 },
      { leafWetMin: 30 },
      { rainMm: 0.2 },
      { relHumidityPercent: 90 },
      { relHumidityPercent: 89.9 },
      {},
    ].map(wet),
  ).toEqual([false, true, true, true, false, null]);
  const hours = run(6, (i) => ({ relHumidityPercent: [95, 95, 50, 95, 95, 95][i] ?? null })).filter((_, i) => i !== 4);
  expect(leafWetHours(hours)).toEqual({ wet: 4, dry: 1, unknown: 0, longestSpell: 2 });
});

test('gaps are found for hours and for a field, at both ends too', () => {
  const hours = run(10, (i) => ({ rainMm: i === 3 ? null : 0 })).filter((_, i) => ![0, 5, 6, 9].includes(i));
  const shape = (field: 'rainMm' | null) =>
    findGaps(hours, start, start + 10 * HOUR_MS, field).map((gap) => [(gap.fromUtcMs - start) / HOUR_MS, gap.hours]);
  expect(shape(null)).toEqual([
    [0, 1],
    [5, 2],
    [9, 1],
  ]);
  expect(shape('rainMm')).toEqual([
    [0, 1],
    [3, 1],
    [5, 2],
    [9, 1],
  ]);
  expect(findGaps(hours, start, start)).toEqual([]);
});

describe('days', () => {
  test('the day with 25 hours holds 25, the next 24, and no rain is lost or doubled', () => {
    const days = summariseDays(
      run(49, () => ({ rainMm: 1, airTempC: 10 })),
      place,
      clock,
    );
    expect(days.map((day) => [day.date, day.hoursInDay, day.rainMm])).toEqual([
      ['2024-11-03', 25, 25],
      ['2024-11-04', 24, 24],
    ]);
  });
  test('a day with more than two hours missing has no sum', () => {
    const days = summariseDays(
      run(25, (i) => ({ rainMm: i < 22 ? 1 : null })),
      place,
      clock,
    );
    expect(days[0]?.rainMm).toBeNull();
    expect(days[0]?.etoMm).toBeNull();
  });
});

test('hourly evapotranspiration is highest by day, near 0 by night, and null where a figure is missing', () => {
  const june = Date.parse('2024-06-15T04:00Z');
  const hours = Array.from({ length: 24 }, (_, i): WeatherHour => ({
    ...emptyHour(june + i * HOUR_MS),
    airTempC: 22,
    relHumidityPercent: 60,
    windMPerS: i === 20 ? null : 2,
    windHeightM: 2,
    cloudPercent: 20,
  }));
  const eto = etoOfHours(hours, place).map((hour) => hour.etoMm);
  expect(eto[20]).toBeNull();
  expect(Math.abs(eto[1] ?? 9)).toBeLessThan(0.06);
  expect(eto[13] ?? 0).toBeGreaterThan(0.4);
  const sum = eto.reduce<number>((total, value) => total + (value ?? 0), 0);
  expect(sum).toBeGreaterThan(3.5);
  expect(sum).toBeLessThan(8);
});

test('wind at 2 m is itself within 0.01 %, and slower in the canopy', () => {
  expect(windAt2mMPerS(3, 2)).toBeCloseTo(3, 2); // eq. 47 is rounded: factor 1.000 at 2 m
  expect(windAtCanopyMPerS(3, 0.05)).toBeLessThan(1);
});

describe('the height of a wind', () => {
  const hour = (windMPerS: number | null, windHeightM: number | null, gustMPerS: number | null = null) => ({
    windMPerS,
    windHeightM,
    gustMPerS,
  });
  test('3.2 m/s at 10 m, where services measure, is 2.4 at 2 m, and so are gusts (FAO-56 example 14)', () => {
    expect(windOfHourAt2mMPerS(hour(3.2, SERVICE_WIND_HEIGHT_M))).toBeCloseTo(2.4, 1);
    expect(windOfHourAt2mMPerS(hour(null, SERVICE_WIND_HEIGHT_M, 3.2), 'gust')).toBeCloseTo(2.4, 1);
  });
  test('one that came without its height counts as measured at 2 m, at its full strength; none stays none', () => {
    expect(windOfHourAt2mMPerS(hour(3.2, null))).toBe(3.2);
    expect(windOfHourAt2mMPerS(hour(3.2, NEAR_GROUND_WIND_HEIGHT_M))).toBe(3.2);
    expect(windOfHourAt2mMPerS(hour(null, null))).toBeNull();
    expect(windOfHourAt2mMPerS(hour(3.2, null), 'gust')).toBeNull();
  });
});
