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
    .map(
      (violation) =>
        `${violation.id}: ${violation.nodes
          .slice(0, 3)
          .map((node) => `${node.html.slice(0, 160)} ${node.any[0]?.message ?? ''}`)
          .join(' | ')}`,
    );
}

describe('every page of the demo diary', () => {
  for (const [size, colorScheme] of [
    ['phone', 'light'],
    ['desktop', 'dark'],
    ['phone', 'dark'],
    ['desktop', 'light'],
  ] as const) {
    test(`${size}, ${colorScheme}: axe-core finds nothing serious, and the page does not scroll sideways`, async () => {
      const context = await browser.newContext({ ...sizes[size], colorScheme });
      const page = await context.newPage();
      const wrong: string[] = [];
      expect(addresses.length).toBeGreaterThan(30);
      for (const address of addresses) {
        await page.goto(server.url + address);
        // Details hide half of a page from a look at it.
        await page
          .locator('details')
          .evaluateAll((all) => all.forEach((one) => ((one as HTMLDetailsElement).open = true)));
        wrong.push(...(await findings(page)).map((finding) => `${address} ${finding}`));
        const sideways = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (sideways > 0) wrong.push(`${address} scrolls sideways by ${sideways} px`);
      }
      expect(wrong).toEqual([]);
      await context.close();
    });
  }

  test('by keyboard alone: an arrow moves the picker of plots, and a slider says what it stands at and where it ends', async () => {
    const page = await browser.newPage(sizes.desktop);
    const photo = addresses.find((address) => /^\/photos\/[a-z0-9]{20,}$/.test(address));
    await page.goto(server.url + photo);
    const radios = page.getByRole('radiogroup', { name: 'What to outline' }).getByRole('radio');
    await radios.first().waitFor();
    const nameOf = () => page.evaluate(() => document.activeElement?.textContent ?? '');
    await radios.nth(1).click();
    const first = await nameOf();
    await page.keyboard.press('ArrowRight');
    expect(await nameOf()).not.toBe(first);
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-checked'))).toBe('true');
    await page.keyboard.press('ArrowLeft');
    expect(await nameOf()).toBe(first);
    const plan = addresses.find((address) => address.endsWith('/edit') && address.startsWith('/plan/'));
    expect(plan).toBeDefined();
    await page.goto(server.url + plan);
    const slider = page.getByRole('slider', { name: /Carrier volume: .+ from a quarter to 3 times the plan/ });
    await slider.focus();
    const before = await slider.getAttribute('aria-valuetext');
    await page.keyboard.press('ArrowRight');
    expect(before).toMatch(/gal\/1000 ft²$/);
    expect(await slider.getAttribute('aria-valuetext')).not.toBe(before);
    await page.close();
  });

  test('a plot added by keyboard leaves the focus in the form for the next', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/lawn`);
    const form = page.locator('#plots details', { hasText: 'Add a plot' });
    await form.locator('summary').click();
    await form.getByLabel('Plot name').fill('By keyboard');
    await form.getByLabel('Or its area', { exact: true }).fill('10');
    await page.keyboard.press('Enter');
    await page.locator('#plots summary strong', { hasText: 'By keyboard' }).waitFor();
    await expect.poll(() => page.evaluate(() => document.activeElement?.getAttribute('name'))).toBe('name');
    expect(await form.getByLabel('Plot name').inputValue()).toBe('');
    await page.close();
  });

  test('on a phone the row of pages shows the current one, wherever it stands in the row', async () => {
    const page = await browser.newPage(sizes.phone);
    for (const address of ['/', '/response', '/lawn']) {
      await page.goto(server.url + address);
      const here = page.locator('.frame-nav [aria-current="page"]');
      await expect
        .poll(async () => {
          const box = await here.boundingBox();
          return box !== null && box.x >= 0 && box.x + box.width <= 390;
        })
        .toBe(true);
    }
    await page.close();
  });
});
