import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { brotliDecompressSync, gunzipSync, inflateSync } from 'node:zlib';
import { benchJpeg } from '../../darkroom/bench-photo';
import { closeDiary } from '../../diary/client';
import { listLawns } from '../../diary/lawns';
import { applyMigrations } from '../../diary/migrate';
import { seededRandom, type Random } from '../../stats/random';
import { stopScorers } from '../../darkroom/scorer';
import { seedLoad } from '../../work/keep/seed-load';
import { freePort } from './free-port';
import { peakBytesOf } from './peak-bytes';

/**
 * Random requests against the server itself: paths, queries, headers, and bodies for every action there is, in each way
 * a body can come. Whatever is thrown, the answer is no 500, and every refusal says in words what was expected.
 */
export interface ServerTally {
  readonly asked: number;
  readonly byStatus: ReadonlyMap<number, number>;
  readonly wrong: readonly string[];
  readonly longestMs: number;
  readonly peakBytes: number;
}

interface Known {
  readonly ids: readonly string[];
  readonly actions: readonly { readonly id: string; readonly pages: readonly string[] }[];
}

const segments = [
  '',
  '%',
  '%ff',
  '%E0%A4%A',
  '%00',
  '%2e%2e',
  '..',
  '.',
  'x'.repeat(3000),
  '0',
  '-1',
  'null',
  'undefined',
  '__proto__',
  'constructor',
  '[id]',
  '(x)',
  '@head',
  "';--",
  '<b>',
  '2026-02-30',
  '9999-12-31',
  '😀',
  '%F0%9F%98%80',
  '~',
  '*',
  ':',
  'new',
  'edit',
];
const values = [
  '',
  ' ',
  '0',
  '-1',
  '1e999',
  'NaN',
  'x'.repeat(2000),
  '%',
  '%ff',
  '9999-12-31',
  '0001-01-01',
  '2026-02-30',
  '2026-13',
  '9999-12',
  '+275760-09-13',
  '-271821-04-20',
  '[]',
  '{}',
  '__proto__',
  '../../x',
  '\u0000',
  '\u202e',
  '😀',
  'true',
  '320',
  '2147483648',
  '99999999999999999999',
  'a5',
  'freezing',
  '1900',
  '2200',
];
const names = [
  'from',
  'to',
  'before',
  'after',
  'month',
  'plot',
  'viewpoint',
  'lawn',
  'width',
  'year',
  'q',
  'show',
  'day',
  'id',
  'photo',
  'token',
  'paper',
  'carrier.value',
  'carrier.unit',
  'leaf',
  'minutes',
  'base',
  'on',
  'rater',
  'name',
  'modified',
  'taken',
  'kept',
  'laid',
  '_rsc',
  '__nextLocale',
  'items.0.productId',
];
const templates = [
  '/',
  '/photos',
  '/photos/:',
  '/photos/:/',
  '/plots/:',
  '/sprays/:',
  '/sprays/:/edit',
  '/sprays/new',
  '/plan',
  '/plan/new',
  '/plan/:',
  '/plan/:/edit',
  '/plan/:/card',
  '/plan/calibrate',
  '/trials',
  '/trials/:',
  '/trials/:/rate',
  '/trials/:/report',
  '/trials/:/map',
  '/trials/:/analysis',
  '/trials/:/values.csv',
  '/trials/:/calendar',
  '/weather',
  '/weather/day/:',
  '/weather/import',
  '/response',
  '/response/against',
  '/shelf',
  '/shelf/:',
  '/compare',
  '/calendar',
  '/bin',
  '/keep',
  '/find',
  '/marks/:',
  '/methods',
  '/lawn',
  '/events',
  '/events/:',
  '/shared/:',
  '/shared/:/strip',
  '/api/photos/:',
  '/api/photos/:/above',
  '/api/photos/:/map',
  '/api/archives/:',
  '/api/weather/export',
  '/api/sprays.csv',
  '/:',
  '/:/:',
  '/_next/:',
  '/_next/image',
  '/_next/data/:',
];
// prettier-ignore
const headerChoices: readonly (readonly [string, readonly string[]])[] = [
  ['rsc', ['1', '0', '']],
  ['next-router-state-tree', ['%', '[]', '%5B%5D', '{}', encodeURIComponent('["",{}]'), encodeURIComponent('["",{"children":["x",{},null,"refetch"]}]'), encodeURIComponent('[[],[]]'), 'x'.repeat(6000)]],
  ['next-router-prefetch', ['1', '2', 'x']],
  ['next-router-segment-prefetch', ['/_tree', '/x', '%', '..']],
  ['next-url', ['/photos', '%', '//x', 'x']],
  ['accept-encoding', ['gzip', '', 'br;q=x']],
  ['range', ['bytes=0-', 'bytes=9-1', 'bytes=-0', 'x', 'bytes=99999999999999999999-']],
  ['cookie', ['lawn=%', 'lawn=../../x', `lawn=${'x'.repeat(2000)}`, 'undo=%7B', 'undo=x', ';;;=']],
  ['x-middleware-subrequest', ['middleware', 'x']],
  ['x-forwarded-host', ['elsewhere.example']],
  ['if-none-match', ['*', 'x']],
  ['accept', ['text/x-component', 'application/json', '']],
];

