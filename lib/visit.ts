import { AsyncLocalStorage } from 'node:async_hooks';

/**
 * What a person may do on a lawn, each with all before it: reads only; photos, sprays, ratings, notes and verdicts;
 * everything.
 */
export const RIGHTS = ['looks', 'works', 'keeps'] as const;
export type Right = (typeof RIGHTS)[number];

/** Somebody with a name of their own in this diary. */
export interface SignedInPerson {
  readonly kind: 'person';
  readonly id: string;
  readonly name: string;
  /** Every lawn, and what belongs to no lawn. */
  readonly keepsDiary: boolean;
  readonly lawns: ReadonlyMap<string, Right>;
}

/**
 * Who asks: somebody without a name to whom all is open, a person, or a reader of what is open to anybody (a shared
 * page).
 */
export type Who = { readonly kind: 'everything' } | { readonly kind: 'nothing' } | SignedInPerson;

/**
 * What the front of the server wants to know of a request that a page, route or action is answering, and what it knows
 * of it.
 */
export interface Visit {
  /** An action has been found and called: from here on a failure is ours, before it the sender's. */
  began: boolean;
  /** Set by whoever finds that the request itself can't be served: how to answer when nothing better comes of it. */
  refusal: { readonly status: 400 | 403 | 404; readonly sentence: string } | null;
  readonly who: Who;
}

// One a process: the pages' bundles and the front each load this file.
const holder = globalThis as { swathbookVisit?: AsyncLocalStorage<Visit>; swathbookGuarded?: boolean };
const visits = (holder.swathbookVisit ??= new AsyncLocalStorage<Visit>());

/** Does some work as part of a visit. */
export function duringVisit<T>(visit: Visit, work: () => T): T {
  return visits.run(visit, work);
}

/** The visit that is being answered; null outside of one (a command, a test). */
export function currentVisit(): Visit | null {
  return visits.getStore() ?? null;
}

/** From here on this process answers visits only: whoever asks about rights outside of one has lost sight of it. */
export function expectVisits(): void {
  holder.swathbookGuarded = true;
}

/**
 * Who asks. Where no front stands before the pages (development, commands, tests) all is open.
 * @throws Error when a front does and the visit is lost
 */
export function currentWho(): Who {
  const visit = currentVisit();
  if (visit !== null) return visit.who;
  if (holder.swathbookGuarded) throw new Error('currentWho: expected a visit, got none');
  return { kind: 'everything' };
}

/** The person who does what is being written now; null when nobody is signed in by name. */
export function personNow(): string | null {
  const who = currentVisit()?.who;
  return who?.kind === 'person' ? who.id : null;
}

/** What a sender asked for can't be served. Told to the front as well, which answers with this status and sentence. */
export class VisitRefused extends Error {
  override readonly name = 'VisitRefused';

  constructor(status: 400 | 403 | 404, sentence: string, options?: ErrorOptions) {
    super(sentence, options);
    const visit = currentVisit();
    if (visit !== null) visit.refusal ??= { status, sentence };
  }
}
