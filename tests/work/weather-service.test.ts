import { createServer, type RequestListener } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, describe, expect, test } from 'vitest';
import { findSpray } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { HOUR_MS } from '@/lib/units/time';
import {
  askWeatherService,
  lastOutcome,
  readForecast,
  saveServiceSettings,
  serviceSettings,
} from '@/lib/work/weather/ask-weather-service';
import { windowAhead } from '@/lib/work/weather/window-ahead';
import { lookBackOnSpray } from '@/lib/work/weather/spray-weather';
import { findLawn } from '@/lib/diary/lawns';
import { useFreshDiary } from '../support/diary';
import { testLawn, testSpray } from '../support/test-lawn';

useFreshDiary();
const closers: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const close of closers.splice(0)) await close();
});

const now = new Date('2026-06-10T14:20:00Z');
const first = Date.parse('2026-06-09T00:00Z');

/** Four days of hours, a warm dry afternoon each. */
function recording(): string {
  const hours = Array.from({ length: 96 }, (_, index) => index);
  const sun = (index: number) => Math.max(0, Math.sin((((index % 24) - 10) / 14) * Math.PI));
  return JSON.stringify({
    hourly_units: { air_temperature: '°C', relative_humidity: '%', wind_speed: 'm/s', rain: 'mm', sun: 'W/m²' },
    hourly: {
      time: hours.map((index) => new Date(first + index * HOUR_MS).toISOString().slice(0, 16)),
      air_temperature: hours.map((index) => 15 + 8 * sun(index)),
      relative_humidity: hours.map((index) => 80 - 30 * sun(index)),
      wind_speed: hours.map(() => 3.5),
      rain: hours.map(() => 0),
      sun: hours.map((index) => 800 * sun(index)),
    },
  });
}

