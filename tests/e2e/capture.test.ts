import fs from 'node:fs';
import path from 'node:path';
import { chromium, type Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { browserFlags, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

let server: TestServer;
let browser: Browser;

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: [...browserFlags, '--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
  });
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

/** Photo files on the server's shelf. */
function kept(): number {
  return fs
    .readdirSync(path.join(server.dataFolder, 'photos'), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile()).length;
}

describe('on the lawn with a phone', () => {
  test('a shot taken without a network waits through a reload of the page and is sent when the network is back', async () => {
    const context = await browser.newContext({ ...sizes.phone, permissions: ['camera'] });
    const page = await context.newPage();
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(server.url);
    await page.getByRole('link', { name: 'Take photos' }).click();
    await page.getByText(/^Ghost of /).waitFor();
    const shutter = page.getByRole('button', { name: 'Take the photo' });
    await expect.poll(() => shutter.isEnabled(), { timeout: 20_000 }).toBe(true);
    // The page puts itself by for a day without a network.
    await expect
      .poll(
        () =>
          page.evaluate(
            async () =>
              (await (await caches.open('capture-shell')).keys()).length +
              (navigator.serviceWorker.controller ? 100 : 0),
          ),
        { timeout: 30_000 },
      )
      .toBeGreaterThan(102);

    const before = kept();
    await context.setOffline(true);
    await shutter.click();
    await page.getByText('1 shot waits on this phone').waitFor();
    await page.goto(`${server.url}/capture`);
    await page.getByText('1 shot waits on this phone').waitFor();
    await page.getByText(/^Ghost of /).waitFor();
    expect(
      await page.locator('.capture-stage img').evaluate((image: HTMLImageElement) => image.naturalWidth),
    ).toBeGreaterThan(0);
    await expect.poll(() => shutter.isEnabled(), { timeout: 20_000 }).toBe(true);
    await shutter.click();
    await page.getByText('2 shots wait on this phone').waitFor();
    expect(kept()).toBe(before);

    await context.setOffline(false);
    await page.getByText('All shots are in the diary.').waitFor({ timeout: 40_000 });
    expect(kept()).toBe(before + 2);

    await page.getByRole('link', { name: 'is in the diary' }).first().click();
    await page.getByText('When, where and how it was taken').click();
    await page.getByText('the phone’s clock when the shutter was pressed').waitFor();
    expect(await page.getByLabel('Viewpoint').inputValue()).toBe('From the third step');
    expect(errors).toEqual([]);
    await context.close();
  });

  test('a shot that the diary refuses stays on the phone with its reason', async () => {
    const context = await browser.newContext({ ...sizes.phone, permissions: ['camera'] });
    const page = await context.newPage();
    await page.goto(`${server.url}/capture`);
    await page
      .getByLabel('Photo from the phone’s camera')
      .setInputFiles({ name: 'words.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no photo at all') });
    await page.getByText(/^Expected .+, got .+\.$/).waitFor();
    await page.reload();
    await page.getByText(/^Expected .+, got .+\.$/).waitFor();
    page.once('dialog', (dialog) => void dialog.accept());
    await page.getByRole('button', { name: 'Throw away' }).click();
    await page.getByText('No shot waits on this phone.').waitFor();
    expect(await page.locator('.capture-queue li').count()).toBe(0);
    await context.close();
  });

  test('without a camera the phone’s own one is offered, and its photo is queued all the same', async () => {
    const plain = await chromium.launch({ executablePath: '/usr/bin/chromium', args: browserFlags });
    const page = await plain.newPage(sizes.phone);
    await page.goto(`${server.url}/capture`);
    await page.getByRole('button', { name: 'Use the phone’s camera' }).waitFor();
    await page.getByText('what it takes is queued here all the same').waitFor();
    expect(await page.getByRole('button', { name: 'Take the photo' }).count()).toBe(0);
    await plain.close();
  });

  test('the diary can be put on a home screen', async () => {
    const manifest = (await (await fetch(`${server.url}/manifest.webmanifest`)).json()) as {
      icons: { src: string; sizes: string }[];
      start_url: string;
    };
    expect(manifest.start_url).toBe('/');
    for (const icon of manifest.icons) {
      const bytes = Buffer.from(await (await fetch(server.url + icon.src)).arrayBuffer());
      // Width and height stand at bytes 16 and 20 of a PNG (PNG specification, IHDR).
      expect(`${bytes.readUInt32BE(16)}x${bytes.readUInt32BE(20)}`).toBe(icon.sizes);
    }
  });
});
