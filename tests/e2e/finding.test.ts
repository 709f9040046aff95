import fs from 'node:fs';
import path from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

let server: TestServer;
let browser: Browser;

beforeAll(async () => {
  server = await startServer();
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

const files = (folder: string) =>
  fs
    .readdirSync(path.join(server.dataFolder, folder), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile()).length;

describe('the demo lawn, finding things and taking things back', () => {
  test('an empty diary offers the demo lawn, draws it in the background and opens it', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(server.url);
    await page.getByRole('button', { name: 'Look at the demo lawn first' }).click();
    await page.getByText('The demo lawn is being drawn').waitFor();
    await page.getByText('This is the demo lawn').waitFor({ timeout: 300_000 });
    await page.locator('.day').first().waitFor();
    expect(await page.locator('.photo-card').count()).toBeGreaterThan(5);
    await page.close();
  }, 320_000);

  test('the diary shows plots beside the check; the season is moved along by keys; one slider shows the time before', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(server.url);
    expect(await page.locator('.answer-sheet').innerText()).toMatch(
      /turned darker than the check by 0\.\d{3} \(0\.\d{3} to 0\.\d{3}\)/,
    );
    const season = page.getByRole('region', { name: 'The season' });
    const slide = season.getByRole('slider', { name: /Move along the season/ });
    await slide.focus();
    const newest = await slide.getAttribute('aria-valuetext');
    await slide.press('ArrowLeft');
    expect(await slide.getAttribute('aria-valuetext')).not.toBe(newest);
    await slide.press('End');
    expect(await slide.getAttribute('aria-valuetext')).toBe(newest);
    const plot = season.getByRole('img', { name: 'C · full iron from above' });
    await plot.scrollIntoViewIfNeeded();
    await expect
      .poll(() => plot.evaluate((img: HTMLImageElement) => img.naturalWidth), { timeout: 20_000 })
      .toBeGreaterThan(300);
    expect(await season.locator('.band-before').count()).toBe(0);
    await season.getByRole('slider', { name: /time before the spray/ }).fill('100');
    await expect
      .poll(
        () =>
          season
            .locator('.band-before')
            .first()
            .evaluate((img: HTMLImageElement) => img.naturalWidth),
        { timeout: 20_000 },
      )
      .toBeGreaterThan(300);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    expect(wide).toBeLessThanOrEqual(sizes.phone.viewport.width);
    await page.close();
  }, 120_000);

  test('a form sent before its script is awake comes back with its sentence and all that was typed', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.route('**/_next/static/**', (route) =>
      route.request().resourceType() === 'script' ? route.abort() : route.continue(),
    );
    await page.goto(`${server.url}/lawn`);
    await page.getByLabel('Latitude', { exact: true }).fill('95');
    await page.getByLabel('Note', { exact: true }).fill('Moss under the birch.');
    await page.getByLabel('Chlorinated', { exact: true }).check();
    await page.unroute('**/_next/static/**');
    await page.getByRole('button', { name: 'Save the lawn' }).click();
    await page.getByText('What you had typed here and not saved is back.').waitFor();
    expect(await page.getByLabel('Latitude', { exact: true }).inputValue()).toBe('95');
    expect(await page.getByLabel('Note', { exact: true }).inputValue()).toBe('Moss under the birch.');
    expect(await page.getByLabel('Chlorinated', { exact: true }).isChecked()).toBe(true);
    expect(await page.locator('[aria-invalid="true"]').count()).toBe(1);
    await page.close();
  }, 60_000);

  test('the lawn’s days come as a calendar file, and under a private address until it is revoked', async () => {
    const file = await fetch(`${server.url}/api/calendar.ics`);
    expect(file.headers.get('content-type')).toContain('text/calendar');
    expect(await file.text()).toMatch(/^BEGIN:VCALENDAR\r\n[\s\S]*END:VCALENDAR\r\n$/);
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/calendar`);
    await page.getByRole('button', { name: 'Make a private address' }).click();
    const address = await page.locator('.share-address a').innerText();
    expect((await fetch(address)).headers.get('content-type')).toContain('text/calendar');
    expect((await fetch(address.slice(0, -1) + (address.endsWith('A') ? 'B' : 'A'))).status).toBe(404);
    await page.getByRole('button', { name: 'Revoke the address' }).click();
    await page.getByRole('button', { name: 'Make a private address' }).waitFor();
    expect((await fetch(address)).status).toBe(404);
    await page.close();
  }, 60_000);

  test('a search finds sprays by product and photos by viewpoint, and filters narrow it down', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(server.url);
    await page.getByRole('searchbox', { name: 'Find in the diary' }).fill('third step');
    await page.getByRole('searchbox', { name: 'Find in the diary' }).press('Enter');
    await page.getByRole('heading', { name: 'Photos', exact: true }).waitFor();
    const all = await page.locator('.photo-grid li').count();
    expect(all).toBeGreaterThan(5);
    expect(await page.getByRole('heading', { name: 'Sprays', exact: true }).count()).toBe(0);
    await page.getByLabel('From', { exact: true }).fill('2026-05-01');
    await page.getByRole('button', { name: 'Find' }).click();
    await page.waitForURL(/from=2026-05-01/);
    // Between the two answers the list may be gone for a moment: fewer, and not none, is what is waited for.
    await expect
      .poll(async () => [0, all].includes(await page.locator('.photo-grid li').count()), { timeout: 15_000 })
      .toBe(false);
    expect(await page.locator('.photo-grid li').count()).toBeLessThan(all);
    await page.goto(`${server.url}/find?q=ferrous`);
    expect(
      await page
        .locator('section', { has: page.getByRole('heading', { name: 'Sprays', exact: true }) })
        .locator('li')
        .count(),
    ).toBeGreaterThan(0);
    await page.goto(`${server.url}/find?q=nothing-is-called-so`);
    await page.getByText('Nothing in the diary fits').waitFor();
    await page.close();
  });

  test('the calendar says what a day holds and opens the diary there', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(`${server.url}/calendar`);
    await page.getByRole('link', { name: 'Apr 14, 2026: 2 sprays' }).click();
    await page.locator('.day').first().waitFor();
    expect(await page.locator('.day-date').first().innerText()).toMatch(/^Apr 14/);
    await page.close();
  });

  test('a removed spray is undone at once, and a removed photo comes back from the bin', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/?show=sprays`);
    const sprays = await page.locator('.chip-spray').count();
    await page.locator('.day-items a[href^="/sprays/"]').first().click();
    await page.getByRole('heading', { name: /^Spray of/ }).waitFor();
    const address = page.url();
    await page.getByRole('button', { name: 'Move to the bin' }).click();
    await page.getByText('Spray moved to the bin.').waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.waitForURL(address);
    await page.goto(`${server.url}/?show=sprays`);
    expect(await page.locator('.chip-spray').count()).toBe(sprays);
    expect(await page.getByText('moved to the bin').count()).toBe(0);

    await page.goto(`${server.url}/photos`);
    const photos = await page.locator('.photo-grid li').count();
    await page.locator('.photo-grid a').first().click();
    await page.getByText('When, where and how it was taken').click();
    await page.getByRole('button', { name: 'Move to the bin' }).click();
    await expect.poll(() => page.locator('.photo-grid li').count()).toBe(photos - 1);
    await page.goto(`${server.url}/bin`);
    await page.getByRole('button', { name: /^Put back photo/ }).click();
    await page.getByRole('heading', { name: 'The bin is empty' }).waitFor();
    await page.goto(`${server.url}/photos`);
    expect(await page.locator('.photo-grid li').count()).toBe(photos);
    await page.close();
  });

  test('a photo deleted for good takes its file and its prints with it, after asking', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/photos`);
    await page.locator('.photo-grid a').first().click();
    await page.getByText('When, where and how it was taken').click();
    await page.getByRole('button', { name: 'Move to the bin' }).click();
    await page.getByText('Photo moved to the bin.').waitFor();
    const [before, printsBefore] = [files('photos'), files('prints')];
    await page.goto(`${server.url}/bin`);
    page.once('dialog', (dialog) => void dialog.dismiss());
    await page.getByRole('button', { name: 'Delete for good' }).click();
    expect(files('photos')).toBe(before);
    page.once('dialog', (dialog) => void dialog.accept());
    await page.getByRole('button', { name: 'Delete for good' }).click();
    await page.getByRole('heading', { name: 'The bin is empty' }).waitFor();
    expect(files('photos')).toBe(before - 1);
    expect(files('prints')).toBeLessThan(printsBefore);
    await page.close();
  });

  test('taking the demo out leaves an empty diary and no photo file', async () => {
    const page = await browser.newPage(sizes.desktop);
    // Cut-outs that the page asked for are made by then.
    await page.goto(server.url, { waitUntil: 'networkidle' });
    await page.getByRole('button', { name: 'Take the demo out' }).click();
    await page.getByRole('heading', { name: /^Did the spray make it greener/ }).waitFor();
    expect(files('photos')).toBe(0);
    expect(files('prints')).toBe(0);
    await page.goto(`${server.url}/shelf`);
    expect(await page.getByText('Ferrous sulfate heptahydrate').count()).toBe(0);
    await page.close();
  });
});
