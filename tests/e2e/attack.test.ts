import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import http from 'node:http';
import net from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { LOCK_FILE } from '@/lib/door/folder-lock';
import { isRunning } from '@/lib/door/process-life';
import { startServer, type TestServer } from '../support/server';

const root = fileURLToPath(new URL('../..', import.meta.url));
const passphrase = 'moss on the north side';
let server: TestServer;
beforeAll(async () => {
  server = await startServer({ env: { SWATHBOOK_PASSPHRASE: passphrase } });
});
afterAll(() => server?.stop());

const filesOpen = () => readdirSync(`/proc/${server.pid}/fd`).length;
const at = () => Number(new URL(server.url).port);

/**
 * Sends text over a fresh connection.
 * @returns what came back before it ended, or null when it was still open after `patienceMs`
 */
function exchange(text: string, patienceMs = 5000): Promise<string | null> {
  return new Promise((resolve) => {
    const socket = net.connect(at(), '127.0.0.1', () => socket.write(text));
    let words = '';
    const give = (value: string | null) => (clearTimeout(timer), socket.destroy(), resolve(value));
    const timer = setTimeout(() => give(null), patienceMs);
    socket.on('data', (chunk) => (words += chunk.toString()));
    socket.on('close', () => give(words));
    socket.on('error', () => give(words));
  });
}

/** A request whose path is sent as it stands: fetch would tidy it first. */
function askRaw(rawPath: string, headers: Record<string, string> = {}): Promise<{ status: number; body: string }> {
  return new Promise((resolve, reject) => {
    const request = http.request(server.url, { path: rawPath, headers, agent: false }, (response) => {
      let body = '';
      response.on('data', (chunk: Buffer) => (body += chunk.toString()));
      response.on('end', () => resolve({ status: response.statusCode ?? 0, body }));
    });
    request.on('error', reject);
    request.end();
  });
}

async function signIn(): Promise<string> {
  const answer = await fetch(`${server.url}/sign-in`, {
    method: 'POST',
    redirect: 'manual',
    body: new URLSearchParams({ passphrase }),
  });
  expect(answer.status).toBe(303);
  return (answer.headers.get('set-cookie') ?? '').split(';')[0] as string;
}

describe('without a session', () => {
  test('who asks for another protocol is answered and let go, on any path, whatever was asked before', async () => {
    await fetch(`${server.url}/sign-in`);
    const before = filesOpen();
    const upgrade = (target: string) =>
      `GET ${target} HTTP/1.1\r\nHost: localhost\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n`;
    for (let round = 0; round < 4; round++) {
      const answers = await Promise.all(
        ['/', '/nothing-here', '/_next/webpack-hmr', '/api/photos', '/shared/x']
          .flatMap((target) => [target, target])
          .map((target) => exchange(upgrade(target))),
      );
      for (const answer of answers)
        expect(answer).toMatch(
          /^HTTP\/1\.1 400 .*Expected a plain HTTP request, got one that asks for another protocol\./s,
        );
    }
    expect(filesOpen()).toBeLessThan(before + 5);
  });

  test(
    'who opens a connection and says nothing, or half of something, is let go within the head’s time',
    { timeout: 40_000 },
    async () => {
      const before = filesOpen();
      const silent = await Promise.all(
        ['', 'GET / HTTP/1.1\r\nHost: loc', 'GET / HTTP/1.1\r\nHost: localhost\r\nX: '].map((text) =>
          exchange(text, 20_000),
        ),
      );
      expect(silent).not.toContain(null);
      expect(filesOpen()).toBeLessThan(before + 5);
    },
  );

  test('one address gets its share of connections and no more', async () => {
    const sockets = Array.from({ length: 160 }, () => net.connect(at(), '127.0.0.1').on('error', () => undefined));
    await new Promise((resolve) => setTimeout(resolve, 1500));
    const open = sockets.filter((socket) => !socket.destroyed && socket.readyState === 'open').length;
    for (const socket of sockets) socket.destroy();
    expect(open).toBeGreaterThan(50);
    expect(open).toBeLessThanOrEqual(100);
  });

  test.each(['/shared/%', '/photos/%', '/%E0%A4%A', '/sprays/%ff', '/shared/abc/strip?photo=%'])(
    '%s is answered in a sentence, never with a 500',
    async (target) => {
      const { status, body } = await askRaw(target);
      expect([400, 404]).toContain(status);
      expect(body).toMatch(/Expected|No such/);
    },
  );
});

