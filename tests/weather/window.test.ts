import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { zoneClock } from '@/lib/weather/local-time';
import type { HourScore } from '@/lib/weather/window';
import { bestWindows, scoreHours, scoreSpray } from '@/lib/weather/window';
import { type ReasonTopic, worstVerdict } from '@/lib/weather/window-limits';

const place = { latitudeDeg: 40, longitudeDeg: -90, elevationM: 200 };
const clock = zoneClock('America/Chicago');
const film = { carrierLPerHa: 815, wettedLeafAreaM2PerM2: 1, canopyHeightM: 0.06 };
const evening = Date.parse('2025-06-20T23:00Z'); // 18:00 in Chicago, sunset near 20:35

function around(
  start: number,
  air: Partial<WeatherHour> = {},
  change: (hour: WeatherHour, i: number) => WeatherHour = (hour) => hour,
): WeatherHour[] {
  return Array.from({ length: 80 }, (_, i) =>
    change(
      {
        ...emptyHour(start + (i - 30) * HOUR_MS),
        airTempC: 22,
        relHumidityPercent: 60,
        windMPerS: 2,
        windHeightM: 2,
        rainMm: 0,
        cloudPercent: 40,
        ...air,
      },
      i - 30,
    ),
  );
}
const query = (hours: WeatherHour[]) => ({ hours, place, clock, film });
function reason(score: HourScore | undefined, topic: ReasonTopic) {
  const found = score?.reasons.find((one) => one.topic === topic);
  if (found === undefined) throw new Error(`no reason ${topic}`);
  return found;
}
const first = (hours: WeatherHour[]) => scoreHours(query(hours), evening, 1)[0];

const wet = (at: number) => around(evening, {}, (hour, i) => (i === at ? { ...hour, rainMm: 3 } : hour));
const maybe = (min: number, max: number) => fc.option(fc.double({ min, max, noNaN: true }), { nil: null });

