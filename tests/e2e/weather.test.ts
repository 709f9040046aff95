import fs from 'node:fs';
import { createServer, type RequestListener, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { closeDiary } from '@/lib/diary/client';
import type { Lawn } from '@/lib/diary/lawns';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';
import { testLawn, testSpray } from '../support/test-lawn';

const hourMs = 3_600_000;
let server: TestServer;
let browser: Browser;
let service: Server;
let answer: RequestListener = (_request, response) => response.end('{}');
let lawn: Lawn;
let sprayId: string;
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-weather-'));
const logger = path.join(scratch, 'back garden.csv');

/** Two days of a logger in °F, mph and inches: one bad row, one duplicate, three hours missing. */
function loggerFile(): string {
  const rows: string[] = [];
  for (let index = 0; index < 48; index += 1) {
    if (index >= 30 && index < 33) continue;
    const hour = index % 24;
    const stamp = `5/${index < 24 ? 1 : 2}/2026 ${String(hour).padStart(2, '0')}:00`;
    const row = `${stamp},${68 + hour / 2},55,5,0.00,${hour > 6 && hour < 20 ? 420 : 0}`;
    rows.push(row, ...(index === 10 ? [row] : []));
  }
  rows.splice(5, 0, '5/1/2026 04:30,broken,55,5,0.00,0');
  return `Time,Outdoor Temperature (°F),Humidity (%),Wind Speed (mph),Rain (in),Solar Radiation (W/m²)\n${rows.join('\n')}\n`;
}

/** A recorded forecast, laid so that it covers two days back and three ahead of now. */
function recordedForecast(): string {
  const from = Math.floor(Date.now() / hourMs) * hourMs - 48 * hourMs;
  const index = Array.from({ length: 120 }, (_, step) => step);
  return JSON.stringify({
    hourly: {
      time: index.map((step) => new Date(from + step * hourMs).toISOString().slice(0, 16)),
      air_temperature: index.map((step) => 16 + (step % 24) / 4),
      relative_humidity: index.map(() => 60),
      wind_speed: index.map(() => 3.5),
      thickness_of_rainfall_amount: index.map(() => 0),
      cloud_area_fraction: index.map(() => 40),
    },
  });
}

const noSideways = async (page: Page) =>
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);

beforeAll(async () => {
  server = await startServer();
  process.env['SWATHBOOK_DATA'] = server.dataFolder;
  lawn = await testLawn();
  sprayId = await testSpray(lawn, '2026-05-01T18:30');
  await closeDiary();
  browser = await openBrowser();
  service = createServer((request, response) => answer(request, response));
  await new Promise<void>((go) => {
    service.listen(0, '127.0.0.1', go);
  });
  fs.writeFileSync(logger, loggerFile());
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  service?.closeAllConnections();
  service?.close();
  fs.rmSync(scratch, { recursive: true, force: true });
});

