import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { demoScenario } from '@/lib/demo/scenario';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

let server: TestServer;
let browser: Browser;
const { lawn } = demoScenario();

beforeAll(async () => {
  server = await startServer({ demo: 'metric' });
  browser = await openBrowser();
}, 300_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

/** A page that notes its own errors, and fails a test that leaves some. */
async function openPage(size: keyof typeof sizes): Promise<{ page: Page; errors: string[] }> {
  const page = await browser.newPage(sizes[size]);
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  return { page, errors };
}

const sideways = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

describe('trials', () => {
  test.each(['desktop', 'phone'] as const)(
    'a trial is laid out, its map and its photo days are there: %s',
    async (size) => {
      const { page, errors } = await openPage(size);
      await page.goto(`${server.url}/trials/new`);
      await page.getByLabel('Name', { exact: true }).fill(`Rates by ${size}`);
      await page.getByRole('textbox', { name: 'Treatment 2', exact: true }).fill('Iron');
      await page.getByRole('button', { name: 'Lay it out' }).click();
      // Without a product the treatment is refused, and what was typed stays.
      await page.getByText('expected at least one product with its rate').first().waitFor();
      expect(await page.getByRole('textbox', { name: 'Treatment 2', exact: true }).inputValue()).toBe('Iron');
      await page.getByLabel('Product 1 of treatment 2').selectOption({ label: 'Ferrous sulfate heptahydrate' });
      await page.getByLabel('Rate 1 of treatment 2', { exact: true }).fill('60');
      await page.getByLabel('Rate 1 of treatment 2: unit').selectOption('g/100m2');
      await page.getByLabel('Blocks (replicates)').fill('4');
      await page.getByLabel('Seed of the draw').fill('77');
      expect(await page.locator('.power-line').innerText()).toMatch(
        /With 4 blocks you can see a difference of 0\.0\d\d/,
      );
      expect(await page.locator('.strip-map title').count()).toBe(8);
      const drawn = await page.locator('.strip-map title').allTextContents();
      expect(await sideways(page)).toBeLessThanOrEqual(0);
      await page.getByRole('button', { name: 'Lay it out' }).click();
      await page.getByRole('heading', { name: `Rates by ${size}` }).waitFor();
      const [named, kept] = [
        drawn.map((title) => title.split(': ')[1]),
        (await page.locator('.strip-map title').allTextContents()).map((title) => title.split(': ')[1]),
      ];
      expect(kept).toEqual(named); // what was shown is what was kept
      // 60 g/100 m² on 4 strips of two 0.75 m passes by 5 m is 18 g.
      await page.getByText('18 g', { exact: true }).waitFor();

      const calendar = await (await page.request.get(`${page.url().split('?')[0]}/calendar`)).text();
      expect(calendar.match(/BEGIN:VEVENT/g)).toHaveLength(5); // the spray and days 1, 3, 7, 14
      await page.getByRole('link', { name: 'To print' }).click();
      await page.getByRole('heading', { name: 'Stakes' }).waitFor();
      expect(await page.locator('table').first().locator('tbody tr').count()).toBe(8);
      expect(await sideways(page)).toBeLessThanOrEqual(0);

      await page.goBack();
      await page.getByRole('link', { name: 'Plan this spray' }).first().click();
      await page.waitForURL(/\/plan\/new/);
      expect(
        await page
          .locator('input[value="60"], input')
          .evaluateAll((all) => all.some((input) => (input as HTMLInputElement).value === '60')),
      ).toBe(true);
      expect(errors).toEqual([]);
      await page.close();
    },
  );

  test('on a phone a mark’s cause is put to the test: each power stands under its number of blocks, and the mixes are filled in', async () => {
    const { page, errors } = await openPage('phone');
    await page.goto(server.url);
    await page.locator('a[href^="/marks/"]').first().click();
    await page.getByRole('link', { name: /^Find out/ }).click();
    const power = page.getByRole('region', { name: 'How often a cause is told' });
    const cells = async (row: string) =>
      power.locator(row).evaluateAll((all) => all.map((cell) => Math.round(cell.getBoundingClientRect().right)));
    await power.getByText('Blocks').waitFor();
    expect(await cells('thead th')).toEqual(await cells('tbody th, tbody td'));
    expect(await sideways(page)).toBeLessThanOrEqual(0);
    await page.getByLabel('Near-left stake').fill('30');
    await page.getByRole('button', { name: 'Lay it out' }).click();
    await page.getByRole('heading', { name: 'How to find out' }).waitFor();
    await page.getByText('Ferrous sulfate heptahydrate').first().waitFor();
    expect(await sideways(page)).toBeLessThanOrEqual(0);
    expect(errors).toEqual([]);
    await page.close();
  });

  test('the demo’s trial: blind ratings, analysis, report, and a shared link that says nothing of the place', async () => {
    const { page, errors } = await openPage('desktop');
    await page.goto(`${server.url}/trials`);
    // Over since its last photo day, it stands back behind the two just laid out.
    await page.getByText('1 finished trial').click();
    await page.getByRole('link', { name: 'How much iron is enough?' }).click();
    await page.getByRole('heading', { name: 'Readings' }).waitFor();
    const trialUrl = page.url();

    await page.getByRole('link', { name: 'Rate blind' }).click();
    await page.getByLabel('Who rates').fill('Una');
    await page.getByLabel('Photos of').selectOption('2026-05-12');
    await page.getByRole('button', { name: 'Start rating' }).click();
    await page.locator('.rate-card img').first().waitFor();
    expect(await page.locator('main').innerText()).not.toMatch(/full iron|lean iron|unsprayed/i);
    for (const image of await page.locator('.rate-card img').all())
      expect(
        await image.evaluate(async (node: HTMLImageElement) => (await node.decode(), node.naturalHeight)),
      ).toBeGreaterThan(100);
    for (const number of [1, 2, 3])
      await page
        .locator('.rate-card', { hasText: `Strip picture ${number}` })
        .getByText('7', { exact: true })
        .click();
    await page.getByRole('button', { name: 'Keep the scores' }).click();
    await page.getByText('3 scores kept.').waitFor();

    await page.goto(`${trialUrl}/analysis`);
    await page.getByText('Each treatment lies on one strip only').first().waitFor();
    await page.getByLabel('Reason').fill('haze over a third of the strip');
    await page.getByLabel('Photo of').selectOption({ label: '9 May 2026' });
    await page.getByLabel('Strip', { exact: true }).selectOption({ label: 'C' });
    await page.getByRole('button', { name: 'Leave it out' }).click();
    await page.getByText('Day 25: strip C does not count (haze over a third of the strip).').waitFor();

    await page.goto(trialUrl);
    await page.getByRole('button', { name: 'Make a read-only link' }).click();
    const shared = await page.locator('.share-address a').getAttribute('href');
    await page.goto(`${trialUrl}/report`);
    await page.getByRole('heading', { name: 'Film strip' }).waitFor();
    expect(await page.locator('.film-table img').count()).toBe(36);

    const stranger = await browser.newContext(sizes.phone);
    const reader = await stranger.newPage();
    const seen: string[] = [];
    reader.on(
      'response',
      (response) =>
        void response.text().then(
          (text) => seen.push(text),
          () => undefined,
        ),
    );
    await reader.goto(`${server.url}${shared}`, { waitUntil: 'networkidle' });
    await reader.getByRole('heading', { name: 'The answer in short' }).waitFor();
    expect(await reader.getByText('haze over a third of the strip').count()).toBeGreaterThan(0);
    expect(await reader.getByRole('navigation').count()).toBe(0);
    expect(await sideways(reader)).toBeLessThanOrEqual(0);
    expect(seen.length).toBeGreaterThan(5);
    // A coordinate is a number of its own: the chart's own places may hold the same digits among others (as 519.87…).
    const told = [lawn.name, lawn.place, lawn.timeZone, 'orchard-green'].map(
      (word) => (text: string) => text.includes(word),
    );
    const coordinates = [lawn.latitudeDeg, lawn.longitudeDeg].map(
      (degrees) => new RegExp(`(?<![\\d.])${String(degrees).replace('.', '\\.')}(?!\\d)`),
    );
    for (const tells of [...told, ...coordinates.map((number) => (text: string) => number.test(text))])
      expect(seen.filter(tells).map((text) => text.slice(0, 200))).toEqual([]);
    const picture = Buffer.from(
      await (
        await reader.request.get(`${server.url}${await reader.locator('.film-table img').first().getAttribute('src')}`)
      ).body(),
    );
    expect(picture.subarray(0, 3).toString('hex')).toBe('ffd8ff');
    expect(picture.includes('Exif')).toBe(false);
    // A picture of the diary that is not of this trial, or with another's plot, is not there.
    const [, photo, plot] =
      /photo=(\w+)&plot=(\w+)/.exec((await reader.locator('.film-table img').first().getAttribute('src')) ?? '') ?? [];
    expect((await reader.request.get(`${server.url}${shared}/strip?photo=${photo}&plot=${photo}`)).status()).toBe(404);
    expect(
      (await reader.request.get(`${server.url}${shared?.slice(0, -2)}xx/strip?photo=${photo}&plot=${plot}`)).status(),
    ).toBe(404);

    await page.goto(trialUrl);
    await page.getByRole('button', { name: 'Revoke' }).click();
    await page.getByText('revoked').waitFor();
    expect((await reader.goto(`${server.url}${shared}`))?.status()).toBe(404);
    const pdf = await page.goto(`${trialUrl}/report`).then(() => page.pdf({ format: 'A4' }));
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
    expect(errors).toEqual([]);
    await stranger.close();
    await page.close();
  });

  test('response against rates and weather: a line with its interval, what moves with what, points that open photos', async () => {
    const { page, errors } = await openPage('phone');
    await page.goto(`${server.url}/response`);
    await page.getByRole('link', { name: 'Against rates and weather' }).click();
    await page.getByRole('heading', { name: /Colour change at day 7/ }).waitFor();
    await page.getByRole('img', { name: /Colour change at day 7/ }).waitFor();
    await page.getByText('One unit more of').first().waitFor();
    await page.getByText('A diary shows what went together, not what caused what').first().waitFor();
    await page.getByLabel('Along').selectOption({ label: 'drying time, min (estimate)' });
    await page.getByRole('button', { name: 'Show' }).click();
    await page.getByRole('heading', { name: /against drying time/ }).waitFor();
    await page.getByRole('link', { name: 'open' }).first().click();
    await page.waitForURL(/\/photos\//);
    expect(errors).toEqual([]);
    await page.close();
  });
});
