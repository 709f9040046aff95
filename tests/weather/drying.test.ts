import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { DryingResult } from '@/lib/weather/drying';
import { dryingSensitivity, dryingTime, wetLeaf } from '@/lib/weather/drying';
import { dryingGrid } from '@/lib/weather/drying-grid';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { hourSun } from '@/lib/weather/hour-energy';
import { dewPointC } from '@/lib/weather/humidity';
import { W_PER_M2_IN_MJ_PER_M2_H } from '@/lib/weather/radiation';

const place = { latitudeDeg: 40, longitudeDeg: -90, elevationM: 200 };
const noon = Date.parse('2025-06-20T18:00Z'); // 12:00 mean solar time at 90° W
const midnight = Date.parse('2025-06-21T06:00Z');
const film = { wettedLeafAreaM2PerM2: 1, canopyHeightM: 0.06 };

function steady(from: number, air: Partial<WeatherHour>, count = 30): WeatherHour[] {
  return Array.from({ length: count }, (_, i) => ({
    ...emptyHour(Math.floor(from / HOUR_MS) * HOUR_MS + i * HOUR_MS),
    airTempC: 24,
    relHumidityPercent: 55,
    windMPerS: 2,
    windHeightM: 2,
    rainMm: 0,
    cloudPercent: 30,
    ...air,
  }));
}
/** Time on the leaf for comparing: never drying counts as endless. */
function wetMinutes(result: DryingResult): number {
  return result.kind === 'dries' ? result.minutes : Number.POSITIVE_INFINITY;
}
const at = (startUtcMs: number, carrierLPerHa: number) => ({ ...film, startUtcMs, carrierLPerHa });

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe('rate', () => {
  test('with the energy given it rises with wind and with deficit while the leaf is above the dew point, and is negative only below', () => {
    fc.assert(
      fc.property(
        number(1, 40),
        number(5, 95),
        number(0, 12),
        number(-0.3, 3),
        number(0.01, 0.12),
        (airTempC, relHumidityPercent, windAt2m, available, canopyHeightM) => {
          const air = { airTempC, relHumidityPercent, windAt2m, available, canopyHeightM, pressureKPa: 99 };
          const { evaporationMmPerH: rate, leafTempC } = wetLeaf(air);
          const rateOf = (change: object): number => wetLeaf({ ...air, ...change }).evaporationMmPerH;
          expect(Number.isFinite(rate)).toBe(true);
          expect(rateOf({ relHumidityPercent: relHumidityPercent - 5 })).toBeGreaterThan(rate);
          expect(rateOf({ available: available + 0.1 })).toBeGreaterThan(rate);
          // A leaf warmer than the air is cooled by wind, so that more wind dries it less where the sun does the work in
          // damp air.
          expect(rateOf({ windAt2m: windAt2m + 1 }) > rate || leafTempC > airTempC || windAt2m < 0.5).toBe(true);
          const dewPoint = dewPointC(airTempC, relHumidityPercent) ?? Number.NEGATIVE_INFINITY;
          expect(rate > 0 || leafTempC < dewPoint + 0.02).toBe(true); // eq. 3-11 is rounded
        },
      ),
    );
  });
});

