import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { demoScenario } from '@/lib/demo/scenario';
import { drawLawnPhoto } from '@/lib/demo/lawn-renderer';
import { encodeJpeg } from '@/lib/demo/encode';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

let server: TestServer;
let browser: Browser;
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-outlining-'));
const scenario = demoScenario();
const photo = scenario.photos.find((one) =>
  one.takenAtLocal.startsWith('2026-04-13'),
) as (typeof scenario.photos)[number];

beforeAll(async () => {
  server = await startServer();
  browser = await openBrowser();
  fs.writeFileSync(path.join(scratch, photo.fileName), await encodeJpeg(drawLawnPhoto(photo, scenario.strips), photo));
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  fs.rmSync(scratch, { recursive: true, force: true });
});

/** Where a point of the photo, in its own pixels, stands on the screen. */
async function onScreen(page: Page, [x, y]: readonly [number, number]): Promise<[number, number]> {
  const box = await page.locator('.stage-inner').first().boundingBox();
  if (!box) throw new Error('no photo on the page');
  return [box.x + ((x + 0.5) / 1600) * box.width, box.y + ((y + 0.5) / 1200) * box.height];
}

async function fingers(
  touch: CDPSession,
  type: 'touchStart' | 'touchMove' | 'touchEnd',
  at: readonly (readonly [number, number])[],
): Promise<void> {
  await touch.send('Input.dispatchTouchEvent', { type, touchPoints: at.map(([x, y], id) => ({ x, y, id })) });
}

describe('outlining by finger', () => {
  test('a swipe scrolls, two fingers enlarge, taps plant; the next plot is asked for, and nothing drawn is lost by leaving the page', async () => {
    const page = await browser.newPage(sizes.phone);
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(`${server.url}/lawn`);
    await page.getByLabel('Name', { exact: true }).fill('Test lawn');
    await page.getByLabel('Units on screen').selectOption('metric');
    await page.getByLabel('Time zone').fill('Europe/Rome');
    await page.getByRole('button', { name: 'Start this lawn' }).click();
    await page.getByRole('heading', { name: 'Test lawn' }).waitFor();
    for (const [name, offset, check] of [
      ['A', '0', true],
      ['C', '3.6', false],
    ] as const) {
      const form = page.locator('#plots details', { hasText: 'Add a plot' });
      if ((await form.getAttribute('open')) === null) await form.locator('summary').click();
      await form.getByLabel('Plot name').fill(name);
      await form.getByLabel('Length', { exact: true }).fill('7');
      await form.getByLabel('Width', { exact: true }).fill('1.5');
      await form.getByLabel('Distance from the left stake', { exact: true }).fill(offset);
      if (check) await form.getByLabel('This is the check').check();
      await form.getByRole('button', { name: 'Add this plot' }).click();
      await page.locator('#plots summary strong', { hasText: name }).waitFor();
    }
    await page.goto(`${server.url}/photos`);
    await page.getByLabel('Viewpoint').fill('From the step');
    await page.getByLabel('Photos', { exact: true }).setInputFiles([path.join(scratch, photo.fileName)]);
    await page.locator('.photo-grid a').first().waitFor({ timeout: 60_000 });
    const address = await page
      .locator('.photo-grid a')
      .first()
      .evaluate((link: HTMLAnchorElement) => link.href);
    await page.goto(address);
    await expect.poll(() => page.getByText('Being read').count(), { timeout: 60_000 }).toBe(0);
    const say = page.locator('.outline-say');
    await expect.poll(() => say.innerText()).toBe('Tap the far left corner of A (1 of 4).');

    const touch = await page.context().newCDPSession(page);
    const [x, y] = await onScreen(page, [800, 500]);
    await fingers(touch, 'touchStart', [[x, y]]);
    for (let k = 1; k <= 8; k++) await fingers(touch, 'touchMove', [[x, y - 15 * k]]);
    await fingers(touch, 'touchEnd', []);
    await expect.poll(() => page.evaluate(() => scrollY)).toBeGreaterThan(40);
    await expect.poll(() => say.innerText()).toContain('1 of 4');

    // A swipe glides on for a while after the finger has left.
    for (let at = -1; at !== (at = await page.evaluate(() => scrollY));) await page.waitForTimeout(150);
    const before = (await page.locator('.stage-inner').boundingBox())?.width ?? 0;
    const [px, py] = await onScreen(page, [800, 500]);
    await fingers(touch, 'touchStart', [[px - 30, py]]);
    await fingers(touch, 'touchStart', [
      [px - 30, py],
      [px + 30, py],
    ]);
    for (let k = 1; k <= 4; k++)
      await fingers(touch, 'touchMove', [
        [px - 30 - 8 * k, py],
        [px + 30 + 8 * k, py],
      ]);
    await fingers(touch, 'touchEnd', []);
    // The fingers went from 60 to 124 px apart: what lay between them still does, 124/60 times as large.
    await expect
      .poll(async () => ((await page.locator('.stage-inner').boundingBox())?.width ?? 0) / before)
      .toBeCloseTo(124 / 60, 1);
    const [mx, my] = await onScreen(page, [800, 500]);
    expect(Math.hypot(mx - px, my - py)).toBeLessThan(6);
    expect(await say.innerText()).toContain('1 of 4');
    await page.getByRole('button', { name: 'Whole photo' }).click();

    const tap = async (corner: readonly [number, number]) => page.touchscreen.tap(...(await onScreen(page, corner)));
    for (const corner of photo.plotCorners.A) await tap(corner);
    await expect.poll(() => say.innerText()).toBe('Tap the far left corner of C (1 of 4).');
    for (const corner of photo.plotCorners.C) await tap(corner);
    await expect.poll(() => say.innerText()).toContain('Drag the corners of C');

    const handle = page.locator('.stage-handle').nth(2);
    const size = await handle.boundingBox();
    expect([size?.width, size?.height]).toEqual([44, 44]);
    const [hx, hy] = await onScreen(page, photo.plotCorners.C[2] as [number, number]);
    await fingers(touch, 'touchStart', [[hx + 9, hy + 9]]);
    for (let k = 1; k <= 4; k++) await fingers(touch, 'touchMove', [[hx + 9 - 5 * k, hy + 9]]);
    await page.locator('.loupe').waitFor();
    await fingers(touch, 'touchEnd', []);
    const moved = await handle.boundingBox();
    expect((moved?.x ?? 0) - (size?.x ?? 0)).toBeCloseTo(-20, 0);

    await page.getByRole('link', { name: 'Trials' }).click();
    await page.getByRole('heading', { name: 'Trials' }).first().waitFor();
    await page.goBack();
    await page.getByText('These outlines were not saved yet').waitFor();
    await page.getByRole('button', { name: 'Step back' }).waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Save the outlines and measure' }).click();
    await expect.poll(() => page.locator('.reading strong').count(), { timeout: 60_000 }).toBeGreaterThan(0);
    await page.reload();
    expect(await page.getByText('These outlines were not saved yet').count()).toBe(0);
    await expect.poll(() => say.innerText()).toContain('Everything this viewpoint usually shows is outlined');
    expect(errors).toEqual([]);
    await page.close();
  });
});
