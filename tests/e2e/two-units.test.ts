import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';
import { addressesOfDemo } from '../support/every-page';
import { strangeIn, wordsOf } from '../support/foreign-units';

let server: TestServer;
let browser: Browser;

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await openBrowser();
}, 600_000); // the demo is drawn first, and a busy machine draws slowly
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

for (const setting of ['metric', 'us-customary'] as const) {
  describe(`a lawn read in ${setting === 'metric' ? 'metric units' : 'US units'}`, () => {
    test('no page shows a unit or a date of the other setting, nor a figure nobody put into words', async () => {
      const page = await browser.newPage({ ...sizes.desktop, locale: setting === 'metric' ? 'en-GB' : 'en-US' });
      await page.goto(`${server.url}/lawn`);
      await page.getByLabel('Units on screen').selectOption(setting);
      await page.getByRole('button', { name: 'Save the lawn' }).click();
      await page.getByText('Lawn saved.').first().waitFor();
      const wrong: string[] = [];
      // Methods say where a formula comes from, in the units it was published in.
      const addresses = (await addressesOfDemo(page, server.url)).filter((address) => address !== '/methods');
      expect(addresses.length).toBeGreaterThan(35);
      for (const address of addresses) {
        await page.goto(server.url + address);
        wrong.push(
          ...(await wordsOf(page)).flatMap((line) =>
            strangeIn(line, setting).map((strange) => `${address} ${JSON.stringify(line.slice(0, 200))} ${strange}`),
          ),
        );
      }
      expect([...new Set(wrong)]).toEqual([]);
      await page.close();
    }, 600_000);
  });
}
