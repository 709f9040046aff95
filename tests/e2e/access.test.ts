import fs from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

const axeSource = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let server: TestServer;
let browser: Browser;
let addresses: string[] = [];

/** The first address on a page that matches, or none. */
async function firstLink(page: Page, from: string, pattern: RegExp): Promise<string[]> {
  await page.goto(server.url + from);
  const found = await page.locator('main a').evaluateAll((all) => all.map((link) => (link as HTMLAnchorElement).getAttribute('href') ?? ''));
  const match = found.find((address) => pattern.test(address));
  return match ? [match] : [];
}

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await openBrowser();
  const page = await browser.newPage(sizes.desktop);
  const [viewpoint] = await firstLink(page, '/photos', /^\/photos\?viewpoint=[a-z0-9]{8,}$/);
  const [marked] = await firstLink(page, '/find?in=marks', /^\/photos\/[a-z0-9]{8,}$/);
  const mark = marked ? await firstLink(page, marked, /^\/marks\/[a-z0-9]{8,}$/) : [];
  addresses = [
    '/', '/?show=sprays', '/plan', '/plan/new', '/plan/calibrate', '/sprays/new', '/events/new', '/events/new?kind=product', '/photos', '/capture', '/trials', '/trials/new', '/response', '/response/against', '/shelf', '/shelf/new', '/weather',
    '/weather/import', '/lawn', '/lawn?new', '/find', '/find?q=iron', '/calendar', '/bin', '/keep', '/methods',
    ...(await firstLink(page, '/?show=sprays', /^\/sprays\/[a-z0-9]{8,}$/)),
    ...(await firstLink(page, '/photos', /^\/photos\/[a-z0-9]{8,}$/)),
    ...(await firstLink(page, viewpoint ?? '/photos', /^\/compare\?/)),
    ...(marked ? [marked, ...mark, ...mark.map((address) => `${address}/find-out`)] : []),
    ...(await firstLink(page, '/shelf', /^\/shelf\/[a-z0-9]{8,}$/)),
    ...(await firstLink(page, '/weather', /^\/weather\/day\//)),
    ...(await firstLink(page, '/trials', /^\/trials\/[a-z0-9]{8,}$/)).flatMap((trial) => [trial, `${trial}/on-site`, `${trial}/on-site?what=clippings`]),
    ...(await firstLink(page, '/?show=events', /^\/events\/[a-z0-9]{8,}$/)),
    '/no-such-page',
  ];
  await page.close();
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

/** Serious and critical findings of axe-core on the page as it is. */
async function findings(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  const result = (await page.evaluate('axe.run(document, { resultTypes: ["violations"] })')) as AxeResults;
  return result.violations
    .filter((violation) => violation.impact === 'serious' || violation.impact === 'critical')
    .map((violation) => `${violation.id}: ${violation.nodes.slice(0, 3).map((node) => `${node.html.slice(0, 160)} ${node.any[0]?.message ?? ''}`).join(' | ')}`);
}

describe('every page of the demo diary', () => {
  for (const [size, colorScheme] of [['phone', 'light'], ['desktop', 'dark'], ['phone', 'dark'], ['desktop', 'light']] as const) {
    test(`${size}, ${colorScheme}: axe-core finds nothing serious, and the page does not scroll sideways`, async () => {
      const context = await browser.newContext({ ...sizes[size], colorScheme });
      const page = await context.newPage();
      const wrong: string[] = [];
      expect(addresses.length).toBeGreaterThan(30);
      for (const address of addresses) {
        await page.goto(server.url + address);
        // Details hide half of a page from a look at it.
        await page.locator('details').evaluateAll((all) => all.forEach((one) => ((one as HTMLDetailsElement).open = true)));
        wrong.push(...(await findings(page)).map((finding) => `${address} ${finding}`));
        const sideways = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (sideways > 0) wrong.push(`${address} scrolls sideways by ${sideways} px`);
      }
      expect(wrong).toEqual([]);
      await context.close();
    });
  }

  test('on a phone the row of pages shows the current one, wherever it stands in the row', async () => {
    const page = await browser.newPage(sizes.phone);
    for (const address of ['/', '/response', '/lawn']) {
      await page.goto(server.url + address);
      const here = page.locator('.frame-nav [aria-current="page"]');
      await expect.poll(async () => {
        const box = await here.boundingBox();
        return box !== null && box.x >= 0 && box.x + box.width <= 390;
      }).toBe(true);
    }
    await page.close();
  });
});
