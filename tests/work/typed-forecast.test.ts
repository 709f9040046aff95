import { describe, expect, test } from 'vitest';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { parseForm } from '@/lib/forms/fields';
import { enteredOf, TypedForecastForm } from '@/lib/forms/weather/typed-forecast-form';
import { writeSetting } from '@/lib/diary/settings';
import { emptyHour } from '@/lib/weather/hour';
import { answerName, knownHours } from '@/lib/work/weather/known-hours';
import { dropTypedForecast, keepTypedForecast, typedForecast } from '@/lib/work/weather/typed-forecast';
import { windowAhead } from '@/lib/work/weather/window-ahead';
import { plainLawn, useFreshDiary } from '../support/diary';

useFreshDiary();

/** A June evening in the north of the US. */
const now = new Date('2026-06-01T22:20:00Z');
function typed(more: Record<string, string> = {}): FormData {
  const data = new FormData();
  const units = Object.fromEntries(
    ['evening', 'night', 'morning', 'afternoon'].flatMap((part) => [
      [`parts.${part}.wind.value`, ''],
      [`parts.${part}.wind.unit`, 'mph'],
      [`parts.${part}.rain.value`, ''],
      [`parts.${part}.rain.unit`, 'in'],
    ]),
  );
  for (const [name, value] of Object.entries({
    'high.value': '77',
    'high.unit': 'degF',
    'low.value': '50',
    'low.unit': 'degF',
    'nextHigh.value': '',
    'nextHigh.unit': 'degF',
    humidity: '45',
    sky: 'clear',
    ...units,
    ...more,
  }))
    data.set(name, value);
  return data;
}
async function keep(lawnId: string, data: FormData) {
  const parsed = parseForm(TypedForecastForm, data);
  if (!parsed.ok) throw new Error(JSON.stringify(parsed));
  await keepTypedForecast(lawnId, parsed.value, enteredOf(data), now);
}
const placed = () => plainLawn({ timeZone: 'America/Denver', latitudeDeg: 45, longitudeDeg: -105 });

describe('a forecast that a person types', () => {
  test('gives the hours a window needs, in canonical units, and is kept as typed', async () => {
    const lawn = await placed();
    expect(
      await windowAhead(
        lawn,
        { carrierLPerHa: 800, wettedLeafAreaM2PerM2: 1, workMinutes: 20, gridCarriersLPerHa: [800] },
        now,
      ),
    ).toEqual({ kind: 'no-hours' });
    await keep(lawn.id, typed({ 'parts.evening.wind.value': '4', 'parts.night.rain.value': '0.3' }));
    const hours = await knownHours(lawn.id, now, new Date(now.getTime() + 30 * 3_600_000));
    // 77 °F = 25 °C, 50 °F = 10 °C; 4 mph = 1.78816 m/s; 0.3 in = 7.62 mm over six hours.
    expect(Math.max(...hours.map((hour) => hour.airTempC!))).toBeCloseTo(25, 0);
    expect(Math.min(...hours.map((hour) => hour.airTempC!))).toBeGreaterThanOrEqual(10 - 1e-9);
    expect(hours.find((hour) => hour.windMPerS !== null)?.windMPerS).toBeCloseTo(1.78816, 9);
    expect(hours.reduce((sum, hour) => sum + (hour.rainMm ?? 0), 0)).toBeCloseTo(7.62, 9);
    expect(
      (
        await windowAhead(
          lawn,
          { carrierLPerHa: 800, wettedLeafAreaM2PerM2: 1, workMinutes: 20, gridCarriersLPerHa: [800] },
          now,
        )
      ).kind,
    ).toBe('scored');
    expect((await typedForecast(lawn.id))?.entered).toMatchObject({
      'high.value': '77',
      'high.unit': 'degF',
      'parts.night.rain.value': '0.3',
    });
  });

  test('what was measured stands before it, and forgotten it says nothing', async () => {
    const lawn = await placed();
    await keep(lawn.id, typed());
    const hourStart = new Date('2026-06-01T23:00:00Z');
    await addWeatherHours(lawn.id, [{ hourStart, airTempC: 3, relHumidityPercent: 50, source: 'logger' }]);
    const hour = async () => (await knownHours(lawn.id, hourStart, new Date(hourStart.getTime() + 1)))[0];
    expect((await hour())?.airTempC).toBe(3);
    await dropTypedForecast(lawn.id);
    expect(await knownHours(lawn.id, now, new Date(now.getTime() + 40 * 3_600_000))).toHaveLength(1);
  });

  test('an hour of which only some figures were measured takes the others from the forecasts, one anemometer’s wind at a time', async () => {
    const lawn = await placed();
    await keep(lawn.id, typed());
    const hourStart = new Date('2026-06-01T23:00:00Z');
    const service = { airTempC: 30, windMPerS: 6, windHeightM: 10, gustMPerS: 11, solarWPerM2: 300 };
    await writeSetting(answerName(lawn.id), {
      key: 'test',
      fetchedAtUtcMs: now.getTime(),
      hours: [{ ...emptyHour(hourStart.getTime()), ...service }],
    });
    const hour = async () => (await knownHours(lawn.id, hourStart, new Date(hourStart.getTime() + 1)))[0]!;
    const asTyped = await hour();
    // A clear sky was typed, so the service's sun isn't asked.
    expect(asTyped).toMatchObject({
      windMPerS: 6,
      windHeightM: 10,
      gustMPerS: 11,
      solarWPerM2: null,
      cloudPercent: 10,
    });
    expect(asTyped.airTempC).toBeLessThan(26); // 77 °F = 25 °C is the most that was typed
    await addWeatherHours(lawn.id, [{ hourStart, airTempC: 3, source: 'logger' }]);
    expect(await hour()).toMatchObject({ windMPerS: 6, airTempC: 3, relHumidityPercent: asTyped.relHumidityPercent });
    expect((await hour()).relHumidityPercent).toBeGreaterThan(0);
    const later = new Date(hourStart.getTime() + 3_600_000);
    await writeSetting(answerName(lawn.id), {
      key: 'test',
      fetchedAtUtcMs: now.getTime(),
      hours: [{ ...emptyHour(later.getTime()), ...service, rainChancePercent: 40 }],
    });
    await addWeatherHours(lawn.id, [{ hourStart: later, windMPerS: 2, windHeightM: 2, source: 'logger' }]);
    expect((await knownHours(lawn.id, later, new Date(later.getTime() + 1)))[0]).toMatchObject({
      windMPerS: 2,
      windHeightM: 2,
      gustMPerS: null,
      rainChancePercent: 40,
    });
  });

  test('without the lawn’s place there is no sunrise to draw hours by', async () => {
    const lawn = await plainLawn();
    await keep(lawn.id, typed());
    expect(await knownHours(lawn.id, now, new Date(now.getTime() + 40 * 3_600_000))).toEqual([]);
  });

  test.each([
    [{ 'low.value': '80' }, /Low tonight: expected no more than the highs/],
    [{ 'high.value': '' }, /High: expected a temperature, got nothing/],
    [{ 'high.value': '770' }, /High: expected .* °F, got 770/],
    [{ humidity: '0' }, /Humidity at sunset, %: expected/],
    [{ 'parts.night.rain.value': '-1' }, /Rain: expected 0 to/],
    [{ sky: 'green' }, /Sky: expected one of clear, some cloud, overcast, got/],
  ])('%o is refused in a sentence', (more, sentence) => {
    const parsed = parseForm(TypedForecastForm, typed(more));
    expect(parsed.ok ? 'taken' : Object.values(parsed.errors).join(' ')).toMatch(sentence);
  });
});
