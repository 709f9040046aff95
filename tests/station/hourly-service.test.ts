import { type RequestListener, createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, describe, expect, test } from 'vitest';
import { type ForecastSettings, forecastSettingsSchema, readForecastHours } from '@/lib/forms/weather/forecast-json';
import { type ServiceOptions, hourlyService, serviceAddress } from '@/lib/station/hourly-service';
import { memoryCache } from '@/lib/station/memory-cache';

const settings: ForecastSettings = forecastSettingsSchema.parse({
  addressTemplate: 'http://127.0.0.1/{latitude}/{longitude}',
  fields: [
    { field: 'airTempC', name: 'air_temperature', unit: 'degC' },
    { field: 'windMPerS', name: 'wind', unit: 'm/s' },
  ],
});
const answer = JSON.stringify({
  hourly_units: { air_temperature: '°F', wind: 'km/h' },
  hourly: { time: ['2025-06-20T00:00', '2025-06-20T01:00'], air_temperature: [68, null], wind: [36, 18] },
});
const request = {
  latitudeDeg: 40.123456,
  longitudeDeg: -90.5,
  fromUtcMs: Date.parse('2025-06-20T00:00Z'),
  toUtcMs: Date.parse('2025-06-22T00:00Z'),
};

const closers: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const close of closers.splice(0)) await close();
});

async function serve(listener: RequestListener): Promise<{ base: string; seen: string[] }> {
  const seen: string[] = [];
  const server = createServer((incoming, outgoing) => {
    seen.push(incoming.url ?? '');
    listener(incoming, outgoing);
  });
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
  return { base: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, seen };
}
function service(base: string, more: Partial<ServiceOptions> = {}) {
  return hourlyService({
    name: 'Service',
    addressTemplate: `${base}/v?lat={latitude}&lon={longitude}&from={from}&to={to}&hourly={fields}`,
    fieldNames: ['air_temperature', 'wind'],
    parse: (json) => readForecastHours(json, settings),
    cache: memoryCache(),
    now: () => 1_000_000,
    // Patient, so that a busy machine's answer is none too late.
    timeoutMs: 20_000,
    tries: 2,
    backoffMs: 5,
    ...more,
  });
}

