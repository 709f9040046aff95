import 'server-only';
import { RIGHTS, type Right, type SignedInPerson } from '@/lib/visit';
import { diary } from './client';

/** A name as it is looked for: however it is typed. */
export const nameKeyOf = (name: string): string => name.normalize('NFC').trim().replaceAll(/\s+/g, ' ').toLowerCase();

interface Row {
  id: string;
  name: string;
  keepsDiary: boolean;
  rights: { lawnId: string; right: string }[];
}

const withRights = { rights: { select: { lawnId: true, right: true } } } as const;
const narrowRight = (right: string): Right => RIGHTS.find((known) => known === right) ?? 'looks';
const signedIn = ({ id, name, keepsDiary, rights }: Row): SignedInPerson => ({
  kind: 'person',
  id,
  name,
  keepsDiary,
  lawns: new Map(rights.map((one) => [one.lawnId, narrowRight(one.right)])),
});

/** Whether people are set up in this diary: then each comes in by name. */
export async function hasPeople(): Promise<boolean> {
  return (await diary().person.findFirst({ where: { deletedAt: null }, select: { id: true } })) !== null;
}

/** The person of a session that has not ended. */
export async function personOfSession(hash: string, now: Date): Promise<SignedInPerson | null> {
  const row = await diary().doorSession.findFirst({
    where: { hash, endsAt: { gt: now }, person: { deletedAt: null } },
    select: { person: { include: withRights } },
  });
  return row?.person ? signedIn(row.person) : null;
}

/** A person by name, with what their passphrase is known by (null: none was set). */
export async function personByName(
  name: string,
): Promise<{ person: SignedInPerson; key: { salt: string; check: string } | null } | null> {
  const row = await diary().person.findFirst({
    where: { nameKey: nameKeyOf(name), deletedAt: null },
    include: { ...withRights, passphrase: { select: { salt: true, check: true } } },
  });
  return row ? { person: signedIn(row), key: row.passphrase } : null;
}

export interface Person {
  id: string;
  name: string;
  keepsDiary: boolean;
  /** By lawn. */
  rights: ReadonlyMap<string, Right>;
  hasPassphrase: boolean;
  /** Put away since; null: comes in. */
  awaySince: Date | null;
}

/** Everybody, those put away last. */
export async function listPeople(): Promise<Person[]> {
  const rows = await diary().person.findMany({
    include: { ...withRights, passphrase: { select: { personId: true } } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  return rows
    .map((row) => ({
      id: row.id,
      name: row.name,
      keepsDiary: row.keepsDiary,
      rights: signedIn(row).lawns,
      hasPassphrase: row.passphrase !== null,
      awaySince: row.deletedAt,
    }))
    .sort((a, b) => Number(a.awaySince !== null) - Number(b.awaySince !== null));
}

/** Names by the identifiers that stand on what was done; those put away count. */
export async function namesOfPeople(ids: readonly (string | null)[]): Promise<Map<string, string>> {
  const wanted = [...new Set(ids.filter((id) => id !== null))];
  if (wanted.length === 0) return new Map();
  return new Map(
    (await diary().person.findMany({ where: { id: { in: wanted } }, select: { id: true, name: true } })).map((row) => [
      row.id,
      row.name,
    ]),
  );
}

export interface PassphraseKey {
  salt: string;
  check: string;
  setAt: Date;
}

/** Adds a person; the first one ends every way in that had no name. @returns null when the name is taken */
export async function addPerson(name: string, keepsDiary: boolean, key: PassphraseKey | null): Promise<string | null> {
  return diary().$transaction(async (tx) => {
    if ((await tx.person.findUnique({ where: { nameKey: nameKeyOf(name) }, select: { id: true } })) !== null)
      return null;
    const row = await tx.person.create({
      data: { name, nameKey: nameKeyOf(name), keepsDiary, ...(key ? { passphrase: { create: key } } : {}) },
    });
    await tx.doorSession.deleteMany({ where: { personId: null } });
    return row.id;
  });
}

/** Whether somebody else than this person keeps the whole diary and can come in. */
type Reading = Pick<ReturnType<typeof diary>, 'person'>;
const anotherKeeps = async (tx: Reading, id: string): Promise<boolean> =>
  (await tx.person.count({ where: { id: { not: id }, keepsDiary: true, deletedAt: null } })) > 0;

/** Sets what a person may do. @returns false, and nothing is changed, when nobody would keep the diary any more */
export async function setRights(id: string, keepsDiary: boolean, rights: ReadonlyMap<string, Right>): Promise<boolean> {
  return diary().$transaction(async (tx) => {
    if (!keepsDiary && !(await anotherKeeps(tx, id))) return false;
    await tx.person.update({ where: { id, deletedAt: null }, data: { keepsDiary } });
    await tx.lawnRight.deleteMany({ where: { personId: id } });
    await tx.lawnRight.createMany({ data: [...rights].map(([lawnId, right]) => ({ personId: id, lawnId, right })) });
    return true;
  });
}

/** Gives a person a new passphrase; whoever is signed in under their name is signed out. */
export async function setPassphrase(id: string, key: PassphraseKey): Promise<void> {
  await diary().$transaction(async (tx) => {
    await tx.personPassphrase.upsert({ where: { personId: id }, create: { personId: id, ...key }, update: key });
    await tx.doorSession.deleteMany({ where: { personId: id } });
  });
}

/**
 * Puts a person away: the name stays on what they did, and they can't come in.
 * @returns false when nobody else keeps the diary
 */
export async function putPersonAway(id: string, at: Date): Promise<boolean> {
  return diary().$transaction(async (tx) => {
    if (!(await anotherKeeps(tx, id))) return false;
    await tx.person.update({ where: { id }, data: { deletedAt: at } });
    await tx.doorSession.deleteMany({ where: { personId: id } });
    await tx.personPassphrase.deleteMany({ where: { personId: id } });
    return true;
  });
}

/** Lets a person who was put away come in again, with the rights they had and no passphrase yet. */
export async function takePersonBack(id: string): Promise<void> {
  await diary().person.update({ where: { id }, data: { deletedAt: null } });
}
