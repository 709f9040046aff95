import { RIGHTS, type Right, type Who } from '../visit';

/**
 * What is asked for: something on a lawn; on any lawn at all, which is enough for what all lawns share; or on the diary
 * as a whole.
 */
export type Reach = { readonly lawnId: string } | 'some-lawn' | 'diary';

const atLeast = (has: Right | undefined, asked: Right): boolean =>
  has !== undefined && RIGHTS.indexOf(has) >= RIGHTS.indexOf(asked);

/** A person's right on a lawn; undefined: none, it is not theirs to see. */
export function rightOn(who: Who, lawnId: string): Right | undefined {
  if (who.kind === 'everything') return 'keeps';
  if (who.kind === 'nothing') return undefined;
  return who.keepsDiary ? 'keeps' : who.lawns.get(lawnId);
}

/**
 * Who may do what: the one place where rights are decided. What belongs to the whole diary is for those who keep it,
 * whatever is asked.
 */
export function allows(who: Who, asked: Right, ground: Reach): boolean {
  if (who.kind === 'everything') return true;
  if (who.kind === 'nothing') return false;
  if (who.keepsDiary) return true;
  if (ground === 'diary') return false;
  return ground === 'some-lawn'
    ? [...who.lawns.values()].some((has) => atLeast(has, asked))
    : atLeast(who.lawns.get(ground.lawnId), asked);
}