describe('drying time', () => {
  test('1 L on 1 m² is a film of 1 mm', () => {
    const filmOf = (carrierLPerHa: number, wettedLeafAreaM2PerM2: number) =>
      dryingTime({ ...at(noon, carrierLPerHa), wettedLeafAreaM2PerM2 }, steady(noon, {}), place).filmMm;
    expect(filmOf(10_000, 1)).toBe(1);
    expect(filmOf(815, 2)).toBeCloseTo(0.04075, 10);
  });
  test('in a steady hour it is the film over the rate', () => {
    const result = dryingTime(at(noon, 400), steady(noon, { solarWPerM2: 700 }), place);
    if (result.kind !== 'dries') throw new Error(result.kind);
    expect(result.minutes).toBeCloseTo((60 * result.filmMm) / (result.steps[0]?.rateMmPerH ?? 0), 7);
    expect(result.driesAtUtcMs - noon).toBeCloseTo(result.minutes * 60_000, 3);
    expect(result.extrapolated).toBe(false);
  });
  test('over several hours what evaporates in each adds up to the film', () => {
    const start = noon + 6 * HOUR_MS + 17 * 60_000;
    const result = dryingTime(at(start, 2500), steady(start, {}), place);
    expect(result.steps.length).toBeGreaterThan(1);
    const gone = result.steps.reduce((sum, step) => sum + (step.rateMmPerH * step.minutes) / 60, 0);
    expect(gone + (result.steps.at(-1)?.filmLeftMm ?? 0)).toBeCloseTo(result.filmMm, 9);
  });
  // Humidity from 10 % and wind from 1.5 m/s: in less wind, less heat from a clear dry sky can outweigh the deficit
  // (see dryingTime).
  test('it falls with deficit, wind and sun, and rises with carrier volume', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 23 }),
        number(5, 35),
        number(20, 90),
        number(1.5, 8),
        number(0, 1),
        number(100, 1500),
        (hourOfDay, airTempC, relHumidityPercent, windMPerS, sunShare, carrier) => {
          const start = Date.UTC(2025, 5, 20, hourOfDay, 20);
          const sunny = (share: number, more: Partial<WeatherHour> = {}): WeatherHour[] =>
            steady(start, { airTempC, relHumidityPercent, windMPerS, ...more }).map((hour) =>
              Object.assign(hour, {
                solarWPerM2: hourSun(hour.hourStartUtcMs, place).clearSky * W_PER_M2_IN_MJ_PER_M2_H * share,
              }),
            );
          const minutes = wetMinutes(dryingTime(at(start, carrier), sunny(sunShare), place));
          const wet = (volume: number, hours: WeatherHour[]): number =>
            wetMinutes(dryingTime(at(start, volume), hours, place));
          const sun = sunny(sunShare);
          const most = minutes * (1 + 1e-12); // the last bit of a sum is not a fact
          expect(wet(carrier * 1.2, sun)).toBeGreaterThanOrEqual(minutes);
          expect(wet(carrier, sunny(sunShare, { relHumidityPercent: relHumidityPercent - 10 }))).toBeLessThanOrEqual(
            most,
          );
          expect(wet(carrier, sunny(sunShare, { windMPerS: windMPerS + 1 }))).toBeLessThanOrEqual(most);
          expect(wet(carrier, sunny(Math.min(1, sunShare + 0.2)))).toBeLessThanOrEqual(most);
        },
      ),
      { numRuns: 150 },
    );
  });
  test('at night in saturated air it does not dry, whatever the wind, and says until when', () => {
    for (const windMPerS of [0, 1, 5]) {
      const result = dryingTime(at(midnight, 400), steady(midnight, { relHumidityPercent: 100, windMPerS }), place, 4);
      expect(result).toMatchObject({ kind: 'does-not-dry', byUtcMs: midnight + 4 * HOUR_MS });
      expect(result.steps.at(-1)?.filmLeftMm ?? 0).toBeGreaterThan(result.filmMm); // dew came on top
    }
  });
  test('a calm is computed with 0.5 m/s and marked extrapolated, never NaN', () => {
    const result = dryingTime(at(noon, 400), steady(noon, { windMPerS: 0 }), place);
    expect(result.extrapolated).toBe(true);
    expect(result.assumed.join(' ')).toContain('less wind than ⟦wind 0.5⟧');
    expect(wetMinutes(result)).toBeGreaterThan(0);
  });
  test('missing weather is named, not guessed; rain is not evaporation', () => {
    expect(dryingTime(at(noon, 400), [], place)).toMatchObject({
      kind: 'unknown',
      missing: ['airTempC', 'relHumidityPercent', 'windMPerS'],
    });
    expect(dryingTime(at(noon, 400), steady(noon, { windMPerS: null }), place)).toMatchObject({
      kind: 'unknown',
      missing: ['windMPerS'],
    });
    const showers = steady(noon, {}).map((hour, i) => (i === 1 ? Object.assign(hour, { rainMm: 2 }) : hour));
    expect(dryingTime(at(noon, 9000), showers, place)).toMatchObject({
      kind: 'rained-on',
      atUtcMs: noon + HOUR_MS,
      minutes: 60,
    });
  });
  test('sun that was not measured is estimated from clouds, or assumed, and said to be', () => {
    expect(dryingTime(at(noon, 400), steady(noon, {}), place).assumed).toEqual(['sun estimated from 30% cloud']);
    expect(dryingTime(at(noon, 400), steady(noon, { cloudPercent: null }), place).assumed.join('; ')).toContain(
      'sun taken as 80% of a clear sky',
    );
  });
  test('impossible plans are refused with the unit', () => {
    expect(() => dryingTime(at(noon, 0), steady(noon, {}), place)).toThrow(
      'carrierLPerHa: expected a number above 0 L/ha, got 0',
    );
    expect(() => dryingTime({ ...at(noon, 400), wettedLeafAreaM2PerM2: -1 }, [], place)).toThrow(RangeError);
    expect(() => dryingTime({ ...at(noon, 400), startUtcMs: Number.NaN }, [], place)).toThrow(RangeError);
  });
  test('each input has its sensitivity, in the right direction', () => {
    const hours = steady(noon, { solarWPerM2: 600 });
    const base = wetMinutes(dryingTime(at(noon, 400), hours, place));
    const by = Object.fromEntries(
      dryingSensitivity(at(noon, 400), hours, place).map(({ input, minutes }) => [input, minutes ?? Number.NaN]),
    );
    expect(by.carrier).toBeGreaterThan(base);
    expect(by.relHumidity).toBeGreaterThan(base);
    for (const input of ['wettedLeafArea', 'airTemp', 'wind', 'solar']) expect(by[input]).toBeLessThan(base);
  });
  test('the grid holds the single answers', () => {
    const hours = steady(noon, {});
    const starts = [noon, noon + 5 * HOUR_MS];
    const grid = dryingGrid(starts, [200, 800], film, hours, place, 12);
    starts.forEach((startUtcMs, i) =>
      [200, 800].forEach((carrier, j) => {
        const single = dryingTime(at(startUtcMs, carrier), hours, place, 12);
        expect(grid.cells[i]?.[j]).toEqual({
          kind: single.kind,
          minutes: single.kind === 'dries' ? single.minutes : null,
        });
      }),
    );
  });
});