describe('with a session', () => {
  let cookie: string;
  beforeAll(async () => {
    cookie = await signIn();
  });

  test.each(['%', '%7B', encodeURIComponent('[]'), encodeURIComponent('["",{"children":[1,2]}]'), 'x'.repeat(9000)])(
    'a router state that no page sent (%s) is refused in a sentence',
    async (state) => {
      const { status, body } = await askRaw('/photos', { cookie, rsc: '1', 'next-router-state-tree': state });
      expect([status, body]).toEqual([400, expect.stringContaining('Expected the state of a page')]);
    },
  );

  test.each([
    '/weather?from=9999-12-31',
    '/weather?from=0000-00-00',
    '/weather/day/9999-12-31',
    '/?before=+275760-09-13',
    '/photos?before=-271821-04-20',
    '/calendar?month=9999-12',
    '/response?from=0001-01-01&to=9999-12-31',
    '/trials/xx',
    '/lawn?plot=%00'.replace('%00', '%7f'),
  ])('%s is no 500', async (target) => {
    expect((await askRaw(target, { cookie })).status).toBeLessThan(500);
  });

  test(
    'a body over its limit is told so, whether its length was said or not, and the connection isn’t cut',
    { timeout: 90_000 },
    async () => {
      const send = (headers: Record<string, string>, bytes: number) =>
        new Promise<{ status: number; body: string }>((resolve, reject) => {
          const request = http.request(
            `${server.url}/api/photos?lawn=cmaaaaaaaaaaaaaaaaaaaaaaa&name=x.jpg`,
            { method: 'PUT', headers: { cookie, ...headers }, agent: false },
            (response) => {
              let body = '';
              response.on('data', (chunk: Buffer) => (body += chunk.toString()));
              response.on('end', () => resolve({ status: response.statusCode ?? 0, body }));
            },
          );
          request.on('error', reject);
          const chunk = Buffer.alloc(1_000_000, 0xff);
          let left = bytes;
          const more = () => {
            while (left > 0) {
              left -= chunk.length;
              if (!request.write(chunk)) return request.once('drain', more);
            }
            return request.end();
          };
          more();
        });
      expect(await send({ 'content-length': '101000000' }, 101_000_000)).toEqual({
        status: 413,
        body: expect.stringMatching(/Expected at most 100 MB here, got 101 MB\./),
      });
      expect(await send({ 'transfer-encoding': 'chunked' }, 5_000_000)).toEqual({
        status: 404,
        body: expect.stringMatching(/Lawn: expected a lawn of this diary/),
      });
      const answer = await fetch(`${server.url}/photos`, {
        method: 'POST',
        headers: { cookie },
        body: 'x'.repeat(1_100_000),
      });
      expect([answer.status, await answer.text()]).toEqual([
        413,
        expect.stringContaining('Expected at most 1 MB here, got 2 MB.'),
      ]);
    },
  );

  test('signing out ends the session itself, not only its cookie', async () => {
    const own = await signIn();
    const other = await signIn();
    const status = async (of: string) =>
      (await fetch(`${server.url}/api/archives/progress`, { headers: { cookie: of } })).status;
    expect([await status(own), await status(other)]).toEqual([200, 200]);
    await fetch(`${server.url}/sign-out`, { method: 'POST', headers: { cookie: own }, redirect: 'manual' });
    expect([await status(own), await status(other)]).toEqual([401, 200]);
    await fetch(`${server.url}/sign-out-everywhere`, {
      method: 'POST',
      headers: { cookie: other },
      redirect: 'manual',
    });
    expect([await status(other), await status(cookie)]).toEqual([401, 401]);
  });
});

test('asked to stop, it is gone within two seconds, whatever hangs', { timeout: 60_000 }, async () => {
  const hung = await startServer();
  const port = Number(new URL(hung.url).port);
  const sockets = [
    '',
    'GET / HTT',
    `PUT /api/photos?lawn=cmaaaaaaaaaaaaaaaaaaaaaaa&name=x.jpg HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000\r\n\r\nabc`,
    'GET / HTTP/1.1\r\nHost: localhost\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n',
  ].map((text) => {
    const socket = net.connect(port, '127.0.0.1', () => socket.write(text)).on('error', () => undefined);
    return socket;
  });
  await new Promise((resolve) => setTimeout(resolve, 500));
  const asked = performance.now();
  await hung.stop();
  // Two seconds are promised; the half more is for a machine that has other things to do.
  expect(performance.now() - asked).toBeLessThan(2500);
  for (const socket of sockets) socket.destroy();
});

test(
  'when npm’s process ends, however it ends, the server ends and the folder is free',
  { timeout: 90_000 },
  async () => {
    const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-npm-'));
    const probe = net.createServer();
    const port = await new Promise<number>((resolve) =>
      probe.listen(0, '127.0.0.1', () => resolve((probe.address() as net.AddressInfo).port)),
    );
    await new Promise((resolve) => probe.close(resolve));
    // As npm does it: a process with a shell below it that starts the script.
    const script = `const {spawn}=require('node:child_process');spawn('sh',['-c','node lib/commands/start.mjs; true'],{stdio:'ignore'});setInterval(()=>{},1000)`;
    const npm = spawn(process.execPath, ['-e', script], {
      cwd: root,
      stdio: 'ignore',
      env: {
        ...process.env,
        SWATHBOOK_DATA: folder,
        PORT: String(port),
        HOST: '127.0.0.1',
        SWATHBOOK_LOG: 'error',
        npm_lifecycle_event: 'start',
      },
    });
    const serves = () =>
      fetch(`http://127.0.0.1:${port}/api/health`).then(
        () => true,
        () => false,
      );
    for (let i = 0; i < 400 && !(await serves()); i++) await new Promise((resolve) => setTimeout(resolve, 150));
    expect(await serves()).toBe(true);
    npm.kill('SIGKILL');
    for (let i = 0; i < 60 && existsSync(path.join(folder, LOCK_FILE)); i++)
      await new Promise((resolve) => setTimeout(resolve, 100));
    expect([existsSync(path.join(folder, LOCK_FILE)), await serves()]).toEqual([false, false]);
    expect(isRunning(npm.pid as number, null)).toBe(false);
    rmSync(folder, { recursive: true, force: true });
  },
);

test('an environment that is off ends the start with one sentence', () => {
  const started = spawnSync(process.execPath, ['lib/commands/start.mjs'], {
    cwd: root,
    encoding: 'utf8',
    env: { ...process.env, SWATHBOOK_PASSPHRASE: 'short', HOST: '0.0.0.0' },
  });
  expect(started.status).toBe(2);
  expect(started.stderr).toMatch(
    /(?:^|\n)swathbook: SWATHBOOK_PASSPHRASE: expected at least 10 characters, got fewer\n$/,
  );
  expect(started.stderr).not.toMatch(/to succeed|\n\s+at /);
});
