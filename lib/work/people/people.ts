import 'server-only';
import {
  addPerson,
  hasPeople,
  listPeople,
  personByName,
  putPersonAway,
  setPassphrase,
  setRights,
  takePersonBack,
} from '@/lib/diary/people';
import { listLawns } from '@/lib/diary/lawns';
import { isPassphrase, keyOfPassphrase } from '@/lib/door/session';
import type { FormResult } from '@/lib/forms/result';
import { currentWho, type Right } from '@/lib/visit';

const refuse = (field: string, message: string): FormResult => ({ ok: false, message, errors: { [field]: message } });
const LAST = 'expected somebody who keeps the whole diary to be left, got nobody: give that to another person first';

/** Adds somebody. The first person keeps the whole diary, since nobody else could. */
export async function addSomebody(
  { name, passphrase, keepsDiary }: { name: string; passphrase: string; keepsDiary: boolean },
  now: Date,
): Promise<FormResult> {
  const isFirst = !(await hasPeople());
  const added = await addPerson(name.replaceAll(/\s+/g, ' '), keepsDiary || isFirst, {
    ...(await keyOfPassphrase(passphrase)),
    setAt: now,
  });
  if (added === null) return refuse('name', `Name: expected one that nobody has or had, got '${name}'`);
  if (!isFirst)
    return {
      ok: true,
      message: `${name} can come in now. Give them this diary’s address, the name and the passphrase; they can choose another one under Keep.`,
    };
  return {
    ok: true,
    message: `This diary asks everybody for a name now. Sign in as ${name} to go on.`,
    next: { href: '/sign-in?to=/people', label: 'Sign in' },
  };
}

export async function changeRights(
  personId: string,
  { keepsDiary, right }: { keepsDiary: boolean; right: Readonly<Record<string, Right | 'none'>> },
): Promise<FormResult> {
  const lawns = new Set((await listLawns()).map((lawn) => lawn.id));
  const given = Object.entries(right).filter(
    (entry): entry is [string, Right] => lawns.has(entry[0]) && entry[1] !== 'none',
  );
  if (!(await setRights(personId, keepsDiary, new Map(given))))
    return refuse('keepsDiary', `Keeps the whole diary: ${LAST}`);
  return { ok: true, message: 'Saved.' };
}

export async function resetPassphrase(personId: string, passphrase: string, now: Date): Promise<FormResult> {
  const person = (await listPeople()).find((one) => one.id === personId && one.awaySince === null);
  if (!person) return refuse('passphrase', 'Person: expected one who comes in, got one who was put away');
  await setPassphrase(personId, { ...(await keyOfPassphrase(passphrase)), setAt: now });
  return {
    ok: true,
    message: `${person.name} has a new passphrase, and whoever was signed in under that name is signed out.`,
  };
}

/** Changes the passphrase of whoever asks; they are signed out everywhere by it. */
export async function changeOwnPassphrase(entry: { now: string; passphrase: string }, at: Date): Promise<FormResult> {
  const who = currentWho();
  const found = who.kind === 'person' ? await personByName(who.name) : null;
  if (!found) return refuse('now', 'Passphrase: expected somebody who signed in by name, got nobody');
  if (!(await isPassphrase(entry.now, found.key)))
    return refuse('now', 'Passphrase now: expected yours, got another one');
  await setPassphrase(found.person.id, { ...(await keyOfPassphrase(entry.passphrase)), setAt: at });
  return { ok: true, message: 'Changed. Sign in with it.', next: { href: '/sign-in?to=/keep', label: 'Sign in' } };
}

export async function putAway(personId: string, now: Date): Promise<FormResult> {
  return (await putPersonAway(personId, now))
    ? { ok: true, message: 'Put away.' }
    : { ok: false, message: `Putting away: ${LAST}.`, errors: {} };
}

export async function takeBack(personId: string): Promise<FormResult> {
  await takePersonBack(personId);
  return { ok: true, message: 'Back, with the rights as before. A new passphrase is needed.' };
}
