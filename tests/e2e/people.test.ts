import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openBrowser, sizes } from '../support/browser';
import { addressesOfDemo } from '../support/every-page';
import { startServer, type TestServer } from '../support/server';

/**
 * One diary with two lawns: Ann keeps it all, Ben works on the demo lawn, Cleo looks at it, Dan works on the other lawn
 * only.
 */
const root = fileURLToPath(new URL('../..', import.meta.url));
const shots = process.env['SWATHBOOK_SHOTS'];
const wordsOf = (name: string) => `${name} and a long rake`;
let server: TestServer;
let browser: Browser;
let ids: Record<
  'lawn' | 'other' | 'plot' | 'spray' | 'photo' | 'trial' | 'event' | 'mark' | 'sprayer' | 'product' | 'person',
  string
>;
let addresses: string[];
const contexts: BrowserContext[] = [];

const look = <T>(work: (database: InstanceType<typeof Database>) => T): T => {
  const database = new Database(path.join(server.dataFolder, 'diary.db'));
  try {
    return work(database);
  } finally {
    database.close();
  }
};
const first = (sql: string) => look((database) => (database.prepare(sql).get() as { id: string }).id);

async function open(name: string | null, size: keyof typeof sizes = 'desktop'): Promise<Page> {
  const context = await browser.newContext(sizes[size]);
  contexts.push(context);
  const page = await context.newPage();
  page.setDefaultTimeout(10_000);
  if (name === null) return page;
  await page.goto(`${server.url}/photos`);
  await page.getByLabel('Name').fill(name);
  await page.getByLabel('Passphrase').fill(wordsOf(name));
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByRole('heading', { name: 'Photos', exact: true }).waitFor();
  return page;
}

const cookieOf = async (page: Page) =>
  (await page.context().cookies()).map(({ name, value }) => `${name}=${value}`).join('; ');
async function shoot(page: Page, name: string): Promise<void> {
  if (shots !== undefined) await page.screenshot({ path: path.join(shots, `${name}.png`), fullPage: true });
}

