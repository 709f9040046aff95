import { describe, expect, test } from 'vitest';
import { HOUR_MS } from '@/lib/units/time';
import { saturationVapourPressureKPa } from '@/lib/weather/saturation';
import { DAY_CURVE, forecastTempC, typedForecastHours, type TypedForecast } from '@/lib/weather/typed-forecast';

const at = (hour: number) => Date.UTC(2026, 5, 1) + hour * HOUR_MS;
/** Sunrise at 6, sunset at 18: twelve hours each. */
const sun = { riseMs: at(6), setMs: at(18), nextRiseMs: at(30), nextSetMs: at(42) };
const forecast: TypedForecast = {
  typedAtMs: at(15.4),
  highC: 30,
  lowC: 10,
  nextHighC: 26,
  humidityPercent: 40,
  cloudPercent: 10,
  parts: {
    evening: { windMPerS: 2, rainMm: null },
    night: { windMPerS: null, rainMm: 6 },
    morning: { windMPerS: 1, rainMm: 0 },
    afternoon: { windMPerS: 4, rainMm: null },
  },
};

describe('the day’s temperature between low and high (Parton & Logan 1981, air at 1.5 m: 1.86 h, 2.20, -0.17 h)', () => {
  test('the coefficients are the paper’s', () => {
    expect(DAY_CURVE).toEqual({ maxLagH: 1.86, nightDecay: 2.2, minLagH: -0.17 });
  });
  test('the high stands 1.86 h after noon, the next day’s as well, and the low just before sunrise', () => {
    expect(forecastTempC(forecast, sun, at(13.86))).toBeCloseTo(30, 6);
    expect(forecastTempC(forecast, sun, at(24 + 13.86))).toBeCloseTo(26, 6);
    expect(forecastTempC(forecast, sun, at(29.83))).toBeCloseTo(10, 6);
  });
  test('at sunset, by hand: 10 + 20 sin(π 12.17 / 16.06) = 23.79 °C', () => {
    expect(forecastTempC(forecast, sun, at(18))).toBeCloseTo(23.79, 2);
  });
  test('no jump at sunset nor at dawn, and it falls all night', () => {
    for (const edge of [18, 29.83])
      expect(
        Math.abs(forecastTempC(forecast, sun, at(edge) - 1000) - forecastTempC(forecast, sun, at(edge) + 1000)),
      ).toBeLessThan(0.01);
    const night = Array.from({ length: 11 }, (_, i) => forecastTempC(forecast, sun, at(18.5 + i)));
    for (let i = 1; i < night.length; i++) expect(night[i]!).toBeLessThan(night[i - 1]!);
  });
});

describe('a typed forecast as hours', () => {
  const hours = typedForecastHours(forecast, sun, (ms) => new Date(ms).getUTCHours());
  const hourAt = (hour: number) => hours.find((one) => one.hourStartUtcMs === at(hour))!;
  test('from the hour in which it was typed to the next day’s sunset', () => {
    expect(hours.at(-1)?.hourStartUtcMs).toBe(at(41));
    expect(hours[0]?.hourStartUtcMs).toBe(at(15));
  });
  test('the vapour in the air stays what it is at sunset until the air is full of it', () => {
    const vapour = 0.4 * saturationVapourPressureKPa(forecastTempC(forecast, sun, at(18)));
    for (const hour of [15, 18, 20, 33]) {
      const { airTempC, relHumidityPercent } = hourAt(hour);
      expect((relHumidityPercent! / 100) * saturationVapourPressureKPa(airTempC!)).toBeCloseTo(vapour, 2);
    }
    const damp = typedForecastHours({ ...forecast, humidityPercent: 95 }, sun, (ms) => new Date(ms).getUTCHours());
    expect(Math.max(...damp.map((one) => one.relHumidityPercent!))).toBe(100);
  });
  test('wind of its part of the day at 10 m, none where none was typed; six millimetres of a night are one an hour', () => {
    expect(hourAt(20)).toMatchObject({ windMPerS: 2, windHeightM: 10, rainMm: null });
    expect(hourAt(26)).toMatchObject({ windMPerS: null, windHeightM: null, rainMm: 1 });
    expect(hourAt(16)).toMatchObject({ windMPerS: 4 });
    expect([24, 25, 26, 27, 28, 29].reduce((sum, hour) => sum + hourAt(hour).rainMm!, 0)).toBeCloseTo(6, 9);
  });
});