const pick = <T>(random: Random, list: readonly T[]) => list[random.below(list.length)] as T;

function randomPath(random: Random, known: Known): string {
  const segment = () => (random.next() < 0.35 ? pick(random, known.ids) : pick(random, segments));
  const place = pick(random, templates).replaceAll(':', () => segment());
  const parts = Array.from(
    { length: random.below(4) },
    () =>
      `${encodeURIComponent(pick(random, names))}=${random.next() < 0.5 ? encodeURIComponent(pick(random, values)) : pick(random, values).replaceAll(/[^\x21-\x7e]/g, '')}`,
  );
  return `${place.replaceAll(/[^\x21-\x7e]/gu, (character) => encodeURIComponent(character))}${parts.length > 0 ? `?${parts.join('&')}` : ''}`;
}

interface Throw {
  readonly method: string;
  readonly path: string;
  readonly headers: Record<string, string>;
  readonly body: Buffer | null;
}

function randomJson(random: Random, known: Known, depth = 0): unknown {
  const choice = random.below(depth > 3 ? 6 : 9);
  if (choice === 0) return pick(random, known.ids);
  if (choice === 1) return pick(random, values);
  if (choice === 2)
    return pick(random, [
      null,
      true,
      false,
      0,
      -1,
      1e308,
      '$undefined',
      '$K1',
      '$F1',
      '$@1',
      '$1',
      '$Q1',
      '$W1',
      '$D9999',
      '$n99999999999',
      '$-Infinity',
      '$Sx',
      '$T',
      '$B1',
      '$h1',
      '$r1',
    ]);
  if (choice < 6) return `${pick(random, ['$', '$$', ''])}${pick(random, values)}`;
  if (choice < 8) return Array.from({ length: random.below(4) }, () => randomJson(random, known, depth + 1));
  return Object.fromEntries(
    Array.from({ length: random.below(4) }, () => [
      pick(random, [...names, 'id', 'then', '__proto__', 'constructor', 'status']),
      randomJson(random, known, depth + 1),
    ]),
  );
}

const fieldNames = [
  'id',
  'name',
  'note',
  'startedLocal',
  'takenLocal',
  'viewpoint',
  'plotIds',
  'items.0.productId',
  'items.0.rate.value',
  'items.0.rate.unit',
  'outlines',
  'kind',
  'state',
  'timeZone',
  'area.value',
  'area.unit',
  'go',
  'lawn',
  'plotId',
  'photoId',
  'reason',
  'rater',
  'scores.0.score',
  'treatments.0.name',
  'startsOn',
  'design',
  'blocks',
  'seed',
  'at',
  'amount.value',
  '__proto__.x',
  'items.__proto__',
  '$ACTION_KEY',
  '1_id',
  '0',
];

function multipart(random: Random, known: Known, action: string | null): { type: string; body: Buffer } {
  const boundary = `x${random.nextUint32()}`;
  const parts: string[] = [];
  const add = (name: string, value: string) =>
    parts.push(
      `--${boundary}\r\nContent-Disposition: form-data; name="${name.replaceAll('"', '')}"${random.next() < 0.03 ? '; filename="x.jpg"\r\nContent-Type: image/jpeg' : ''}\r\n\r\n${value}\r\n`,
    );
  if (action !== null && random.next() < 0.5) add(`$ACTION_ID_${action}`, '');
  else if (action !== null) {
    add('$ACTION_REF_1', '');
    add(
      '$ACTION_1:0',
      random.next() < 0.8
        ? JSON.stringify({ id: action, bound: pick(random, ['$@1', null, '$1', '$@9', []]) })
        : JSON.stringify(randomJson(random, known)),
    );
    add(
      '$ACTION_1:1',
      JSON.stringify(
        random.next() < 0.6
          ? Array.from({ length: random.below(4) }, () => pick(random, [...known.ids, null, 1, 'x']))
          : randomJson(random, known),
      ),
    );
    add('$ACTION_KEY', 'k1');
  }
  for (let i = random.below(6); i > 0; i--)
    add(pick(random, fieldNames), random.next() < 0.4 ? pick(random, known.ids) : pick(random, values));
  const whole = `${parts.join('')}--${boundary}--\r\n`;
  return {
    type: `multipart/form-data; boundary=${random.next() < 0.95 ? boundary : 'other'}`,
    body: Buffer.from(random.next() < 0.05 ? whole.slice(0, random.below(whole.length)) : whole),
  };
}