async function serve(listener: RequestListener): Promise<string> {
  const server = createServer(listener);
  await new Promise<void>((go) => {
    server.listen(0, '127.0.0.1', go);
  });
  closers.push(
    () =>
      new Promise((go) => {
        server.closeAllConnections();
        server.close(() => go());
      }),
  );
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}/hours?at={latitude},{longitude}`;
}
/** Patient, so that a busy machine's answer is none too late; `timeoutS` for a service that won't answer. */
async function turnOn(addressTemplate: string, timeoutS = 20): Promise<void> {
  await saveServiceSettings({
    enabled: true,
    name: 'Test service',
    timeoutS,
    addressTemplate,
    timeZone: 'UTC',
    windHeightM: 10,
    fields: [
      { field: 'airTempC', name: 'air_temperature', unit: 'degC' },
      { field: 'relHumidityPercent', name: 'relative_humidity', unit: '%' },
      { field: 'windMPerS', name: 'wind_speed', unit: 'm/s' },
      { field: 'rainMm', name: 'rain', unit: 'mm' },
      { field: 'solarWPerM2', name: 'sun', unit: 'W/m2' },
    ],
  });
}
const question = { carrierLPerHa: 800, wettedLeafAreaM2PerM2: 1, workMinutes: 60, gridCarriersLPerHa: [400, 800] };

describe('the weather service', () => {
  test('is off in a new diary: nothing is asked of anyone', async () => {
    const lawn = await testLawn();
    expect(await serviceSettings()).toBeNull();
    expect(await askWeatherService(lawn.id, now)).toMatchObject({
      ok: false,
      sentence: expect.stringContaining('expected one that is turned on, got none'),
    });
  });
  test('its past hours go into the diary and to sprays, its coming ones make the window', async () => {
    const lawn = await testLawn();
    const sprayId = await testSpray(lawn, '2026-06-09T19:00');
    const seen: string[] = [];
    await turnOn(
      await serve((request, response) => {
        seen.push(request.url ?? '');
        response.end(recording());
      }),
    );
    expect(await askWeatherService(lawn.id, now)).toMatchObject({
      ok: true,
      sentence: 'Test service: 38 past and 58 coming hours. 1 spray has weather from hours.',
    });
    expect(seen).toEqual(['/hours?at=40.00,-75.00']);
    expect(await weatherHoursBetween(lawn.id, new Date(first), new Date(first + 96 * HOUR_MS))).toHaveLength(38); // to 14:00, the last whole hour
    expect(await findSpray(sprayId)).toMatchObject({ weatherSource: 'hours' });
    const answer = await windowAhead(lawn, question, now);
    if (answer.kind !== 'scored') throw new Error(answer.kind);
    expect(answer.scores).toHaveLength(48);
    expect(answer.scores[0]?.startUtcMs).toBe(Date.parse('2026-06-10T15:00Z'));
    expect(answer.windows.length).toBeGreaterThan(0);
    expect(
      answer.scores.every(
        (score) => score.reasons.length >= 7 && score.reasons.every((reason) => reason.source !== ''),
      ),
    ).toBe(true);
    expect(answer.days.map((day) => day.date)).toEqual(['2026-06-10', '2026-06-11', '2026-06-12']);
    expect(answer.grid.cells[0]?.map((cell) => cell.minutes ?? 0)[1]).toBeGreaterThan(
      answer.grid.cells[0]?.[0]?.minutes ?? 0,
    ); // more water dries later
  });
  // prettier-ignore
  test.each([
    ['hangs', () => undefined, /no answer within 0.3 s/],
    ['answers 500', (_request, response) => { response.statusCode = 500; response.end('oops'); }, /error 500/],
    ['sends nonsense', (_request, response) => response.end('<html>hello</html>'), /expected JSON, got something else/],
    ['sends other JSON', (_request, response) => response.end('{"hourly":{"time":[1,2],"air_temperature":["a"]}}'), /^Weather service: expected/],
  ] satisfies [string, RequestListener, RegExp][])('that %s gives one sentence and leaves the last good answer, with its age', async (_what, listener, sentence) => {
    const lawn = await testLawn();
    await turnOn(await serve((_request, response) => response.end(recording())));
    await askWeatherService(lawn.id, now);
    await turnOn(await serve(listener), 0.3);
    const later = new Date(now.getTime() + 3 * HOUR_MS);
    const outcome = await askWeatherService(lawn.id, later);
    expect(outcome.ok).toBe(false);
    expect(outcome.sentence).toMatch(sentence);
    expect(outcome.sentence.match(/[.!?](\s|$)/g)).toHaveLength(1);
    expect(await lastOutcome(lawn.id)).toEqual(outcome);
    expect((await readForecast(lawn.id))?.fetchedAtUtcMs).toBe(now.getTime());
    expect((await windowAhead(lawn, question, later)).kind).toBe('scored');
  });
  test('an answer with 900 °C in it is refused as a whole, and takes nothing from the hours that were good', async () => {
    const lawn = await testLawn();
    await turnOn(await serve((_request, response) => response.end(recording())));
    await askWeatherService(lawn.id, now);
    const good = await weatherHoursBetween(lawn.id, new Date(first), now);
    const bad = JSON.parse(recording()) as { hourly: { air_temperature: number[] } };
    bad.hourly.air_temperature.fill(900, 38);
    await turnOn(await serve((_request, response) => response.end(JSON.stringify(bad))));
    const outcome = await askWeatherService(lawn.id, new Date(now.getTime() + HOUR_MS));
    expect(outcome).toMatchObject({
      ok: false,
      sentence:
        'Weather service: expected air_temperature from -60 to 60 °C, got 900 °C for 2026-06-10 14:00 UTC and 57 more figures like it, so nothing of this answer was taken.',
    });
    expect(await weatherHoursBetween(lawn.id, new Date(first), now)).toEqual(good);
    expect((await readForecast(lawn.id))?.fetchedAtUtcMs).toBe(now.getTime());
  });
  test('a figure that is missing in a later answer does not take away the one that was there', async () => {
    const lawn = await testLawn();
    await turnOn(await serve((_request, response) => response.end(recording())));
    await askWeatherService(lawn.id, now);
    const less = JSON.parse(recording()) as {
      hourly: { air_temperature: (number | null)[]; wind_speed: (number | null)[]; relative_humidity: number[] };
    };
    less.hourly.air_temperature.fill(null);
    less.hourly.wind_speed.fill(null);
    less.hourly.relative_humidity.fill(55);
    await turnOn(await serve((_request, response) => response.end(JSON.stringify(less))));
    expect((await askWeatherService(lawn.id, new Date(now.getTime() + HOUR_MS))).ok).toBe(true);
    const hours = await weatherHoursBetween(lawn.id, new Date(first), now);
    expect(
      hours.filter((hour) => hour.airTempC !== null && hour.windMPerS === 3.5 && hour.windHeightM === 10),
    ).toHaveLength(38);
    expect(hours[0]?.relHumidityPercent).toBe(55);
  });
  test('a planned spray is scored by the forecast, and the same spray done is not: what happened isn’t known yet', async () => {
    const lawn = await testLawn();
    await turnOn(await serve((_request, response) => response.end(recording())));
    await askWeatherService(lawn.id, now);
    const spray = await findSpray(await testSpray(lawn, '2026-06-11T19:00'));
    if (!spray) throw new Error('no spray');
    expect(await lookBackOnSpray(lawn, { ...spray, state: 'planned' }, now)).toMatchObject({
      kind: 'looked-back',
      lookBack: { basis: 'hours', drying: { kind: 'dries' } },
    });
    const done = await lookBackOnSpray(lawn, spray, now);
    expect(done.kind === 'looked-back' ? done.lookBack.drying.kind : done.kind).toMatch(/unknown|no-hours/);
  });
  test('two questions at one time are one', async () => {
    const lawn = await testLawn();
    let asked = 0;
    await turnOn(
      await serve((_request, response) => {
        asked += 1;
        setTimeout(() => response.end(recording()), 50);
      }),
    );
    const [one, other] = await Promise.all([askWeatherService(lawn.id, now), askWeatherService(lawn.id, now)]);
    expect(asked).toBe(1);
    expect(one).toBe(other);
  });
  test('history asked for by dates does not replace the answer about the coming hours', async () => {
    const lawn = await testLawn();
    await turnOn(await serve((_request, response) => response.end(recording())));
    await askWeatherService(lawn.id, now);
    await askWeatherService(lawn.id, new Date(now.getTime() + 30 * 24 * HOUR_MS), { from: new Date(first), to: now });
    expect((await readForecast(lawn.id))?.fetchedAtUtcMs).toBe(now.getTime());
    expect(await weatherHoursBetween(lawn.id, new Date(first), new Date(first + 96 * HOUR_MS))).toHaveLength(96);
  });
});

describe('looking back on a spray', () => {
  test('typed weather alone gives a drying time, and says that it was held steady', async () => {
    const lawn = await testLawn();
    const spray = await findSpray(
      await testSpray(lawn, '2026-06-09T19:00', { airTempC: 20, relHumidityPercent: 50, windMPerS: 2 }),
    );
    if (!spray) throw new Error('no spray');
    const answer = await lookBackOnSpray(lawn, spray, now);
    if (answer.kind !== 'looked-back') throw new Error(answer.kind);
    expect(answer.lookBack.basis).toBe('typed');
    expect(answer.lookBack.drying.kind).toBe('dries');
    expect(answer.lookBack.score.hours[0]?.reasons.find((reason) => reason.topic === 'rain-ahead')?.verdict).toBe(
      'unknown',
    );
  });
  test('without hours and without typed weather there is no score, and without a place none either', async () => {
    const lawn = await testLawn();
    const spray = await findSpray(await testSpray(lawn, '2026-06-09T19:00'));
    if (!spray) throw new Error('no spray');
    expect(await lookBackOnSpray(lawn, spray, now)).toEqual({ kind: 'no-hours' });
    expect(await lookBackOnSpray({ ...lawn, latitudeDeg: null }, spray, now)).toEqual({ kind: 'no-place' });
  });
  test('under the midnight sun a spray is scored and its sun is tagged, not missing', async () => {
    const { id } = await testLawn({ latitudeDeg: 69.6, longitudeDeg: 18.9, timeZone: 'Europe/Oslo' });
    const lawn = await findLawn(id);
    const spray =
      lawn &&
      (await findSpray(
        await testSpray(lawn, '2026-06-21T23:30', { airTempC: 12, relHumidityPercent: 70, windMPerS: 2 }),
      ));
    if (!lawn || !spray) throw new Error('no spray');
    const answer = await lookBackOnSpray(lawn, spray, now);
    if (answer.kind !== 'looked-back') throw new Error(answer.kind);
    expect(answer.lookBack.sun.sun.kind).toBe('always-above');
    expect(answer.lookBack.score.hours[0]?.reasons.find((reason) => reason.topic === 'light')?.verdict).toBe(
      'suitable',
    );
  });
});