beforeAll(async () => {
  server = await startServer({ demo: true });
  browser = await openBrowser();
  const page = await browser.newPage(sizes.desktop);
  addresses = await addressesOfDemo(page, server.url);
  await page.close();
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

describe('people of one diary', () => {
  test('are set up by the first of them, who then keeps it all; from then on everybody is asked for a name', async () => {
    const page = await open(null);
    await page.goto(`${server.url}/lawn?new`);
    await page.getByLabel('Name').first().fill('The field');
    await page.getByRole('button', { name: 'Start this lawn' }).click();
    await page.getByRole('heading', { name: 'The field' }).waitFor();
    await page.goto(`${server.url}/keep`);
    await page.getByRole('link', { name: 'Set up people' }).click();
    await page.getByRole('heading', { name: 'Yourself' }).waitFor();
    await shoot(page, 'people-first-desktop');
    await page.getByLabel('Name').fill('Ann');
    await page.getByLabel('First passphrase').fill('too short');
    await page.getByRole('button', { name: 'Set up people, begin with me' }).click();
    await page.getByText('First passphrase: expected at least 10 characters, got fewer').first().waitFor();
    await page.getByLabel('First passphrase').fill(wordsOf('Ann'));
    await page.getByRole('button', { name: 'Set up people, begin with me' }).click();
    await page.getByText('This diary asks everybody for a name now.').waitFor();
    await page.getByRole('link', { name: 'Sign in' }).click();
    await page.getByRole('heading', { name: 'Sign in' }).waitFor();
    await shoot(page, 'sign-in-desktop');
    await page.getByLabel('Name').fill('Ann');
    await page.getByLabel('Passphrase').fill(wordsOf('Ben'));
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByText('Expected a name and the passphrase that goes with it, got others.').waitFor();
    expect(await page.getByLabel('Name').inputValue()).toBe('Ann');
    await page.getByLabel('Passphrase').fill(wordsOf('Ann'));
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByRole('heading', { name: 'People', exact: true }).waitFor();
    expect((await fetch(`${server.url}/photos`, { redirect: 'manual' })).headers.get('location')).toBe(
      '/sign-in?to=%2Fphotos',
    );
    for (const name of ['Ben', 'Cleo', 'Dan']) {
      await page.getByLabel('Name').fill(name);
      await page.getByLabel('First passphrase').fill(wordsOf(name));
      await page.getByRole('button', { name: 'Add', exact: true }).click();
      await page.getByRole('heading', { name, exact: true }).waitFor();
    }
    ids = {
      lawn: first("SELECT id FROM Lawn WHERE name <> 'The field'"),
      other: first("SELECT id FROM Lawn WHERE name = 'The field'"),
      plot: first("SELECT id FROM Plot WHERE lawnId <> (SELECT id FROM Lawn WHERE name = 'The field')"),
      spray: first("SELECT id FROM Spray WHERE state = 'done'"),
      photo: first('SELECT id FROM Photo'),
      trial: first('SELECT id FROM Trial'),
      event: first('SELECT id FROM LawnEvent'),
      mark: first('SELECT id FROM Mark'),
      sprayer: first("SELECT id FROM Sprayer WHERE lawnId <> (SELECT id FROM Lawn WHERE name = 'The field')"),
      product: first('SELECT id FROM Product'),
      person: first("SELECT id FROM Person WHERE name = 'Dan'"),
    };
    const demo = look(
      (database) => (database.prepare('SELECT name FROM Lawn WHERE id = ?').get(ids.lawn) as { name: string }).name,
    );
    for (const [name, lawn, right] of [
      ['Ben', demo, 'works'],
      ['Cleo', demo, 'looks'],
      ['Dan', 'The field', 'works'],
    ] as const) {
      await page.getByText(`What ${name} may do`).click();
      const form = page.locator('section', { has: page.getByRole('heading', { name, exact: true }) });
      await form.getByLabel(lawn).selectOption(right);
      await form.getByRole('button', { name: 'Save the rights' }).click();
      await page.getByText(new RegExp(`^${name} (?:works on|looks at) ${lawn}`)).waitFor();
    }
    await shoot(page, 'people-desktop');
    await page.getByText('Put Ann away').first().click();
    await page.getByRole('button', { name: 'Put Ann away' }).click();
    await page.getByText(/Putting away: expected somebody who keeps the whole diary to be left, got nobody/).waitFor();
  });

  test('who works on a lawn writes there under their own name; who looks finds no way to, and sees who did', async () => {
    const ben = await open('Ben', 'phone');
    await ben.goto(`${server.url}/sprays/new`);
    expect(await ben.getByLabel('Who sprayed').inputValue()).toBe('Ben');
    await shoot(ben, 'spray-new-ben-phone');
    await ben.goto(`${server.url}/sprays/${ids.spray}`);
    await ben.goto(`${server.url}/`);
    await shoot(ben, 'diary-ben-phone');
    // A verdict on a mark.
    await ben.goto(`${server.url}/marks/${ids.mark}`);
    await ben.getByRole('button', { name: 'It is not', exact: true }).click();
    await ben.getByText('Said by Ben.').waitFor();
    await shoot(ben, 'mark-ben-phone');
    // A photo.
    const sent = await ben.evaluate(async (lawn) => {
      const canvas = new OffscreenCanvas(320, 240);
      const drawing = canvas.getContext('2d') as OffscreenCanvasRenderingContext2D;
      drawing.fillStyle = '#3a7a2a';
      drawing.fillRect(0, 0, 320, 240);
      const blob = await canvas.convertToBlob({ type: 'image/jpeg' });
      const answer = await fetch(`/api/photos?lawn=${lawn}&name=ben.jpg&viewpoint=Ben`, { method: 'PUT', body: blob });
      return (await answer.json()) as { ok: boolean; photoId: string };
    }, ids.lawn);
    expect(sent.ok).toBe(true);
    for (const size of ['desktop', 'phone'] as const) {
      const cleo = await open('Cleo', size);
      await cleo.goto(`${server.url}/photos/${sent.photoId}`);
      await cleo.getByText('When, where and how it was taken').click();
      await cleo.getByText('Added by Ben.').waitFor();
      expect(
        await cleo
          .getByRole('button', { name: /^(?:Save|Move to the bin|Measure)/ })
          .filter({ visible: true })
          .count(),
      ).toBe(0);
      await shoot(cleo, `photo-cleo-${size}`);
      await cleo.goto(`${server.url}/`);
      for (const name of ['Plan a spray', 'Log a spray', 'Take photos', 'Mowing'])
        expect(
          await cleo.locator('main').getByRole('link', { name, exact: true }).filter({ visible: true }).count(),
        ).toBe(0);
      await shoot(cleo, `diary-cleo-${size}`);
      for (const address of [
        '/lawn',
        '/shelf',
        '/weather',
        '/trials',
        `/trials/${ids.trial}`,
        `/sprays/${ids.spray}`,
        '/keep',
        '/calendar',
      ]) {
        await cleo.goto(server.url + address);
        await shoot(cleo, `cleo-${size}${address.replaceAll('/', '-').slice(0, 16)}`);
        const left = cleo
          .locator('main form:not([action^="/"]) button[type=submit], main form:not([action^="/"]) button:not([type])')
          .filter({ visible: true });
        const words = (await left.allTextContents()).filter(
          (text) => !/^(?:Show|Go to it|Find|Filter|Change it|Work it out)/.test(text.trim()),
        );
        expect([address, words]).toEqual([address, []]);
      }
      for (const address of [
        '/plan/new',
        '/sprays/new',
        '/people',
        '/trials/new',
        `/sprays/${ids.spray}/edit`,
        '/capture',
      ]) {
        const answer = await cleo.goto(server.url + address);
        expect([address, answer?.status()]).toEqual([address, 404]);
      }
      await cleo.getByText('Or it is not open to Cleo').waitFor();
    }
  }, 120_000);

  test('who has no right on a lawn sees nothing of it: no page, route, picture or name', async () => {
    const dan = await open('Dan');
    const cookie = await cookieOf(dan);
    const demo = look(
      (database) => (database.prepare('SELECT name FROM Lawn WHERE id = ?').get(ids.lawn) as { name: string }).name,
    );
    const photo = look(
      (database) =>
        (database.prepare('SELECT fileName FROM Photo WHERE id = ?').get(ids.photo) as { fileName: string }).fileName,
    );
    const own = addresses.filter(
      (address) => /[a-z0-9]{20,}/.test(address) && !address.startsWith('/shelf/') && !address.startsWith('/photos?'),
    );
    expect(own.length).toBeGreaterThan(12);
    for (const address of addresses) {
      const answer = await fetch(server.url + address, { headers: { cookie }, redirect: 'manual' });
      const text = await answer.text();
      expect([address, answer.status === 404 || !own.includes(address)]).toEqual([address, true]);
      expect([address, text.includes(demo), text.includes(photo), text.includes(ids.lawn)]).toEqual([
        address,
        false,
        false,
        false,
      ]);
    }
    const filled = (file: string) =>
      `/${path.posix.dirname(file)}`.replaceAll(/\[(\w+)\]/g, (_, name: string) =>
        name === 'token'
          ? 'x'.repeat(24)
          : file.startsWith('trials')
            ? ids.trial
            : file.includes('archives')
              ? 'swathbook-2026-01-01-00-00-00.zip'
              : ids.photo,
      );
    const routes = fs
      .readdirSync(path.join(root, 'app'), { recursive: true, encoding: 'utf8' })
      .map((name) => name.split(path.sep).join('/'))
      .filter((name) => /(^|\/)route\.tsx?$/.test(name) && !name.startsWith('shared/'));
    expect(routes.length).toBeGreaterThan(14);
    for (const file of routes) {
      const methods = [
        ...fs
          .readFileSync(path.join(root, 'app', file), 'utf8')
          .matchAll(/^export (?:async )?function (GET|POST|PUT|DELETE)\b/gm),
      ].map(([, method]) => method as string);
      for (const method of methods) {
        const query = file.startsWith('api/photos/[id]')
          ? `?plot=${ids.plot}&width=320`
          : `?lawn=${ids.lawn}&name=x.jpg`;
        const body =
          method === 'GET' || method === 'DELETE'
            ? {}
            : { body: JSON.stringify({ lawn: ids.lawn, write: true, mapping: {} }) };
        const answer = await fetch(server.url + filled(file) + query, {
          method,
          headers: { cookie, ...(method === 'GET' ? {} : { 'sec-fetch-site': 'same-origin' }) },
          redirect: 'manual',
          ...body,
        });
        const text = await answer.text();
        // What is of whichever lawn one looks at is of his own; the health check and what columns mean say nothing of
        // any; he may let a waiting file go.
        const ofHisOwn =
          /^api\/(?:calendar\.ics|sprays\.csv|events\.csv|health)\/|columns\.csv/.test(file) || method === 'DELETE';
        expect([file, method, ofHisOwn || answer.status === 403 || answer.status === 404]).toEqual([
          file,
          method,
          true,
        ]);
        expect([file, method, text.includes(demo)]).toEqual([file, method, false]);
      }
    }
  }, 120_000);

  test('every server action refuses who may not, whatever it is given, and changes nothing', async () => {
    const manifest = JSON.parse(
      fs.readFileSync(path.join(root, '.next/server/server-reference-manifest.json'), 'utf8'),
    ) as { node: Record<string, { workers: Record<string, unknown> }> };
    const actions = Object.entries(manifest.node).map(([id, { workers }]) => ({
      id,
      page:
        Object.keys(workers).map(
          (worker) =>
            worker
              .replace(/^app/, '')
              .replace(/\/page$/, '')
              .replaceAll(/\/(?:@[^/]+|\([^/]+\))/g, '')
              .replaceAll(/\[\w+\]/g, ids.photo) || '/',
        )[0] ?? '/',
    }));
    expect(actions.length).toBeGreaterThan(45);
    const dump = () =>
      look((database) => {
        const tables = (
          database
            .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT IN ('DoorSession')")
            .all() as { name: string }[]
        ).map(({ name }) => name);
        return Object.fromEntries(
          tables.map((table) => [table, JSON.stringify(database.prepare(`SELECT * FROM "${table}"`).all())]),
        );
      });
    const before = dump();
    const previous = { ok: true };
    for (const [name, few] of [
      ['Cleo', false],
      ['Dan', true],
    ] as const) {
      const page = await open(name);
      const cookie = await cookieOf(page);
      const entries = Object.entries(ids).filter(([kind]) => kind !== 'other' && (!few || kind === 'lawn'));
      const reached = new Map<string, number[]>();
      for (const { id: action, page: address } of actions)
        for (const [, id] of entries) {
          const shapes: unknown[][] = [
            [],
            ['$K1'],
            [previous, '$K1'],
            [id],
            [id, '$K1'],
            [id, previous, '$K1'],
            [ids.lawn, id, previous, '$K1'],
            [id, null, previous, '$K1'],
            [ids.lawn, id, 'draft:x', previous, '$K1'],
            [id, null],
          ];
          for (const shape of shapes) {
            const body = new FormData();
            for (const [field, value] of Object.entries({
              id,
              lawn: ids.lawn,
              kind: 'photo',
              plotId: ids.plot,
              name: 'x',
              state: 'confirmed',
              setting: 'us-warm',
            }))
              body.append(`_1_${field}`, value);
            body.append('0', JSON.stringify(shape));
            const answer = await fetch(server.url + address, {
              method: 'POST',
              headers: { cookie, 'next-action': action, 'sec-fetch-site': 'same-origin' },
              body,
              redirect: 'manual',
            });
            const seen = reached.get(action) ?? [];
            seen.push(answer.status);
            reached.set(action, seen);
            await answer.arrayBuffer();
          }
        }
      const refused = [...reached].filter(
        ([, seen]) =>
          seen.every((status) => status === 400 || status === 403 || status === 404) &&
          seen.some((status) => status === 403 || status === 404),
      );
      // Choosing the lawn one looks at is open to who looks (to Dan only for his own); one's own passphrase is, to
      // everybody; and so is undoing what is there no more, which puts nothing back, to Dan, who works on some lawn.
      const others = [...reached]
        .filter(([action]) => !refused.some(([one]) => one === action))
        .map(
          ([action, seen]) =>
            `${actions.find(({ id }) => id === action)?.page}: ${[...new Set(seen)].sort().join(' ')}`,
        );
      expect([name, others.length, others]).toEqual([name, 2, others]);
      await page.context().close();
    }
    expect(dump()).toEqual(before);
  }, 280_000);

  test('a person who is put away is out at once, and their name stays on what they did', async () => {
    const [ann, ben] = [await open('Ann', 'phone'), await open('Ben')];
    await ann.goto(`${server.url}/people`);
    await ann.getByText('Put Ben away').first().click();
    await ann.getByRole('button', { name: 'Put Ben away' }).click();
    await ann.getByRole('button', { name: 'Take Ben back' }).waitFor();
    await shoot(ann, 'people-phone');
    await ben.goto(`${server.url}/photos`);
    await ben.getByRole('heading', { name: 'Sign in' }).waitFor();
    await shoot(ben, 'sign-in-ben');
    await ann.goto(`${server.url}/marks/${ids.mark}`);
    expect(await ann.getByText('Said by Ben.').isVisible()).toBe(true);
  });

  test('one’s own passphrase is changed by oneself, and the old one opens nothing any more', async () => {
    const cleo = await open('Cleo', 'phone');
    await cleo.goto(`${server.url}/keep`);
    await cleo.getByText('Your passphrase').click();
    await cleo.getByLabel('Passphrase now').fill(wordsOf('Cleo'));
    await cleo.getByLabel('New passphrase').fill('moss grows back every year');
    await cleo.getByRole('button', { name: 'Change it' }).click();
    await cleo.getByText('Changed. Sign in with it.').waitFor();
    const tryIt = (passphrase: string) =>
      fetch(`${server.url}/sign-in`, {
        method: 'POST',
        body: new URLSearchParams({ username: 'cleo', passphrase, to: '/' }),
        redirect: 'manual',
      });
    expect((await tryIt(wordsOf('Cleo'))).status).toBe(401);
    expect((await tryIt('moss grows back every year')).status).toBe(303);
    expect((await cleo.goto(`${server.url}/keep`))?.url()).toContain('/sign-in');
  });
});

test('a proxy in front says who somebody is, when it is the proxy that calls', async () => {
  const dataFolder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-proxy-'));
  fs.cpSync(server.dataFolder, dataFolder, { recursive: true, filter: (file) => !file.endsWith('in-use.json') });
  const started = async (proxy: string) =>
    startServer({ dataFolder, env: { SWATHBOOK_PERSON_HEADER: 'Remote-User', SWATHBOOK_PROXY: proxy } });
  const ask = (url: string, name: string | null, address = '/keep') =>
    fetch(url + address, { headers: name === null ? {} : { 'remote-user': name }, redirect: 'manual' });
  const trusted = await started('127.0.0.1');
  expect(await (await ask(trusted.url, 'Ann')).text()).toContain('You are Ann here.');
  expect((await ask(trusted.url, 'ANN', '/people')).status).toBe(200);
  expect((await ask(trusted.url, 'Dan', '/people')).status).toBe(404);
  const unknown = await ask(trusted.url, 'Eve');
  expect([unknown.status, await unknown.text()]).toEqual([
    403,
    expect.stringContaining("Expected a person of this diary, got 'Eve' from the proxy in front"),
  ]);
  expect((await ask(trusted.url, null)).status).toBe(303);
  await trusted.stop();
  const elsewhere = await started('10.9.8.7');
  expect((await ask(elsewhere.url, 'Ann')).headers.get('location')).toBe('/sign-in?to=%2Fkeep');
  await elsewhere.stop();
  fs.rmSync(dataFolder, { recursive: true, force: true });
}, 120_000);