/** One random request, made from its seed and number alone. */
function randomRequest(seed: number, index: number, known: Known): Throw {
  const random = seededRandom(`request ${seed} ${index}`);
  const headers: Record<string, string> = {};
  for (let i = random.below(3); i > 0; i--) {
    const [name, choices] = pick(random, headerChoices);
    headers[name] = pick(random, choices);
  }
  const where = randomPath(random, known);
  const kind = random.next();
  if (kind < 0.4)
    return {
      method: random.next() < 0.9 ? 'GET' : pick(random, ['HEAD', 'DELETE', 'PATCH', 'OPTIONS', 'POST']),
      path: where,
      headers,
      body: null,
    };
  if (kind < 0.5) {
    const target = pick(random, [
      '/api/photos',
      '/api/weather/ask',
      '/api/weather/files',
      `/api/weather/files/${pick(random, known.ids)}`,
    ]);
    const query = Array.from(
      { length: random.below(5) },
      () =>
        `${pick(random, ['lawn', 'name', 'viewpoint', 'modified', 'taken'])}=${encodeURIComponent(random.next() < 0.4 ? pick(random, known.ids) : pick(random, values))}`,
    ).join('&');
    return {
      method: pick(random, ['PUT', 'POST', 'DELETE']),
      path: `${target}?${query}`,
      headers,
      body: Buffer.from(random.next() < 0.5 ? JSON.stringify(randomJson(random, known)) : pick(random, values)),
    };
  }
  const built = pick(random, known.actions);
  const action = random.next() < 0.95 ? built.id : pick(random, ['x', '00', 'f'.repeat(42), '']);
  // Mostly the action's own page, where it can be found.
  const page =
    random.next() < 0.8 && built.pages.length > 0
      ? pick(random, built.pages).replaceAll(/\[[^\]]+\]/g, () => pick(random, known.ids))
      : where;
  if (random.next() < 0.45) {
    if (random.next() < 0.85) headers['next-action'] = action;
    const fetched = random.next() < 0.5;
    const form = fetched ? null : multipart(random, known, null);
    return {
      method: 'POST',
      path: page,
      headers: {
        ...headers,
        'content-type': form?.type ?? pick(random, ['text/plain;charset=UTF-8', 'application/json', '']),
      },
      body:
        form?.body ??
        Buffer.from(
          random.next() < 0.85
            ? JSON.stringify(Array.from({ length: random.below(5) }, () => randomJson(random, known)))
            : pick(random, values),
        ),
    };
  }
  const form = multipart(random, known, action);
  return { method: 'POST', path: page, headers: { ...headers, 'content-type': form.type }, body: form.body };
}

function send(
  url: string,
  { method, path: target, headers, body }: Throw,
): Promise<{ status: number; text: string; ms: number }> {
  return new Promise((resolve, reject) => {
    const started = performance.now();
    const clean = Object.fromEntries(
      Object.entries(headers).map(([name, value]) => [name, value.replaceAll(/[^\x20-\x7e]/g, '')]),
    );
    const request = http.request(
      url,
      {
        method,
        path: target,
        headers: { ...clean, ...(body ? { 'content-length': body.length } : {}) },
        agent: false,
        timeout: 30_000,
      },
      (response) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () =>
          resolve({
            status: response.statusCode ?? 0,
            text: unpacked(Buffer.concat(chunks), response.headers['content-encoding']),
            ms: performance.now() - started,
          }),
        );
        response.on('error', reject);
      },
    );
    request.on('timeout', () => request.destroy(new Error('no answer within 30 s')));
    request.on('error', reject);
    request.end(body ?? undefined);
  });
}

function unpacked(bytes: Buffer, packing: string | undefined): string {
  if (bytes.length === 0 || packing === undefined) return bytes.toString();
  const unpack = { gzip: gunzipSync, br: brotliDecompressSync, deflate: inflateSync }[packing];
  return unpack === undefined ? bytes.toString() : unpack(bytes).toString();
}

/**
 * What a refusal says: a JSON or plain sentence of ours, a page, or the framework's own words for an action there is
 * not.
 */
