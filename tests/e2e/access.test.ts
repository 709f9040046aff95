import fs from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { addressesOfDemo } from '../support/every-page';
import { startServer, type TestServer } from '../support/server';

const axeSource = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let server: TestServer;
let browser: Browser;
let addresses: string[] = [];

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await openBrowser();
  const page = await browser.newPage(sizes.desktop);
  addresses = await addressesOfDemo(page, server.url);
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