describe('hours over HTTP', () => {
  test('hours come in canonical units by the units the answer names, and the address holds place, dates and fields', async () => {
    const { base, seen } = await serve((_, out) => out.end(answer));
    const reply = await service(base).load(request);
    if (reply.kind !== 'hours') throw new Error(reply.sentence);
    expect(reply.hours.map((hour) => [hour.airTempC, hour.windMPerS, hour.windHeightM])).toEqual([
      [20, 10, 10],
      [null, 5, 10],
    ]);
    expect(seen).toEqual(['/v?lat=40.12&lon=-90.50&from=2025-06-20&to=2025-06-22&hourly=air_temperature,wind']);
  });
  test('a fresh answer is not asked for twice, an old one is, and its age is told', async () => {
    const { base, seen } = await serve((_, out) => out.end(answer));
    let now = 1_000_000;
    const source = service(base, { now: () => now, freshMs: 60_000 });
    await source.load(request);
    now += 50_000;
    expect(await source.load(request)).toMatchObject({ kind: 'hours', fromCache: true, ageMs: 50_000 });
    now += 20_000;
    expect(await source.load(request)).toMatchObject({ kind: 'hours', fromCache: false, ageMs: 0 });
    expect(seen).toHaveLength(2);
  });
  test('two who ask at once share one fetch', async () => {
    const { base, seen } = await serve((_, out) => setTimeout(() => out.end(answer), 30));
    const source = service(base);
    const [one, two] = await Promise.all([source.load(request), source.load(request)]);
    expect(one).toBe(two);
    expect(seen).toHaveLength(1);
  });
  // prettier-ignore
  test.each<[string, RequestListener, string, RegExp, number]>([
    ['hangs', () => undefined, 'timeout', /^Service: no answer within 0\.3 s\.$/, 2],
    ['hangs half-way', (_, out) => void out.write('{"hourly":'), 'timeout', /no answer within/, 2],
    ['answers 500', (_, out) => void out.writeHead(500).end('no'), 'status', /^Service: expected weather, got error 500\.$/, 2],
    ['answers 404', (_, out) => void out.writeHead(404).end('no'), 'status', /error 404/, 1],
    ['sends a page', (_, out) => void out.end('<html>hello'), 'not-json', /expected JSON/, 1],
    ['sends other JSON', (_, out) => void out.end('{"error":true}'), 'not-hours', /expected hours, as lists side by side or as rows/, 1],
    ['sends lists of unlike length', (_, out) => void out.end('{"hourly":{"time":["2025-06-20T00:00"],"wind":[1,2]}}'), 'not-hours', /expected 1 numbers in wind, got 2/, 1],
    ['sends words for numbers', (_, out) => void out.end('{"hourly":{"time":["2025-06-20T00:00"],"wind":["x"]}}'), 'not-hours', /in wind, got something else/, 1],
    ['sends too much', (_, out) => void out.end('x'.repeat(3000)), 'too-big', /expected at most 1 kB, got more/, 1],
    ['sends elsewhere', (_, out) => void out.writeHead(302, { location: 'http://127.0.0.1:1/' }).end(), 'redirect', /another address/, 1],
    ['breaks off', (incoming) => void incoming.socket.destroy(), 'unreachable', /can't be reached/, 2],
  ])('a service that %s gives one sentence and no exception', async (_, listener, reason, sentence, asked) => {
    const { base, seen } = await serve(listener);
    const reply = await service(base, { mostBytes: 1000, ...(reason === 'timeout' ? { timeoutMs: 300 } : {}) }).load(request);
    expect(reply).toMatchObject({ kind: 'failed', reason, last: null });
    expect(reply.kind === 'failed' ? reply.sentence : '').toMatch(sentence);
    expect(seen).toHaveLength(asked);
  });
  test('after a failure the last good hours are still given, with their age', async () => {
    let good = true;
    const { base } = await serve((_, out) => void (good ? out.end(answer) : out.writeHead(503).end()));
    let now = 0;
    const source = service(base, { now: () => now, freshMs: 1 });
    await source.load(request);
    good = false;
    now = 7_200_000;
    const reply = await source.load(request);
    expect(reply).toMatchObject({ kind: 'failed', reason: 'status', last: { ageMs: 7_200_000 } });
  });
  test('a second try helps after one failure', async () => {
    let count = 0;
    const { base } = await serve((_, out) => {
      count += 1;
      if (count === 1) out.writeHead(500).end();
      else out.end(answer);
    });
    expect((await service(base).load(request)).kind).toBe('hours');
  });
  test('a closed port, a bad address, a broken cache and a page that went away are sentences too', async () => {
    expect(await service('http://127.0.0.1:1').load(request)).toMatchObject({ kind: 'failed', reason: 'unreachable' });
    expect(await service('file:///etc').load(request)).toMatchObject({ kind: 'failed', reason: 'address' });
    const { base } = await serve((_, out) => out.end(answer));
    const broken = { get: () => Promise.reject(new Error('disk')), put: () => Promise.reject(new Error('disk')) };
    expect((await service(base, { cache: broken }).load(request)).kind).toBe('hours');
    const hanging = await serve(() => undefined);
    expect(await service(hanging.base).load({ ...request, signal: AbortSignal.timeout(20) })).toMatchObject({
      kind: 'failed',
      reason: 'stopped',
    });
  });
  test('the place leaves here to two decimals only', () => {
    expect(serviceAddress('https://example.org/{latitude}/{longitude}', [], request)).toBe(
      'https://example.org/40.12/-90.50',
    );
  });
});

const refused = (addressTemplate: string) =>
  forecastSettingsSchema.safeParse({ ...settings, addressTemplate }).error?.issues[0]?.message;

test('settings refuse an address without scheme or place, and start without any service', () => {
  expect(refused('ftp://x/{latitude}{longitude}')).toContain('https://');
  expect(refused('https://example.org/')).toContain('{latitude}');
  expect(forecastSettingsSchema.safeParse({}).success).toBe(false);
});
