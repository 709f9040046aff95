import { describe, expect, test } from 'vitest';
import { readAnswerSeries } from '@/lib/forms/queries/answer-series';

/** Shapes in which weather comes over the web, made up here: no service's own names. */
const times = ['2026-05-01T00:00', '2026-05-01T01:00', '2026-05-01T02:00'];

describe('the hours in a service’s answer are found', () => {
  test('as lists side by side, with the units stated in an object beside them', () => {
    expect(
      readAnswerSeries({
        place: 'x',
        hours: { time: times, air: [1, 2, null] },
        hours_units: { time: 'iso', air: '°F' },
      }),
    ).toEqual({ time: times, series: { air: [1, 2, null] }, units: { air: '°F' } });
  });

  test('as rows, names inside names joined by a point', () => {
    expect(
      readAnswerSeries({
        data: { list: times.map((validAt, i) => ({ validAt, air: i, wind: { speed: i + 1 }, sky: 'clear' })) },
      }),
    ).toEqual({ time: times, series: { air: [0, 1, 2], 'wind.speed': [1, 2, 3] }, units: {} });
  });

  test('with times in seconds or milliseconds since 1970', () => {
    for (const unit of [1, 1000]) {
      const stamps = [1_777_593_600, 1_777_597_200].map((s) => s * unit);
      expect(readAnswerSeries({ timestamps: stamps, air: [3, 4] })).toMatchObject({
        time: stamps,
        series: { air: [3, 4] },
      });
    }
  });

  test('of several the one with the most names', () => {
    expect(
      readAnswerSeries({
        days: { date: ['2026-05-01', '2026-05-02'], most: [1, 2] },
        hours: { time: times, air: [1, 2, 3], wet: [0, 0, 1] },
      }),
    ).toMatchObject({ series: { air: [1, 2, 3], wet: [0, 0, 1] } });
  });

  test.each([
    [null],
    ['weather'],
    [{}],
    [[]],
    [{ hours: { time: times } }],
    [{ hours: { time: ['soon', 'later'], air: [1, 2] } }],
    [{ hours: { time: times, air: [1, 2] } }],
  ])('%j holds none, and says so in one sentence', (json) => {
    expect(readAnswerSeries(json)).toMatchObject({
      ok: false,
      sentence: expect.stringMatching(/^Weather service: expected hours, .+; got .+\.$/) as string,
    });
  });
});