describe.each(['desktop', 'phone'] as const)('weather hours on a %s', (size) => {
  test('a logger’s file is previewed, checked with its bad row told, imported, used and undone', async () => {
    const page = await browser.newPage(sizes[size]);
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(`${server.url}/weather`);
    await page.getByRole('link', { name: 'Import a logger’s file' }).click();
    await page.getByLabel('File of readings').setInputFiles(logger);
    await page.getByRole('heading', { name: 'back garden.csv' }).waitFor();
    expect(await page.getByLabel('Outdoor Temperature (°F) is').inputValue()).toBe('airTempC');
    expect(await page.getByLabel('Outdoor Temperature (°F): unit').inputValue()).toBe('degF');
    expect(await page.getByLabel('Time zone').inputValue()).toBe('America/New_York');
    await noSideways(page);
    await page.reload(); // the file waits: a reload loses nothing
    await page.getByText('The file doesn’t say this, and it matters').waitFor();
    await page.getByRole('button', { name: 'Check the whole file' }).click();
    await page.getByText('expected the height of the anemometer').waitFor();
    await page.getByLabel('Height of the anemometer, m').fill('2');
    await page.getByRole('button', { name: 'Check the whole file' }).click();
    await page
      .getByText('Line 7: Air temperature: expected a number in °F, got ‘broken’')
      .or(page.getByText(/Line 7: Air temperature: expected a number in °F, got 'broken'/))
      .waitFor();
    await page.getByText('Nothing is in the diary yet.').waitFor();
    await page.getByRole('button', { name: 'Import these 45 hours' }).click();
    await page.getByText('45 hours are in the diary').waitFor();
    await page.getByText('1 spray has weather from hours.').waitFor();

    await page.goto(`${server.url}/sprays/${sprayId}`);
    await page.getByText('from the weather hours, wind near the ground').waitFor();
    await page.getByRole('heading', { name: 'How the weather was for it' }).waitFor();
    await page.getByText(/until the film is dry on the leaf/).waitFor();
    await noSideways(page);

    await page.goto(`${server.url}/weather?year=2026`);
    await page.locator('canvas').nth(3).waitFor();
    await page.getByText('1 gap, 3 hours without a temperature').waitFor();
    await noSideways(page);
    await page.goto(`${server.url}/weather/day/2026-05-01`);
    await page.getByText('24 of 24').waitFor();
    await noSideways(page);
    const csv = await (await fetch(`${server.url}/api/weather/export?lawn=${lawn.id}&year=2026`)).text();
    expect(csv.trim().split('\r\n')).toHaveLength(46);

    await page.goto(`${server.url}/weather#files`);
    await page.getByRole('button', { name: 'Undo this import' }).click();
    await page.getByText('None yet. Any station logger’s CSV will do').waitFor();
    await page.goto(`${server.url}/sprays/${sprayId}`);
    await page.getByText('Weather not recorded.').waitFor();
    expect(errors).toEqual([]);
    await page.close();
  });

  test('a service gives a window for the hours ahead; when it hangs, fails or babbles the page stays whole with one sentence', async () => {
    const page = await browser.newPage(sizes[size]);
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(`${server.url}/weather`);
    await page.getByText('Settings of the service').click();
    await page.getByLabel('Name', { exact: true }).fill('Next door');
    await page.getByLabel('Longest wait, s').fill('0.4');
    await page.getByLabel('Ask this service for weather hours').check();
    await page.getByLabel('Address').fill('ftp://somewhere');
    await page.getByRole('button', { name: 'Save the service' }).click();
    await page
      .getByText(/expected a web address that starts with https/)
      .first()
      .waitFor();
    expect(await page.getByLabel('Longest wait, s').inputValue()).toBe('0.4'); // nothing typed is lost
    answer = (_request, response) => response.end(recordedForecast());
    // Another address at each size, so that the answer kept for the first is not fresh for the second.
    await page
      .getByLabel('Address')
      .fill(
        `http://127.0.0.1:${(service.address() as AddressInfo).port}/${size}?at={latitude},{longitude}&fields={fields}`,
      );
    await page.getByRole('button', { name: 'Save the service' }).click();
    await page
      .getByText('Saved. The service is asked')
      .or(page.getByText(/Next door: \d+ past and/))
      .first()
      .waitFor();
    await page.goto(`${server.url}/weather`);
    await page.getByRole('button', { name: 'Ask for hours now' }).click();
    await page.getByText(/Next door: 48 past and 72 coming hours/).waitFor();
    await page.locator('#window ol li').first().waitFor();
    await expect.poll(() => page.locator('.hour-cell').count()).toBe(48);
    await page.locator('.hour-cell').nth(5).click();
    await page.locator('#window .reasons li').nth(6).waitFor();
    await page.getByText('sunrise').first().waitFor();
    await page.getByText('Drying time by hour and carrier volume').click();
    await page.locator('#window table tbody tr').nth(23).waitFor();
    await noSideways(page);

    const bad: [RequestListener, RegExp][] = [
      [() => undefined, /Next door: no answer within 0\.4 s\./],
      [
        (_request, response) => {
          response.statusCode = 500;
          response.end('no');
        },
        /Next door: expected weather, got error 500\./,
      ],
      [(_request, response) => response.end('not weather'), /Next door: expected JSON, got something else\./],
    ];
    for (const [index, [listener, sentence]] of bad.entries()) {
      answer = listener;
      const settings = page.locator('#service');
      await settings.getByText('Settings of the service').click();
      await settings
        .getByLabel('Address')
        .fill(`http://127.0.0.1:${(service.address() as AddressInfo).port}/${size}/${index}?at={latitude},{longitude}`);
      await settings.getByRole('button', { name: 'Save the service' }).click();
      await settings.getByText('Saved. The service is asked').waitFor();
      await page.goto(`${server.url}/weather`);
      await page.getByRole('button', { name: 'Ask for hours now' }).click();
      await page.getByText(sentence).waitFor();
      expect(await page.locator('.hour-cell').count()).toBe(48);
      await page.getByText(/the answer shown is of/).waitFor();
    }
    await page.getByRole('button', { name: /Remove the service’s/ }).click();
    await expect.poll(() => page.getByRole('button', { name: /Remove the service’s/ }).count()).toBe(0);
    expect(errors).toEqual([]);
    await page.close();
  });
});
