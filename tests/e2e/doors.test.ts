import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import http from 'node:http';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

const root = fileURLToPath(new URL('../..', import.meta.url));
const passphrase = 'clover under the porch';
const someId = 'cmaaaaaaaaaaaaaaaaaaaaaaa';
let server: TestServer;
let browser: Browser;

beforeAll(async () => {
  server = await startServer({ env: { SWATHBOOK_PASSPHRASE: passphrase } });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

const filesOf = (folder: string, pattern: RegExp) =>
  fs
    .readdirSync(path.join(root, folder), { recursive: true, encoding: 'utf8' })
    .map((name) => name.split(path.sep).join('/'))
    .filter((name) => pattern.test(name));
const addressOf = (file: string) =>
  `/${path.posix.dirname(file)}`
    .replaceAll(/\/(?:\([^/]+\)|@[^/]+)/g, '')
    .replaceAll(/\[[^/]+\]/g, someId)
    .replace(/^\/\.$/, '/');

/** Every page, and every method of every route, as the files tell it. */
const pages = filesOf('app', /(^|\/)page\.tsx$/).map(addressOf);
const routes = filesOf('app', /(^|\/)route\.tsx?$/).flatMap((file) =>
  [
    ...fs
      .readFileSync(path.join(root, 'app', file), 'utf8')
      .matchAll(/^export (?:async )?(?:function|const) (GET|HEAD|POST|PUT|PATCH|DELETE)\b/gm),
  ].map(([, method]) => ({ method: method as string, address: addressOf(file) })),
);
const isOpen = (address: string) => address.startsWith('/shared') || address === '/api/health';
const actionsInFiles = filesOf('app', /\.tsx?$/).flatMap((file) => {
  const text = fs.readFileSync(path.join(root, 'app', file), 'utf8');
  return text.startsWith("'use server'")
    ? [...text.matchAll(/^export async function (\w+)/gm)].map(([, name]) => `${file}: ${name}`)
    : [];
});
/** The identifiers by which the build lets actions be called. */
const actionIds = Object.keys(
  (
    JSON.parse(fs.readFileSync(path.join(root, '.next/server/server-reference-manifest.json'), 'utf8')) as {
      node: Record<string, unknown>;
    }
  ).node,
);

const ask = (address: string, init: RequestInit = {}) =>
  fetch(`${server.url}${address}`, { redirect: 'manual', ...init });

/** A request whose path is sent as it stands: fetch would tidy it first. */
function askRaw(
  rawPath: string,
  headers: Record<string, string> = {},
  method = 'GET',
): Promise<{ status: number; body: string }> {
  return new Promise((resolve, reject) => {
    const request = http.request(server.url, { path: rawPath, method, headers }, (response) => {
      let body = '';
      response.on('data', (chunk: Buffer) => (body += chunk.toString()));
      response.on('end', () => resolve({ status: response.statusCode ?? 0, body }));
    });
    request.on('error', reject);
    request.end();
  });
}

async function signIn(): Promise<string> {
  const answer = await ask('/sign-in', { method: 'POST', body: new URLSearchParams({ passphrase, to: '/photos' }) });
  expect(answer.status).toBe(303);
  expect(answer.headers.get('location')).toBe('/photos');
  return answer.headers.get('set-cookie') ?? '';
}

describe('without a session', () => {
  test('every page leads to the sign-in and every route is closed', async () => {
    expect(pages.length).toBeGreaterThan(9);
    expect(routes.length).toBeGreaterThan(3);
    for (const address of pages.filter((page) => !isOpen(page))) {
      for (const headers of [{}, { rsc: '1' }, { rsc: '1', 'next-router-prefetch': '1' }]) {
        const answer = await ask(address, { headers });
        expect([address, answer.status, answer.headers.get('location')]).toEqual([
          address,
          303,
          `/sign-in?to=${encodeURIComponent(address)}`,
        ]);
      }
    }
    for (const { method, address } of routes.filter((route) => !isOpen(route.address))) {
      const answer = await ask(address, { method });
      // What a browser opens as a page (a calendar file, say) leads to the sign-in as pages do.
      const asPage = method === 'GET' && !address.startsWith('/api/');
      expect([method, address, answer.status]).toEqual([method, address, asPage ? 303 : 401]);
    }
  });

  test('every server action is refused, whatever address it is posted to', async () => {
    expect(actionIds.length).toBeGreaterThan(5);
    expect(actionIds.length).toBeLessThanOrEqual(actionsInFiles.length);
    for (const id of actionIds) {
      for (const address of ['/', '/photos', `/shared/${someId}`, '/api/health', '/icon.svg']) {
        const answer = await ask(address, {
          method: 'POST',
          headers: { 'next-action': id, 'content-type': 'text/plain;charset=UTF-8' },
          body: '[]',
        });
        expect([id, address, answer.status]).toEqual([id, address, address.startsWith('/shared') ? 405 : 401]);
      }
      const form = new FormData();
      form.set(`$ACTION_ID_${id}`, '');
      expect((await ask('/', { method: 'POST', body: form })).status).toBe(401);
    }
  });

  test('no trick in the address leads past the door', async () => {
    for (const address of [
      '/shared/../photos',
      '/shared/%2e%2e/photos',
      '/_next/static/../../photos',
      '//photos',
      String.raw`/shared\..\photos`,
      `${server.url}/photos`,
    ]) {
      expect([address, (await askRaw(address)).status]).toEqual([address, 400]);
    }
    expect((await ask(`/_next/image?url=${encodeURIComponent(`/api/photos/${someId}`)}&w=640&q=75`)).status).toBe(401);
    for (const header of [
      'x-middleware-subrequest',
      'x-swathbook-visitor',
      'x-swathbook-door',
      'x-forwarded-for',
      'x-invoke-path',
      'x-matched-path',
      'next-url',
    ]) {
      expect((await askRaw('/lawn', { [header]: '/shared/x' })).status).toBe(303);
    }
  });

  test('the health check tells that all is well and nothing more', async () => {
    const answer = await ask('/api/health');
    expect(answer.status).toBe(200);
    expect(await answer.json()).toEqual({ ok: true, database: 'ok', dataFolder: 'ok', disk: 'ok' });
  });

  test('the sign-in leads only to places in this diary', async () => {
    for (const to of [
      'https://evil.example/',
      '//evil.example',
      String.raw`/\evil.example`,
      '/sign-out',
      'javascript:alert(1)',
      '/a\nb',
    ]) {
      const answer = await ask('/sign-in', { method: 'POST', body: new URLSearchParams({ passphrase, to }) });
      expect([to, answer.headers.get('location')]).toEqual([to, '/']);
    }
    expect(
      await (await ask(`/sign-in?to=${encodeURIComponent('/x"><script>alert(1)</script>')}`)).text(),
    ).not.toContain('<script>');
  });
});

describe('with a session', () => {
  test('its cookie is HttpOnly and SameSite, and opens routes; posts from another site are refused all the same', async () => {
    const cookie = await signIn();
    expect(cookie).toMatch(/^swathbook=[^;]+; Path=\/; Max-Age=2592000; HttpOnly; SameSite=Lax$/);
    const headers = { cookie: cookie.split(';')[0] as string };
    expect((await ask('/photos', { headers })).status).toBe(200);
    expect((await ask('/api/photos', { method: 'PUT', headers })).status).toBe(400);
    for (const from of [
      { 'sec-fetch-site': 'cross-site' },
      { 'sec-fetch-site': 'same-site' },
      { origin: 'http://evil.example' },
    ] as Record<string, string>[]) {
      expect((await askRaw('/api/photos', { ...headers, ...from }, 'PUT')).status).toBe(403);
      expect((await askRaw('/sign-out-everywhere', { ...headers, ...from }, 'POST')).status).toBe(403);
    }
    expect((await ask('/photos', { headers })).status).toBe(200);
  });

  test('behind TLS the cookie is Secure and bound to the host, and the browser is told to stay with TLS', async () => {
    const secure = await startServer({ env: { SWATHBOOK_PASSPHRASE: passphrase, SWATHBOOK_HTTPS: 'yes' } });
    try {
      const answer = await fetch(`${secure.url}/sign-in`, {
        method: 'POST',
        redirect: 'manual',
        body: new URLSearchParams({ passphrase }),
      });
      expect(answer.headers.get('set-cookie')).toMatch(/^__Host-swathbook=[^;]+; Path=\/; .*; Secure$/);
      expect(answer.headers.get('strict-transport-security')).toBe('max-age=31536000');
    } finally {
      await secure.stop();
    }
  });

  test('a person signs in, works under the page policy, makes an archive, and signs out everywhere', async () => {
    const trouble: string[] = [];
    const watch = (page: Page) => {
      page.on('pageerror', (error) => trouble.push(`${page.url()}: ${error.message}`));
      page.on(
        'console',
        (message) =>
          /content security policy/i.test(message.text()) && trouble.push(`${page.url()}: ${message.text()}`),
      );
    };
    const context = await browser.newContext(sizes.phone);
    const page = await context.newPage();
    watch(page);
    await page.goto(`${server.url}/lawn`);
    await page.getByLabel('Passphrase').fill('not this one at all');
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByText('Expected this diary’s passphrase, got another one.').waitFor();
    await page.getByLabel('Passphrase').fill(passphrase);
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByLabel('Name', { exact: true }).fill('Door lawn');
    await page.getByLabel('Time zone').fill('Europe/Rome');
    await page.getByRole('button', { name: 'Start this lawn' }).click();
    await page.getByRole('heading', { name: 'Door lawn' }).waitFor();
    await page.goto(`${server.url}/photos`);
    const jpeg = await sharp({ create: { width: 320, height: 240, channels: 3, background: { r: 60, g: 120, b: 40 } } })
      .jpeg()
      .toBuffer();
    await page
      .getByLabel('Photos', { exact: true })
      .setInputFiles([{ name: 'one.jpg', mimeType: 'image/jpeg', buffer: jpeg }]);
    await page.locator('.photo-grid a').first().waitFor();
    const photo = await page.locator('.photo-grid a').first().getAttribute('href');

    for (const address of [
      ...pages.filter((candidate) => !candidate.includes(someId) && candidate !== '/compare'),
      photo as string,
    ]) {
      await page.goto(`${server.url}${address}`, { waitUntil: 'load' });
      await page.locator('main h1, main h2').first().waitFor();
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1),
        `${address} scrolls sideways`,
      ).toBe(true);
    }

    await page.goto(`${server.url}/keep`);
    await page.getByRole('button', { name: 'Make an archive' }).click();
    await page.getByText('Made and read back').waitFor();
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('.notice-good a').click()]);
    const file = await download.path();
    expect(fs.readFileSync(file).subarray(0, 2).toString()).toBe('PK');
    const kept = fs.readdirSync(path.join(server.dataFolder, 'archives'));
    expect(kept).toEqual([download.suggestedFilename()]);
    const part = await context.request.get(`${server.url}/api/archives/${kept[0]}`, {
      headers: { range: 'bytes=2-5' },
    });
    expect([part.status(), (await part.body()).equals(fs.readFileSync(file).subarray(2, 6))]).toEqual([206, true]);

    const other = await browser.newContext(sizes.desktop);
    const there = await other.newPage();
    watch(there);
    await there.goto(server.url);
    await there.getByLabel('Passphrase').fill(passphrase);
    await there.getByRole('button', { name: 'Sign in' }).click();
    await there.getByRole('heading', { name: 'Diary' }).waitFor();
    await page.getByRole('button', { name: 'Sign out everywhere' }).click();
    await page.getByLabel('Passphrase').waitFor();
    await there.goto(server.url);
    await there.getByLabel('Passphrase').waitFor();
    expect(trouble).toEqual([]);
    await context.close();
    await other.close();
  });
});

