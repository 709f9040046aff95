import { chromium, type Browser, type Page } from 'playwright-core';

/** Chromium's flags: everything that would reach for the network is turned off. */
export const browserFlags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** Debian's chromium, with everything that would reach for the network turned off. */
export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: browserFlags,
  });
}

export const sizes = {
  phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 },
  desktop: { viewport: { width: 1280, height: 900 } },
} as const;

/** Waits until the page's own script has taken over what stands there: before, a button that only a script knows does nothing. */
export async function awake(page: Page, selector: string): Promise<void> {
  await page.locator(selector).first().waitFor();
  await page.waitForFunction(
    (wanted) => Object.keys(document.querySelector(wanted) ?? {}).some((key) => key.startsWith('__reactProps')),
    selector,
  );
}
