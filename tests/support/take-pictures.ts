/**
 * `npm run pictures`: README's pictures, taken of the demo diary as it is now. Needs built pages (npm start builds
 * them).
 */
import fs from 'node:fs';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { openBrowser, sizes } from './browser';
import { startServer } from './server';

const folder = path.resolve(import.meta.dirname, '../../public/pictures');
fs.mkdirSync(folder, { recursive: true });
const server = await startServer({ demo: true });
const browser = await openBrowser();

async function take(page: Page, name: string, height: number): Promise<void> {
  await page.waitForLoadState('networkidle');
  await page.waitForTimeout(500);
  const width = page.viewportSize()?.width ?? 1280;
  await page.screenshot({
    path: path.join(folder, `${name}.jpg`),
    type: 'jpeg',
    quality: 70,
    clip: { x: 0, y: 0, width, height },
  });
  console.log(`public/pictures/${name}.jpg`);
}

try {
  const desktop = await browser.newPage({ ...sizes.desktop, viewport: { width: 1280, height: 1000 } });
  await desktop.goto(server.url);
  await take(desktop, 'diary', 1000);
  const marked = desktop.locator('.photo-row', { has: desktop.locator('.chip-mark') }).last();
  await marked.locator('.photo-card').first().click();
  await desktop.getByRole('heading', { name: 'Readings' }).waitFor();
  await take(desktop, 'photo', 1000);
  await desktop.getByRole('link', { name: 'Why?' }).first().click();
  await desktop.getByRole('heading', { name: 'What may have made it' }).waitFor();
  await take(desktop, 'mark', 1000);
  await desktop.goto(`${server.url}/response`);
  await take(desktop, 'response', 640);
  const phone = await browser.newPage({ ...sizes.phone, deviceScaleFactor: 1 });
  await phone.goto(server.url);
  await take(phone, 'diary-phone', 844);
} finally {
  await browser.close();
  await server.stop();
}
