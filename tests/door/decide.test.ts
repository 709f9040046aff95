import { describe, expect, test } from 'vitest';
import { decide, isLoopback, type DoorState, type Knock } from '@/lib/door/decide';

const knock = (part: Partial<Knock> = {}): Knock => ({
  method: 'GET',
  target: '/',
  host: 'diary.example:3000',
  origin: undefined,
  fetchSite: undefined,
  ...part,
});
const locked: DoorState = { locked: true, signedIn: false, isPublicFile: (path) => path === '/icon.svg' };
const inside: DoorState = { ...locked, signedIn: true };
const open: DoorState = { ...locked, locked: false };
const status = (part: Partial<Knock>, state: DoorState) => {
  const verdict = decide(knock(part), state);
  return verdict.kind === 'refuse' ? verdict.status : verdict.kind;
};

describe('with a passphrase and without a session', () => {
  test.each(['/', '/photos', '/photos/abc', '/response?from=2026-01-01'])(
    'the page %s leads to the sign-in',
    (target) => {
      expect(decide(knock({ target }), locked)).toEqual({ kind: 'sign-in', to: target });
    },
  );
  test.each([
    ['GET', '/api/photos/abc'],
    ['PUT', '/api/photos'],
    ['POST', '/'],
    ['POST', '/photos/x'],
    ['GET', '/_next/image?url=%2Fapi%2Fphotos%2Fx&w=640&q=75'],
    ['GET', '/_next/data/x.json'],
    ['POST', '/_next/static/x.js'],
    ['POST', '/api/health'],
  ])('%s %s is refused', (method, target) => {
    expect(status({ method, target }, locked)).toBe(401);
  });
  test.each(['/_next/static/chunks/a.js', '/icon.svg', '/api/health'])(
    '%s, which holds no diary data, is shown',
    (target) => {
      expect(decide(knock({ target }), locked)).toEqual({ kind: 'pass', visitor: 'anyone' });
    },
  );
});

describe('a shared page', () => {
  test('can be read by anyone, as a visitor of that page alone', () => {
    for (const state of [locked, inside, { ...open }])
      expect(decide(knock({ target: '/shared/abc/photo', host: 'localhost' }), state)).toEqual({
        kind: 'pass',
        visitor: 'shared',
      });
  });
  test('takes no posts, so no action can be called through it, not even by its owner', () => {
    for (const method of ['POST', 'PUT', 'DELETE', 'PATCH'])
      for (const state of [locked, inside]) expect(status({ method, target: '/shared/abc' }, state)).toBe(405);
  });
});

describe('addresses that could mean two things are refused', () => {
  test.each([
    '/shared/../photos',
    '/shared/%2e%2e/photos',
    '/shared/..%2fphotos',
    '/_next/static/../../photos',
    '//photos',
    '/shared//x',
    String.raw`/shared\..\photos`,
    '/_next/static/%5c..',
    'http://x/photos',
    '*',
    '/a/./b',
    '/a%00',
  ])('%s', (target) => {
    for (const state of [locked, inside]) expect(status({ target }, state)).toBe(400);
  });
});

describe('a change from another site is refused, with and without a passphrase', () => {
  const cases: [string, Partial<Knock>, boolean][] = [
    ['cross-site', { fetchSite: 'cross-site' }, false],
    ['same-site: another port of this machine', { fetchSite: 'same-site' }, false],
    ['same-origin', { fetchSite: 'same-origin' }, true],
    ['typed by the user', { fetchSite: 'none' }, true],
    ['an old browser, another origin', { origin: 'http://evil.example' }, false],
    ['an old browser, another port', { origin: 'http://localhost:9999' }, false],
    ['an old browser, no origin to tell', { origin: 'null' }, false],
    ['an old browser, this origin', { origin: 'http://localhost:3000' }, true],
    ['no browser', {}, true],
  ];
  test.each(cases)('%s', (_name, part, allowed) => {
    for (const method of ['POST', 'PUT'])
      for (const state of [inside, open]) {
        expect(status({ method, target: '/api/photos', host: 'localhost:3000', ...part }, state)).toBe(
          allowed ? 'pass' : 403,
        );
      }
  });
  test('reading from elsewhere is no change', () =>
    expect(status({ fetchSite: 'cross-site', host: 'localhost' }, open)).toBe('pass'));
});

describe('without a passphrase only this machine may ask, by its own name', () => {
  test.each([
    ['localhost:3000', true],
    ['127.0.0.1:3104', true],
    ['[::1]:3000', true],
    ['127.9.9.9', true],
    ['evil.example:3000', false],
    ['192.168.1.5:3000', false],
    ['127.0.0.1.evil.example', false],
    ['localhost.evil.example', false],
    ['', false],
  ])('%s', (host, allowed) => {
    expect(status({ host }, open)).toBe(allowed ? 'pass' : 403);
  });
  test('0.0.0.0 is no loopback', () =>
    expect([isLoopback('0.0.0.0'), isLoopback('::'), isLoopback('LOCALHOST'), isLoopback('::1')]).toEqual([
      false,
      false,
      true,
      true,
    ]));
});

test('unknown methods are refused', () => {
  for (const method of ['TRACE', 'OPTIONS', 'CONNECT', 'PROPFIND']) expect(status({ method }, inside)).toBe(405);
});
test('signing out takes a post', () => {
  expect(status({ method: 'POST', target: '/sign-out' }, inside)).toBe('door');
  expect(status({ method: 'GET', target: '/sign-out-everywhere' }, inside)).toBe('pass');
});