describe('window', () => {
  test('a mild, dry, breezy evening hour is suitable, and every reason has a limit, a source and a sentence', () => {
    const score = first(around(evening));
    expect(score?.verdict).toBe('suitable');
    expect(score?.points).toBe(100);
    for (const { limit, source, sentence } of score?.reasons ?? [])
      for (const words of [limit, source, sentence]) expect(words.length).toBeGreaterThan(10);
    expect(reason(score, 'delta-t').value).toBeCloseTo(5.0, 0);
  });
  test.each<[string, ReasonTopic, Partial<WeatherHour>, string]>([
    ['wind of 5 m/s', 'wind', { windMPerS: 5 }, 'unsuitable'],
    ['wind of 4 m/s', 'wind', { windMPerS: 4 }, 'doubtful'],
    ['a calm', 'wind', { windMPerS: 0.5 }, 'doubtful'],
    ['Delta T above 10 °C', 'delta-t', { airTempC: 29, relHumidityPercent: 20 }, 'unsuitable'],
    ['damp air', 'delta-t', { relHumidityPercent: 95 }, 'doubtful'],
    ['31 °C', 'temperature', { airTempC: 31 }, 'unsuitable'],
    ['wet leaves', 'leaf-wet', { relHumidityPercent: 95 }, 'doubtful'],
    ['no temperature', 'temperature', { airTempC: null }, 'unknown'],
    ['no rain figures', 'rain-ahead', { rainMm: null }, 'unknown'],
    ['a 70% chance of rain', 'rain-ahead', { rainChancePercent: 70 }, 'doubtful'],
    ['gusts of 9 m/s', 'gust', { gustMPerS: 9 }, 'doubtful'],
  ])('%s makes %s say so', (_, topic, air, verdict) => {
    expect(reason(first(around(evening, air)), topic).verdict).toBe(verdict);
  });
  test('rain 3 h ahead is unsuitable, 5 h ahead doubtful, 8 h ahead no matter', () => {
    expect([3, 6, 9].map((at) => reason(first(wet(at)), 'rain-ahead').verdict)).toEqual([
      'unsuitable',
      'doubtful',
      'suitable',
    ]);
  });
  test('after sunset it is doubtful in twilight, unsuitable in the dark; the minutes to sunset fall by 60 an hour', () => {
    const scores = scoreHours(query(around(evening)), evening, 6);
    expect(scores.map((score) => reason(score, 'light').verdict)).toEqual([
      'suitable',
      'suitable',
      'doubtful',
      'unsuitable',
      'unsuitable',
      'unsuitable',
    ]);
    expect((reason(scores[0], 'light').value ?? 0) - (reason(scores[1], 'light').value ?? 0)).toBeCloseTo(60, 6);
  });
  test('under the midnight sun light is no reason against it', () => {
    const north = {
      ...query(around(evening)),
      place: { ...place, latitudeDeg: 69.65, longitudeDeg: 18.96 },
      clock: zoneClock('Europe/Oslo'),
    };
    for (const score of scoreHours(north, evening, 24)) expect(reason(score, 'light').verdict).toBe('suitable');
  });
  test('no weather at all is unknown, not good, and makes no window', () => {
    const scores = scoreHours(query([]), evening, 2);
    expect(scores.map((score) => score.verdict)).toEqual(['unknown', 'unknown']);
    expect(bestWindows(scores, 30, clock)).toEqual([]);
  });
  test('a known bar outweighs an unknown', () =>
    expect(worstVerdict(['suitable', 'unknown', 'unsuitable', 'doubtful'])).toBe('unsuitable'));
  test('the best windows are runs of one verdict long enough for the work, suitable before doubtful, named by the local clock', () => {
    const scores = scoreHours(query(around(evening)), evening - 4 * HOUR_MS, 24);
    const windows = bestWindows(scores, 60, clock);
    expect(windows.length).toBeGreaterThan(0);
    expect(windows[0]?.verdict).toBe('suitable');
    for (const window of windows) {
      expect(window.endUtcMs - window.startUtcMs).toBeGreaterThanOrEqual(HOUR_MS);
      const inside = scores.filter(
        (score) => score.startUtcMs >= window.startUtcMs && score.endUtcMs <= window.endUtcMs,
      );
      expect(new Set(inside.map((score) => score.verdict))).toEqual(new Set([window.verdict]));
    }
    expect(bestWindows(scores, 24 * 60, clock)).toEqual([]);
  });
  test('any weather on any day at any latitude gives a verdict and finite numbers, never an exception or NaN', () => {
    const air = fc.record({
      airTempC: maybe(-25, 48),
      relHumidityPercent: maybe(0, 100),
      windMPerS: maybe(0, 30),
      gustMPerS: maybe(0, 40),
      rainMm: maybe(0, 5),
      solarWPerM2: maybe(0, 1200),
      cloudPercent: maybe(0, 100),
      rainChancePercent: maybe(0, 100),
    });
    fc.assert(
      fc.property(
        fc.array(air, { minLength: 6, maxLength: 6 }),
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: -180, max: 180, noNaN: true }),
        fc.integer({ min: 0, max: 8759 }),
        (airs, latitudeDeg, longitudeDeg, hourOfYear) => {
          const start = Date.UTC(2025, 0, 1) + hourOfYear * HOUR_MS;
          const hours = around(start, {}, (hour, i) => ({ ...hour, ...airs[(i + 60) % 6] }));
          const scores = scoreHours(
            { ...query(hours), place: { latitudeDeg, longitudeDeg, elevationM: 100 } },
            start,
            3,
          );
          const figures = scores.flatMap((score) => [
            score.points,
            ...score.reasons.map((one) => one.value ?? 0),
            ...score.drying.steps.flatMap((step) => [step.rateMmPerH, step.filmLeftMm, step.netRadiationWPerM2]),
          ]);
          expect(figures.every(Number.isFinite)).toBe(true);
          expect(scores).toHaveLength(3);
        },
      ),
      { numRuns: 150 },
    );
  });
  test('a past spray gets the score of the hours it touched', () => {
    const hours = around(evening);
    const whole = scoreSpray(query(hours), evening + 20 * 60_000, evening + 80 * 60_000);
    expect(
      whole.hours.map(({ startUtcMs, endUtcMs }) => [(startUtcMs - evening) / 60_000, (endUtcMs - evening) / 60_000]),
    ).toEqual([
      [20, 60],
      [60, 80],
    ]);
    expect(whole.verdict).toBe('suitable');
    expect(scoreSpray(query(hours), evening, evening).hours).toHaveLength(1);
    expect(() => scoreSpray(query(hours), evening, evening - 1)).toThrow(RangeError);
  });
});
