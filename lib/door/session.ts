import { DAY_MS } from '@/lib/units/time';
import { createHash, createHmac, randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * What a passphrase becomes: one half to compare entries with, the other to sign sessions with. The passphrase itself
 * is not kept.
 */
export interface DoorKeys {
  readonly check: Uint8Array;
  readonly sign: Uint8Array;
}

/** A session ends after this long: 30 days. */
export const SESSION_MS = 30 * DAY_MS;

/**
 * scrypt with N = 2^16, r = 8, p = 1: 64 MB and about a quarter of a second a try, so guesses are dear.
 * @see RFC 7914
 */
export function deriveKeys(passphrase: string, salt: Uint8Array): Promise<DoorKeys> {
  return new Promise((resolve, reject) => {
    scrypt(
      passphrase.normalize('NFC'),
      salt,
      64,
      { N: 2 ** 16, r: 8, p: 1, maxmem: 96 * 1024 * 1024 },
      (error, key) => {
        if (error) reject(error);
        else resolve({ check: key.subarray(0, 32), sign: key.subarray(32) });
      },
    );
  });
}

/** Whether two passphrases are the same, by their keys, in a time that tells nothing. */
export const samePassphrase = (a: DoorKeys, b: DoorKeys): boolean => timingSafeEqual(a.check, b.check);

function macOf(keys: DoorKeys, epoch: number, body: string): Buffer {
  return createHmac('sha256', keys.sign).update(`${epoch}.${body}`).digest();
}

/** A session as its cookie holds it: when it began, a random part, and a signature over both and the epoch. */
export function makeSession(keys: DoorKeys, epoch: number, now: number): string {
  const body = `${now.toString(36)}.${randomBytes(9).toString('base64url')}`;
  return `${body}.${macOf(keys, epoch, body).toString('base64url')}`;
}

/**
 * The session of a person as its cookie holds it: 256 random bits, worth something as long as the diary has its row.
 */
export const makePersonSession = (): string => `p.${randomBytes(32).toString('base64url')}`;

/** Whether a cookie looks like a person's session. Whose it is, and whether it was ended, is the diary's to say. */
export const isPersonSession = (session: string): boolean => /^p\.[\w-]{43}$/.test(session);

/** What is kept of a person's passphrase. */
export async function keyOfPassphrase(passphrase: string): Promise<{ salt: string; check: string }> {
  const salt = randomBytes(16);
  const { check } = await deriveKeys(passphrase, salt);
  return { salt: salt.toString('hex'), check: Buffer.from(check).toString('hex') };
}

/** Whether an entry is the passphrase that is kept as `key`. Where none is kept it is not, and takes as long. */
export async function isPassphrase(entry: string, key: { salt: string; check: string } | null): Promise<boolean> {
  const { check } = await deriveKeys(entry, Buffer.from(key?.salt ?? '00'.repeat(16), 'hex'));
  return timingSafeEqual(check, Buffer.from(key?.check ?? '00'.repeat(32), 'hex')) && key !== null;
}

/** What the diary keeps of a session: enough to know it again, not to make its cookie. */
export const sessionHash = (session: string): string => createHash('sha256').update(session).digest('hex');

/**
 * Whether a cookie's session was made here, with this passphrase and epoch, and is not over. Whether it was ended is
 * the diary's to say.
 */
export function isSession(keys: DoorKeys, epoch: number, session: string, now: number): boolean {
  const match = /^([0-9a-z]{1,12})\.([\w-]{12})\.([\w-]{43})$/.exec(session);
  if (!match) return false;
  const [, began, random, mac] = match as unknown as [string, string, string, string];
  const given = Buffer.from(mac, 'base64url');
  const right = macOf(keys, epoch, `${began}.${random}`);
  // One session has one form: spare bits of the last character, which decode to nothing, must be as they were made.
  if (given.toString('base64url') !== mac) return false;
  const age = now - Number.parseInt(began, 36);
  return given.length === right.length && timingSafeEqual(given, right) && age >= -60_000 && age < SESSION_MS;
}

/** One cookie's value out of a Cookie header. */
export function cookieNamed(header: string | undefined, name: string): string | undefined {
  for (const part of (header ?? '').split(';')) {
    const at = part.indexOf('=');
    if (at > 0 && part.slice(0, at).trim() === name) return part.slice(at + 1).trim();
  }
  return undefined;
}
