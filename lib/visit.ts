import { AsyncLocalStorage } from 'node:async_hooks';

/** What the front of the server wants to know of a request that a page, route or action is answering. */
export interface Visit {
  /** An action has been found and called: from here on a failure is ours, before it the sender's. */
  began: boolean;
  /** Set by whoever finds that the request itself can't be served: how to answer when nothing better comes of it. */
  refusal: { readonly status: 400 | 404; readonly sentence: string } | null;
}

// One a process: the pages' bundles and the front each load this file.
const holder = globalThis as { swathbookVisit?: AsyncLocalStorage<Visit> };
const visits = (holder.swathbookVisit ??= new AsyncLocalStorage<Visit>());

/** Does some work as part of a visit. */
export function duringVisit<T>(visit: Visit, work: () => T): T {
  return visits.run(visit, work);
}

/** The visit that is being answered; null outside of one (a command, a test). */
export function currentVisit(): Visit | null {
  return visits.getStore() ?? null;
}

/** What a sender asked for can't be served. Told to the front as well, which answers with this status and sentence. */
export class VisitRefused extends Error {
  override readonly name = 'VisitRefused';

  constructor(status: 400 | 404, sentence: string, options?: ErrorOptions) {
    super(sentence, options);
    const visit = currentVisit();
    if (visit !== null) visit.refusal ??= { status, sentence };
  }
}