test('after five wrong entries a sixth must wait, even with the right passphrase', async () => {
  await signIn();
  const statuses: number[] = [];
  for (let i = 0; i < 6; i++)
    statuses.push(
      (await ask('/sign-in', { method: 'POST', body: new URLSearchParams({ passphrase: `wrong guess ${i}` }) })).status,
    );
  expect(statuses).toEqual([401, 401, 401, 401, 401, 429]);
  const answer = await ask('/sign-in', { method: 'POST', body: new URLSearchParams({ passphrase }) });
  expect([answer.status, Number(answer.headers.get('retry-after')) > 0]).toEqual([429, true]);
});

test('another address without a passphrase is not served, with one sentence why', () => {
  const started = spawnSync(process.execPath, ['lib/commands/front.mjs'], {
    cwd: root,
    env: { ...process.env, HOST: '0.0.0.0', PORT: '3999', NODE_ENV: 'production' },
    encoding: 'utf8',
    timeout: 30_000,
  });
  expect(started.status).toBe(2);
  expect(started.stderr).toMatch(/^swathbook: HOST: expected .*, got '0\.0\.0\.0' without a passphrase\n$/);
});

test('without a passphrase, a name that only points here is refused', async () => {
  const open = await startServer();
  try {
    const answer = await new Promise<number>((resolve, reject) => {
      http
        .get(open.url, { headers: { host: 'evil.example' } }, (response) => resolve(response.statusCode ?? 0))
        .on('error', reject);
    });
    expect(answer).toBe(403);
    expect((await fetch(open.url)).status).toBe(200);
  } finally {
    await open.stop();
  }
});
