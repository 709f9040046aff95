import 'server-only';
import { lawnOfEntry, type EntryKind } from '@/lib/diary/lawn-of';
import { allows, rightOn } from '@/lib/door/rights';
import { currentWho, RIGHTS, VisitRefused, type Right } from '@/lib/visit';

/**
 * What somebody wants to do something with: entries by kind and name (null: made anew), something all lawns share, the
 * diary as a whole, or what is their own.
 */
export type Asked = { readonly [kind in EntryKind]?: string | null | undefined } | 'some-lawn' | 'diary' | 'own';

/** `absent`: not there, or of a lawn that is not theirs to see, which is the same to them. */
type Answer = 'yes' | 'no' | 'absent';

async function answerTo(right: Right, asked: Asked): Promise<Answer> {
  const who = currentWho();
  if (who.kind === 'everything') return 'yes';
  if (asked === 'own') return who.kind === 'person' ? 'yes' : 'no';
  if (typeof asked === 'string') return allows(who, right, asked) ? 'yes' : 'no';
  const entries = Object.entries(asked).filter((entry): entry is [EntryKind, string] => typeof entry[1] === 'string');
  if (entries.length === 0) return 'no';
  let answer: Answer = 'yes';
  for (const [kind, id] of entries) {
    const lawnId = await lawnOfEntry[kind](id);
    if (lawnId === null || rightOn(who, lawnId) === undefined) return 'absent';
    if (!allows(who, right, { lawnId })) answer = 'no';
  }
  return answer;
}

const WANTED: Readonly<Record<Right, string>> = {
  looks: 'may look at this',
  works: 'works on this lawn',
  keeps: 'keeps this lawn',
};

/**
 * What every action and route asks before anything else is read or written. Without people it asks nothing of the
 * diary.
 * @throws VisitRefused, answered as 403 or, for what is not theirs to see, 404
 */
export async function expectRight(right: Right, asked: Asked): Promise<void> {
  const answer = await answerTo(right, asked);
  if (answer === 'yes') return;
  if (answer === 'absent')
    throw new VisitRefused(404, 'Expected an entry of this diary, got one that is not there: nothing was changed.');
  const who = currentWho();
  const name = who.kind === 'person' ? who.name : 'nobody who is signed in';
  throw new VisitRefused(
    403,
    `Expected somebody who ${asked === 'diary' ? 'keeps the whole diary' : asked === 'some-lawn' && right !== 'looks' ? `${right} ${right === 'works' ? 'on ' : ''}a lawn` : WANTED[right]}, got ${name}.`,
  );
}

/** Whether a page may be shown; for what is on it, `mayDo`. */
export async function mayDo(right: Right, asked: Asked): Promise<boolean> {
  return (await answerTo(right, asked)) === 'yes';
}

/** Those of some lawns that whoever asks may look at. */
export function lawnsToSee<T extends { readonly id: string }>(lawns: readonly T[]): T[] {
  const who = currentWho();
  return lawns.filter((lawn) => rightOn(who, lawn.id) !== undefined);
}

/** Their right on a lawn. */
export const rightHere = (lawnId: string): Right | undefined => rightOn(currentWho(), lawnId);

/** The most they may do on some lawn. */
export const bestRight = (): Right | undefined => RIGHTS.findLast((right) => allows(currentWho(), right, 'some-lawn'));

/** Their name; null when nobody is signed in by name. */
export function nameNow(): string | null {
  const who = currentWho();
  return who.kind === 'person' ? who.name : null;
}
