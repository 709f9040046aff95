import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, onTestFinished, test } from 'vitest';
import { awake, openBrowser, sizes } from '../support/browser';
import { startObjectStore, type ObjectStore } from '../support/object-store';
import { postgresPrograms, startPostgres, type PostgresServer } from '@/lib/commands/proving/own-postgres';
import { startServer, type TestServer } from '../support/server';

/** Two serving processes, each with a data folder of its own, on one database and one store of photos. */
const programs = postgresPrograms();
const passphrase = 'clover under the porch';

describe.skipIf(programs === null)('two processes that serve one diary', () => {
  let database: PostgresServer;
  let store: ObjectStore;
  let one: TestServer;
  let two: TestServer;
  let browser: Browser;
  let env: Record<string, string>;
  let worker: ChildProcess | undefined;
  let lawn: string | undefined;
  const workFolder = mkdtempSync(path.join(tmpdir(), 'swathbook-worker-'));

  const ask = (server: TestServer, address: string, cookie = '', init: RequestInit = {}) =>
    fetch(server.url + address, {
      redirect: 'manual',
      ...init,
      headers: { cookie, ...(init.headers as Record<string, string> | undefined) },
    });
  const signIn = (server: TestServer, words: string, name = '') =>
    ask(server, '/sign-in', '', {
      method: 'POST',
      body: new URLSearchParams({ passphrase: words, to: '/', ...(name ? { username: name } : {}) }),
    });
  async function cookieFrom(server: TestServer): Promise<string> {
    const answer = await signIn(server, passphrase);
    expect(answer.status).toBe(303);
    return (answer.headers.get('set-cookie') ?? '').split(';', 1)[0] ?? '';
  }
  const isIn = async (server: TestServer, cookie: string) => (await ask(server, '/keep', cookie)).status === 200;

  beforeAll(async () => {
    database = await startPostgres(programs!);
    database.run('CREATE DATABASE shared_diary');
    const key = { accessKeyId: 'lawn', secret: 'a key of the test' };
    store = await startObjectStore({ bucket: 'lawns', ...key, region: 'us-east-1' });
    env = {
      SWATHBOOK_DATABASE: database.url('shared_diary'),
      SWATHBOOK_PASSPHRASE: passphrase,
      SWATHBOOK_PHOTOS: 's3://lawns',
      SWATHBOOK_S3_ENDPOINT: store.endpoint,
      AWS_ACCESS_KEY_ID: key.accessKeyId,
      AWS_SECRET_ACCESS_KEY: key.secret,
      AWS_REGION: 'us-east-1',
      SWATHBOOK_WORK: 'apart',
    };
    one = await startServer({ env });
    two = await startServer({ env });
    browser = await openBrowser();
  }, 120_000);
  afterAll(async () => {
    await browser?.close();
    worker?.kill('SIGKILL');
    rmSync(workFolder, { recursive: true, force: true });
    await one?.stop();
    await two?.stop();
    await store?.close();
    database?.remove();
  });

  test('who signs in at one is known at the other, and who signs out at one is out at both', async () => {
    const [a, b] = [await cookieFrom(one), await cookieFrom(two)];
    expect(await Promise.all([isIn(one, a), isIn(two, a), isIn(one, b), isIn(two, b)])).toEqual([
      true,
      true,
      true,
      true,
    ]);
    await ask(one, '/sign-out', a, { method: 'POST' });
    expect(await Promise.all([isIn(one, a), isIn(two, a), isIn(one, b), isIn(two, b)])).toEqual([
      false,
      false,
      true,
      true,
    ]);
    const c = await cookieFrom(one);
    await ask(two, '/sign-out-everywhere', b, { method: 'POST' });
    expect(await Promise.all([isIn(one, b), isIn(two, b), isIn(one, c), isIn(two, c)])).toEqual([
      false,
      false,
      false,
      false,
    ]);
    expect(await isIn(one, await cookieFrom(two))).toBe(true);
  });

  test('what is written at one is shown at the other, a photo too', async () => {
    const page = await (await browser.newContext(sizes.desktop)).newPage();
    const enter = async (server: TestServer, into: Page) => {
      await into.goto(`${server.url}/lawn`);
      await into.getByLabel('Passphrase').fill(passphrase);
      await into.getByRole('button', { name: 'Sign in' }).click();
    };
    await enter(one, page);
    await page.waitForURL((url) => url.pathname === '/lawn');
    await awake(page, 'form.stack');
    await page.getByLabel('Name', { exact: true }).fill('Both');
    await page.getByRole('button', { name: 'Start this lawn' }).click();
    await page.getByRole('heading', { name: 'Both' }).waitFor();
    lawn = await page
      .locator('select[name=lawn], body')
      .first()
      .evaluate(async () => (await (await fetch('/photos')).text()).match(/lawnId\\?":\\?"([a-z0-9]{20,})/)?.[1]);
    const cookie = await cookieFrom(one);
    const bytes = await sharp({ create: { width: 400, height: 300, channels: 3, background: '#2f7a2f' } })
      .jpeg()
      .toBuffer();
    const sent = (await (
      await ask(one, `/api/photos?lawn=${lawn}&name=a.jpg&viewpoint=gate`, cookie, {
        method: 'PUT',
        body: new Uint8Array(bytes),
      })
    ).json()) as { ok: boolean; photoId: string };
    expect(sent.ok).toBe(true);
    expect(Buffer.from(await (await ask(two, `/api/photos/${sent.photoId}`, cookie)).arrayBuffer()).equals(bytes)).toBe(
      true,
    );
    await page.context().close();
  });

  test('an archive asked for at one is made by a worker, followed and given by both, and removed from both', async () => {
    const cookie = await cookieFrom(two);
    const page = await (await browser.newContext(sizes.desktop)).newPage();
    await page.goto(`${one.url}/keep`);
    await page.getByLabel('Passphrase').fill(passphrase);
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.waitForURL((url) => url.pathname === '/keep');
    await awake(page, 'button.button-main');
    await page.getByRole('button', { name: 'Make an archive' }).click();
    await page.getByText('waiting for a worker').waitFor();
    const job = async (server: TestServer) =>
      (await (await ask(server, '/api/archives/progress', cookie)).json()) as {
        state: string;
        step: string;
        isHere: boolean;
        name: string;
      };
    expect((await job(two)).step).toBe('waiting for a worker');
    worker = spawn(process.execPath, ['lib/commands/run.mjs', 'worker'], {
      env: { ...process.env, ...env, SWATHBOOK_DATA: path.join(workFolder, 'data') },
      stdio: ['ignore', 'inherit', 'inherit'],
    });
    await page.getByText('Made and read back').waitFor({ timeout: 60_000 });
    const [seen, own] = [await job(two), await job(one)];
    expect([seen.state, seen.isHere, own.isHere, own.name === seen.name]).toEqual(['done', true, true, true]);
    const bytes = await Promise.all(
      [one, two].map(async (server) =>
        Buffer.from(await (await ask(server, `/api/archives/${seen.name}`, cookie)).arrayBuffer()),
      ),
    );
    expect(bytes[0]!.subarray(0, 2).toString()).toBe('PK');
    expect(bytes[0]!.equals(bytes[1]!)).toBe(true);
    const part = await ask(two, `/api/archives/${seen.name}`, cookie, { headers: { range: 'bytes=10-29' } });
    expect(part.status).toBe(206);
    expect(Buffer.from(await part.arrayBuffer()).equals(bytes[0]!.subarray(10, 30))).toBe(true);
    await page.getByRole('button', { name: `Remove ${seen.name}` }).click();
    await page.getByRole('button', { name: `Remove ${seen.name}` }).waitFor({ state: 'detached' });
    for (const server of [one, two]) expect((await ask(server, `/api/archives/${seen.name}`, cookie)).status).toBe(404);
    await page.context().close();
  }, 90_000);

  test('an archive that can’t be kept is tried again, and then the page says why', async () => {
    const cookie = await cookieFrom(one);
    const page = await (await browser.newContext(sizes.desktop)).newPage();
    await page.goto(`${two.url}/keep`);
    await page.getByLabel('Passphrase').fill(passphrase);
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.waitForURL((url) => url.pathname === '/keep');
    await awake(page, 'button.button-main');
    store.full = true;
    onTestFinished(() => void (store.full = false));
    await page.getByRole('button', { name: 'Make an archive' }).click();
    const why = 'Expected the photo store of SWATHBOOK_PHOTOS to take a PUT, got 400 (QuotaExceeded).';
    await page.getByText(`${why} It will be tried again in a moment`).waitFor({ timeout: 30_000 });
    // It waits longer each time; here it is told that the next try is its last.
    database.run(
      `UPDATE work_queue.job SET retry_limit = retry_count + 1 WHERE name = 'archives' AND state < 'completed'`,
      'shared_diary',
    );
    await page.getByText(why, { exact: true }).waitFor({ timeout: 60_000 });
    expect(((await (await ask(one, '/api/archives/progress', cookie)).json()) as { state: string }).state).toBe(
      'failed',
    );
    await page.context().close();
  }, 120_000);

  test('a weather file sent to one is read and imported at the other, and then waits at neither', async () => {
    const cookie = await cookieFrom(one);
    const csv = `time,Air temperature (°C)\n${Array.from({ length: 24 }, (_, hour) => `2026-05-01 ${String(hour).padStart(2, '0')}:00,${hour}`).join('\n')}\n`;
    const sent = (await (
      await ask(one, `/api/weather/files?lawn=${lawn}&name=${encodeURIComponent('Dächer & Wiesen.csv')}`, cookie, {
        method: 'PUT',
        body: csv,
      })
    ).json()) as { ok: boolean; fileId: string };
    expect(sent).toMatchObject({ ok: true });
    expect(await (await ask(two, '/weather/import', cookie)).text()).toContain('Dächer &amp; Wiesen.csv');
    const shown = await (await ask(two, `/weather/import?file=${sent.fileId}`, cookie)).text();
    expect(shown).toContain('Dächer &amp; Wiesen.csv');
    const mapping = {
      encoding: 'utf-8',
      delimiter: ',',
      decimal: '.',
      firstDataLine: 2,
      dateColumn: 0,
      timeColumn: null,
      dateOrder: 'ymd',
      stampMarks: 'start',
      clock: { kind: 'zone', timeZone: 'UTC' },
      columns: [{ index: 1, field: 'airTempC', unit: 'degC' }],
      windHeightM: null,
    };
    const done = await (
      await ask(two, `/api/weather/files/${sent.fileId}`, cookie, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ lawn, write: true, mapping }),
      })
    ).text();
    expect(done).toMatch(/"result":\{"ok":true/);
    for (const server of [one, two])
      expect(await (await ask(server, '/weather/import', cookie)).text()).not.toContain('Wiesen.csv');
    expect([...store.objects.keys()].filter((key) => key.startsWith('weather-files/'))).toEqual([]);
  }, 60_000);

  test('with one of them killed the other goes on, for the same session', async () => {
    const cookie = await cookieFrom(one);
    await one.stop('SIGKILL');
    expect(await isIn(two, cookie)).toBe(true);
    one = await startServer({ env });
    expect(await isIn(one, cookie)).toBe(true);
  }, 90_000);

  test('while the database is gone every page says so in a sentence, and afterwards all is as it was', async () => {
    const cookie = await cookieFrom(one);
    database.stop('immediate');
    const answer = await ask(two, '/keep', cookie);
    expect([answer.status, (await answer.json()) as unknown]).toEqual([
      503,
      { ok: false, message: 'The database server doesn’t answer: nothing was saved. Try again in a moment.' },
    ]);
    const health = await ask(two, '/api/health');
    expect(health.status).toBe(503);
    database.start();
    await expect.poll(() => isIn(two, cookie), { timeout: 20_000 }).toBe(true);
  }, 60_000);

  test('wrong passphrases are counted together', async () => {
    const statuses: number[] = [];
    for (const server of [one, two, one, two, one, two, one])
      statuses.push((await signIn(server, 'not the passphrase')).status);
    expect(statuses).toEqual([401, 401, 401, 401, 401, 429, 429]);
    expect((await signIn(two, passphrase)).status).toBe(429);
  });
});
