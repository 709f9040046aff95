import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { addressesOfDemo } from '../support/every-page';
import { startServer, type TestServer } from '../support/server';

/**
 * The photo pages on a phone, opened for the first time: what comes besides pictures, which pictures, and whether
 * anything moves.
 */
const MOST_BYTES = 300_000;
/** Web Vitals calls a layout shift score of up to 0.1 good (web.dev/articles/cls). */
const MOST_SHIFT = 0.1;

let server: TestServer;
let browser: Browser;
let addresses: string[] = [];

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await openBrowser();
  const page = await browser.newPage(sizes.phone);
  const all = await addressesOfDemo(page, server.url);
  const viewpoint = await page
    .goto(`${server.url}/photos`)
    .then(() => page.locator('a[href^="/photos?viewpoint="]').first().getAttribute('href'));
  addresses = all
    .filter((address) => /^\/(photos|compare|plots|marks)\b/.test(address) && !address.endsWith('find-out'))
    .concat('/', '/capture', ...(viewpoint ? [viewpoint] : []));
  await page.close();
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

interface FirstView {
  besidesPictures: number;
  shift: number;
  /** Pictures in sight: pixels of the file beside pixels of the screen it covers, across. */
  pictures: { address: string; filePx: number; screenPx: number; roomKept: boolean }[];
}

async function firstView(page: Page, url: string): Promise<FirstView> {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Network.enable');
  const kinds = new Map<string, string>();
  let besidesPictures = 0;
  cdp.on('Network.responseReceived', ({ requestId, type, response }) =>
    kinds.set(requestId, response.mimeType.startsWith('image/') ? 'Image' : type),
  );
  cdp.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => {
    if (kinds.get(requestId) !== 'Image') besidesPictures += encodedDataLength;
  });
  await page.addInitScript(`
    window.shift = 0;
    new PerformanceObserver((list) => { for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.shift += entry.value; }).observe({ type: 'layout-shift', buffered: true });
  `);
  await page.goto(url, { waitUntil: 'networkidle' });
  const sent = besidesPictures;
  const pictures = await page.evaluate(() =>
    Promise.all(
      [...document.images]
        .filter(
          (image) =>
            image.naturalWidth > 0 &&
            image.getBoundingClientRect().top < innerHeight &&
            image.getBoundingClientRect().width > 0,
        )
        .map(async (image) => {
          // What a browser picked from several says it is as wide as it is shown: the file itself says how wide it is.
          const file = new Image();
          file.src = image.currentSrc;
          await file.decode();
          return {
            address: image.currentSrc.replace(location.origin, ''),
            filePx: file.naturalWidth,
            screenPx: image.getBoundingClientRect().width * devicePixelRatio,
            roomKept: image.hasAttribute('width') || getComputedStyle(image).position === 'absolute',
          };
        }),
    ),
  );
  return { besidesPictures: sent, shift: (await page.evaluate('window.shift')) as number, pictures };
}

test('each comes in under 300 kB besides its pictures, asks for pictures that fit, and nothing moves', async () => {
  expect(addresses.length).toBeGreaterThan(6);
  const wrong: string[] = [];
  for (const address of addresses) {
    const context = await browser.newContext({ ...sizes.phone, serviceWorkers: 'block' });
    const page = await context.newPage();
    const seen = await firstView(page, server.url + address);
    console.log(
      `${address.replace(/[a-z0-9]{20,}/g, '…')}: ${(seen.besidesPictures / 1000).toFixed(0)} kB besides pictures (target 300), layout shift ${seen.shift.toFixed(3)} (target 0.1), ${seen.pictures.length} pictures in sight`,
    );
    if (seen.besidesPictures > MOST_BYTES) wrong.push(`${address}: ${seen.besidesPictures} bytes besides pictures`);
    if (seen.shift > MOST_SHIFT) wrong.push(`${address}: layout shift ${seen.shift}`);
    for (const picture of seen.pictures) {
      // A phone's picture has at most twice the pixels it covers across; tiles come in one size.
      if (picture.filePx > Math.max(320, 2 * picture.screenPx))
        wrong.push(`${address}: ${picture.address} has ${picture.filePx} pixels for ${picture.screenPx.toFixed(0)}`);
      if (!picture.roomKept) wrong.push(`${address}: no room is kept for ${picture.address}`);
    }
    await context.close();
  }
  expect(wrong).toEqual([]);
}, 120_000);
