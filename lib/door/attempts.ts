/** How many wrong entries an address has before it must wait. */
export const FREE_TRIES = 5;
export const FIRST_WAIT_MS = 15_000;
export const LONGEST_WAIT_MS = 15 * 60_000;
export const FORGET_MS = 60 * 60_000;
/** Wrong entries an hour from all addresses together, past which all wait: against guessing from many. */
export const ALL_TRIES = 200;

/** Where wrong entries are counted. */
export interface Tries {
  /**
   * Begins a try: counts it before it is judged.
   * @returns 0, or the milliseconds this address has to wait, and then nothing is counted
   */
  readonly begin: (address: string) => Promise<number>;
  /** The try was right. */
  readonly forgive: (address: string) => Promise<void>;
}

interface Count {
  readonly wrong: number;
  /** By the clock that `now` is read from. */
  readonly lastAt: number;
}

/** Tries as they outlive a stop: how long ago each was, since no clock is the same after it. */
export interface KeptTries {
  readonly all: { readonly wrong: number; readonly agoMs: number };
  readonly byAddress: Readonly<Record<string, { readonly wrong: number; readonly agoMs: number }>>;
}

/**
 * Counts wrong passphrases: after five an address waits a quarter of a minute, twice as long after each further one, at
 * most 15 minutes. `now` is of a clock that only ever runs forward (milliseconds since whenever): a wall clock that is
 * set must change no wait.
 */
export class Attempts {
  readonly #byAddress = new Map<string, Count>();
  #all: Count;

  constructor(now: number, kept: KeptTries | null = null) {
    this.#all = { wrong: kept?.all.wrong ?? 0, lastAt: now - (kept?.all.agoMs ?? 0) };
    for (const [address, { wrong, agoMs }] of Object.entries(kept?.byAddress ?? {}))
      this.#byAddress.set(address, { wrong, lastAt: now - agoMs });
  }

  /** Milliseconds until this address may try again; 0 when it may now. */
  waitMs(address: string, now: number): number {
    this.#forget(now);
    const tries = this.#byAddress.get(address);
    const own =
      tries === undefined || tries.wrong < FREE_TRIES
        ? 0
        : tries.lastAt + Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (tries.wrong - FREE_TRIES)) - now;
    const all = this.#all.wrong < ALL_TRIES ? 0 : this.#all.lastAt + FIRST_WAIT_MS - now;
    return Math.max(0, own, all);
  }

  /** Counts a try before it is judged, so that many sent at once count as many. */
  count(address: string, now: number): void {
    this.#byAddress.set(address, { wrong: (this.#byAddress.get(address)?.wrong ?? 0) + 1, lastAt: now });
    this.#all = { wrong: this.#all.wrong + 1, lastAt: now };
  }

  /** The try was right: the address starts anew. */
  forgive(address: string): void {
    const wrong = this.#byAddress.get(address)?.wrong ?? 0;
    this.#byAddress.delete(address);
    this.#all = { ...this.#all, wrong: Math.max(0, this.#all.wrong - wrong) };
  }

  /** What is worth keeping over a stop. */
  kept(now: number): KeptTries {
    this.#forget(now);
    const ago = ({ wrong, lastAt }: Count) => ({ wrong, agoMs: now - lastAt });
    return {
      all: ago(this.#all),
      byAddress: Object.fromEntries([...this.#byAddress].map(([address, tries]) => [address, ago(tries)])),
    };
  }

  #forget(now: number): void {
    for (const [address, tries] of this.#byAddress) if (now - tries.lastAt > FORGET_MS) this.#byAddress.delete(address);
    if (now - this.#all.lastAt > FORGET_MS) this.#all = { wrong: 0, lastAt: now };
  }
}
