import { chromium, type Browser } from 'playwright-core';

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
