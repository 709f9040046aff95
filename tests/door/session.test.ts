import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { scryptSync } from 'node:crypto';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Attempts, FREE_TRIES } from '@/lib/door/attempts';
import { readDoorFile, writeDoorFile } from '@/lib/door/door-file';
import { pathPattern } from '@/lib/door/front';
import {
  cookieNamed,
  deriveKeys,
  isSession,
  makeSession,
  samePassphrase,
  SESSION_MS,
  type DoorKeys,
} from '@/lib/door/session';
import { readTries, writeTries } from '@/lib/door/tries-file';
import { readServing } from '@/lib/forms/environment';

const salt = Buffer.alloc(16, 7);
let keys: DoorKeys;
let other: DoorKeys;
const folder = mkdtempSync(path.join(tmpdir(), 'door-'));
beforeAll(async () => {
  keys = await deriveKeys('correct horse battery', salt);
  other = await deriveKeys('correct horse batterY', salt);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a session', () => {
  const now = Date.UTC(2026, 4, 1);
  test('is known until it ends', () => {
    const session = makeSession(keys, 1, now);
    expect([0, 1000, SESSION_MS - 1, SESSION_MS].map((later) => isSession(keys, 1, session, now + later))).toEqual([
      true,
      true,
      true,
      false,
    ]);
  });
  test('of another passphrase, an earlier epoch, or changed in any character is none', () => {
    const session = makeSession(keys, 1, now);
    expect(isSession(other, 1, session, now)).toBe(false);
    expect(isSession(keys, 2, session, now)).toBe(false);
    for (let at = 0; at < session.length; at++) {
      const changed = `${session.slice(0, at)}${session[at] === 'a' ? 'b' : 'a'}${session.slice(at + 1)}`;
      expect(isSession(keys, 1, changed, now), `changed at ${at}`).toBe(false);
    }
    for (const nonsense of ['', '..', 'a.b.c', session.repeat(2)])
      expect(isSession(keys, 1, nonsense, now)).toBe(false);
  });
  test('no two are the same', () => expect(makeSession(keys, 1, now)).not.toBe(makeSession(keys, 1, now)));
  test('is found among other cookies', () => {
    expect(cookieNamed('lawn=x; swathbook=a=b; z=1', 'swathbook')).toBe('a=b');
    expect(cookieNamed('notswathbook=1', 'swathbook')).toBeUndefined();
    expect(cookieNamed(undefined, 'swathbook')).toBeUndefined();
  });
});

test('the passphrase is compared by scrypt keys (RFC 7914; Node’s own scrypt gives the same)', () => {
  const key = scryptSync('correct horse battery', salt, 64, { N: 65536, r: 8, p: 1, maxmem: 96 * 1024 * 1024 });
  expect(Buffer.concat([keys.check, keys.sign]).equals(key)).toBe(true);
  expect([samePassphrase(keys, keys), samePassphrase(keys, other)]).toEqual([true, false]);
});

test('five wrong entries are free, then each wait is twice the last, for that address only', () => {
  const attempts = new Attempts(0);
  let now = 0;
  for (let i = 0; i < FREE_TRIES; i++) {
    expect(attempts.waitMs('a', now)).toBe(0);
    attempts.count('a', now);
  }
  const waits = [15_000, 30_000, 60_000, 120_000, 240_000, 480_000, 900_000, 900_000];
  for (const wait of waits) {
    expect(attempts.waitMs('a', now)).toBe(wait);
    expect(attempts.waitMs('b', now)).toBe(0);
    now += wait;
    expect(attempts.waitMs('a', now)).toBe(0);
    attempts.count('a', now);
  }
  attempts.forgive('a');
  expect(attempts.waitMs('a', now)).toBe(0);
});

test('guessing from many addresses makes all wait', () => {
  const attempts = new Attempts(0);
  for (let i = 0; i < 200; i++) attempts.count(`address ${i}`, 0);
  expect(attempts.waitMs('a new one', 0)).toBe(15_000);
  expect(attempts.waitMs('a new one', 3_600_001)).toBe(0);
});

test('waits outlive a stop, and no clock that jumps changes them', () => {
  const attempts = new Attempts(1000);
  for (let i = 0; i < FREE_TRIES + 3; i++) attempts.count('a', 1000);
  const noon = Date.UTC(2026, 4, 1, 12);
  writeTries(folder, attempts.kept(1000), noon);
  const waitAfter = (wallNow: number) => new Attempts(5, readTries(folder, wallNow)).waitMs('a', 5);
  expect(waitAfter(noon)).toBe(120_000);
  expect(waitAfter(noon + 50_000)).toBe(70_000);
  expect(waitAfter(noon - 365 * 86_400_000)).toBe(120_000); // set back a year: once more the whole wait, not a year
  expect(waitAfter(noon + 120_000)).toBe(0);
  writeFileSync(path.join(folder, 'door-tries.json'), '{"all":');
  expect(readTries(folder, noon)).toBeNull();
  expect(statSync(path.join(folder, 'door-tries.json')).mode & 0o077).toBe(0);
});

test('the door file is made once, for its owner’s eyes, and a broken one is named', () => {
  const made = readDoorFile(folder);
  expect(readDoorFile(folder).salt).toEqual(Buffer.from(made.salt));
  writeDoorFile(folder, { ...made, epoch: 5 });
  expect(readDoorFile(folder).epoch).toBe(5);
  expect(statSync(path.join(folder, 'door.json')).mode & 0o077).toBe(0);
  expect(readFileSync(path.join(folder, 'door.json'), 'utf8')).not.toContain('passphrase');
  writeFileSync(path.join(folder, 'door.json'), '{');
  expect(() => readDoorFile(folder)).toThrow(/door\.json: expected this diary's door file, got something else/);
});

test('any address but loopback needs a passphrase of ten characters', () => {
  expect(readServing({}).host).toBe('127.0.0.1');
  for (const HOST of ['127.0.0.1', '::1', 'localhost']) expect(readServing({ HOST }).passphrase).toBeUndefined();
  for (const HOST of ['0.0.0.0', '::', '192.168.1.2', 'diary.example']) {
    expect(() => readServing({ HOST })).toThrow(
      /^HOST: expected .* SWATHBOOK_PASSPHRASE .*, got '.*' without a passphrase$/,
    );
    expect(readServing({ HOST, SWATHBOOK_PASSPHRASE: 'ten letters' }).passphrase).toBe('ten letters');
  }
  expect(() => readServing({ SWATHBOOK_PASSPHRASE: 'short' })).toThrow(/at least 10 characters/);
  expect(() => readServing({ SWATHBOOK_HTTPS: 'maybe' })).toThrow(/expected yes \(behind TLS\) or no, got 'maybe'/);
});

test('the log keeps patterns of paths, without identifiers, tokens or queries', () => {
  expect(pathPattern('/photos/cmf3k2l9x0000abcd1234efgh?width=320')).toBe('/photos/:id');
  expect(pathPattern('/api/photos?lawn=x&name=My%20garden.jpg')).toBe('/api/photos');
  expect(pathPattern('/shared/s3cr3t-T0ken/photos/cmf3k2l9x0000abcd1234efgh')).toBe('/shared/:token/photos/:id');
});