const isSaid = (text: string) => /xpected|No such|not there|unavailable|Invalid Server Action|<html/i.test(text);

async function startOn(folder: string): Promise<{ url: string; child: ChildProcess; words: () => string }> {
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/front.mjs'], {
    stdio: ['ignore', 'ignore', 'pipe'],
    env: {
      ...process.env,
      NODE_ENV: 'production',
      NEXT_TELEMETRY_DISABLED: '1',
      SWATHBOOK_DATA: folder,
      HOST: '127.0.0.1',
      PORT: String(port),
      SWATHBOOK_LOG: 'silent',
    },
  });
  let words = '';
  child.stderr?.on('data', (chunk: Buffer) => (words = (words + chunk.toString()).slice(-20_000)));
  const url = `http://127.0.0.1:${port}`;
  for (let i = 0; i < 600; i++) {
    if (
      await fetch(`${url}/api/health`).then(
        () => true,
        () => false,
      )
    )
      return { url, child, words: () => words };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error(`the server gave no answer within a minute: ${words}`);
}

/** The identifiers by which the build lets actions be called. */
function builtActions(): Known['actions'] {
  const manifest = JSON.parse(readFileSync('.next/server/server-reference-manifest.json', 'utf8')) as {
    node: Record<string, { workers: Record<string, unknown> }>;
  };
  return Object.entries(manifest.node).map(([id, { workers }]) => ({
    id,
    pages: Object.keys(workers).map(
      (worker) =>
        worker
          .replace(/^app/, '')
          .replace(/\/page$/, '')
          .replaceAll(/\/(?:@[^/]+|\([^/]+\))/g, '') || '/',
    ),
  }));
}

/** Throws `count` requests from number `from` on at a server of its own, a few at a time. */
export async function throwAtServer(seed: number, from: number, count: number): Promise<ServerTally> {
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-throw-'));
  const before = process.env['SWATHBOOK_DATA'];
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const jpeg = await benchJpeg({
    width: 160,
    height: 120,
    channels: 3,
    space: 'srgb',
    data: new Uint8Array(160 * 120 * 3).fill(90),
  });
  const diary = await seedLoad({ photos: 4, sprays: 3, weatherYears: 0 }, Buffer.from(jpeg), () => {});
  const lawns = (await listLawns()).map((lawn) => lawn.id);
  await stopScorers();
  await closeDiary();
  const known: Known = {
    ids: [
      ...lawns,
      ...Object.values(diary).filter((value): value is string => typeof value === 'string'),
      'cmaaaaaaaaaaaaaaaaaaaaaaa',
    ],
    actions: builtActions(),
  };
  const { url, child, words } = await startOn(folder);
  const byStatus = new Map<number, number>();
  const wrong: string[] = [];
  let longestMs = 0;
  let next = from;
  try {
    const thrower = async () => {
      while (next < from + count && wrong.length < 40) {
        const index = next++;
        const request = randomRequest(seed, index, known);
        const label = `request ${index} of seed ${seed} (${request.method} ${request.path.slice(0, 120)})`;
        try {
          const { status, text, ms } = await send(url, request);
          byStatus.set(status, (byStatus.get(status) ?? 0) + 1);
          longestMs = Math.max(longestMs, ms);
          if (status >= 500) wrong.push(`${label}: ${status} ${text.slice(0, 200)}`);
          else if (status >= 400 && request.method !== 'HEAD' && status !== 416 && !isSaid(text))
            wrong.push(`${label}: ${status} without a word: ${text.slice(0, 100)}`);
        } catch (error) {
          // Some headers no client may send, and Node's own parser refuses: that is an answer too, unless the server is
          // gone.
          if (
            !(await fetch(`${url}/api/health`).then(
              (answer) => answer.ok,
              () => false,
            ))
          ) {
            wrong.push(`${label}: the server is gone (${(error as Error).message})`);
            return;
          }
          if (/no answer/.test((error as Error).message)) wrong.push(`${label}: ${(error as Error).message}`);
        }
      }
    };
    await Promise.all([thrower(), thrower(), thrower(), thrower()]);
    if (wrong.length > 0) wrong.push(`the server's last words: ${words().slice(-1500)}`);
    return { asked: next - from, byStatus, wrong, longestMs, peakBytes: peakBytesOf(child.pid) };
  } finally {
    child.kill('SIGTERM');
    await new Promise((resolve) =>
      child.exitCode === null && child.signalCode === null ? child.once('exit', resolve) : resolve(0),
    );
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    rmSync(folder, { recursive: true, force: true });
  }
}
