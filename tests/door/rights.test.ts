import { describe, expect, test } from 'vitest';
import { allows, rightOn } from '@/lib/door/rights';
import { isPassphrase, isPersonSession, keyOfPassphrase, makePersonSession } from '@/lib/door/session';
import { readServing } from '@/lib/forms/environment';
import { RIGHTS, type Right, type Who } from '@/lib/visit';

const person = (lawns: readonly (readonly [string, Right])[], keepsDiary = false): Who => ({
  kind: 'person',
  id: 'p',
  name: 'Ann',
  keepsDiary,
  lawns: new Map(lawns),
});

describe('rights', () => {
  test('each holds those before it, on its own lawn only', () => {
    const may = (has: Right) => RIGHTS.map((asked) => allows(person([['home', has]]), asked, { lawnId: 'home' }));
    expect([may('looks'), may('works'), may('keeps')]).toEqual([
      [true, false, false],
      [true, true, false],
      [true, true, true],
    ]);
    expect(RIGHTS.map((asked) => allows(person([['home', 'keeps']]), asked, { lawnId: 'other' }))).toEqual([
      false,
      false,
      false,
    ]);
    expect(rightOn(person([['home', 'keeps']]), 'other')).toBeUndefined();
  });
  test('what all lawns share asks for the right on some lawn', () => {
    const two = person([
      ['home', 'looks'],
      ['field', 'works'],
    ]);
    expect(RIGHTS.map((asked) => allows(two, asked, 'some-lawn'))).toEqual([true, true, false]);
    expect(RIGHTS.map((asked) => allows(person([]), asked, 'some-lawn'))).toEqual([false, false, false]);
  });
  test('what belongs to the whole diary is for who keeps all of it, not for who keeps every lawn there is', () => {
    for (const asked of RIGHTS) {
      expect(allows(person([['home', 'keeps']]), asked, 'diary')).toBe(false);
      expect(allows(person([], true), asked, 'diary')).toBe(true);
      expect(allows(person([], true), asked, { lawnId: 'one to come' })).toBe(true);
    }
  });
  test('without people all is open, and to the reader of a shared page nothing', () => {
    for (const asked of RIGHTS)
      for (const ground of [{ lawnId: 'home' }, 'some-lawn', 'diary'] as const) {
        expect(allows({ kind: 'everything' }, asked, ground)).toBe(true);
        expect(allows({ kind: 'nothing' }, asked, ground)).toBe(false);
      }
  });
});

test('a person’s passphrase is known by its salted key only, and where none was set nothing fits', async () => {
  const [one, two] = [await keyOfPassphrase('a rake by the gate'), await keyOfPassphrase('a rake by the gate')];
  expect(one.salt).not.toBe(two.salt);
  expect(one.check).not.toBe(two.check);
  expect(await isPassphrase('a rake by the gate', one)).toBe(true);
  expect(await isPassphrase('a rake by the gat', one)).toBe(false);
  expect(await isPassphrase('', null)).toBe(false);
});

test('a person’s session is 256 random bits, told apart from one of the diary’s passphrase', () => {
  const session = makePersonSession();
  expect(Buffer.from(session.slice(2), 'base64url')).toHaveLength(32);
  expect(isPersonSession(session)).toBe(true);
  expect(makePersonSession()).not.toBe(session);
  expect(['', 'p.', `p.${'x'.repeat(42)}`, 'abc.def.ghi'].map(isPersonSession)).toEqual([false, false, false, false]);
});

test('a header that names people comes with the addresses it is believed from', () => {
  expect(readServing({}).proxy).toBeNull();
  expect(readServing({ SWATHBOOK_PERSON_HEADER: 'Remote-User', SWATHBOOK_PROXY: '10.0.0.5, ::1' }).proxy).toEqual({
    header: 'remote-user',
    addresses: ['10.0.0.5', '::1'],
  });
  expect(() => readServing({ SWATHBOOK_PERSON_HEADER: 'Remote-User' })).toThrow(
    /^SWATHBOOK_PERSON_HEADER: expected SWATHBOOK_PROXY set as well/,
  );
  expect(() => readServing({ SWATHBOOK_PROXY: '10.0.0.5' })).toThrow(
    /^SWATHBOOK_PROXY: expected SWATHBOOK_PERSON_HEADER set as well/,
  );
  expect(() => readServing({ SWATHBOOK_PERSON_HEADER: 'Remote User', SWATHBOOK_PROXY: '::1' })).toThrow(
    /expected the name of a header like Remote-User, got 'Remote User'/,
  );
  expect(() => readServing({ SWATHBOOK_PERSON_HEADER: 'Remote-User', SWATHBOOK_PROXY: 'proxy.example' })).toThrow(
    /^SWATHBOOK_PROXY: expected the addresses the proxy calls from/,
  );
});
