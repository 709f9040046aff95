import { createHash, randomBytes } from 'node:crypto';
import { linkSync, mkdirSync, readFileSync, renameSync, rmSync, unlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { isRunning, startOf } from './process-life';

/**
 * One process at a time uses a data folder: whoever serves, restores, archives or migrates holds its lock, a small file
 * that names the process and when it began. A lock whose process is gone counts for nothing and is taken over.
 */
export const LOCK_FILE = 'in-use.json';

const uses = {
  serving: 'serves it',
  restoring: 'restores an archive into it',
  archiving: 'makes an archive of it',
  migrating: 'brings its database up to date',
  filling: 'writes the demo diary into it',
  mending: 'mends it',
} as const;
export type FolderUse = keyof typeof uses;

export interface Holder {
  readonly pid: number;
  /**
   * When that process began, so that another process of the same number is told apart; null where it can't be known.
   */
  readonly born: string | null;
  readonly use: FolderUse;
  /** Where it serves, else empty. */
  readonly address: string;
  /** Random: tells this lock from any other, also of the same process. */
  readonly key: string;
}

export interface Hold {
  readonly key: string;
  /** Gives the folder free, unless it was handed on. Twice is fine. */
  release(): void;
}

/** The data folder can't be had: in one sentence, what was expected and what came. */
export class FolderRefused extends Error {
  override readonly name: string = 'FolderRefused';
}

/** Somebody else uses the data folder. */
export class FolderInUse extends FolderRefused {
  override readonly name = 'FolderInUse';
  readonly holder: Holder;

  constructor(dataFolder: string, holder: Holder) {
    const where = holder.address === '' ? '' : ` at ${holder.address}`;
    super(
      `Expected a data folder that nobody else uses, got ${dataFolder}: process ${holder.pid} ${uses[holder.use]}${where}.`,
    );
    this.holder = holder;
  }
}

function read(file: string): { text: string; holder: Holder | null } | null {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
  try {
    const holder = JSON.parse(text) as Holder;
    const whole =
      Number.isInteger(holder.pid) &&
      holder.use in uses &&
      typeof holder.key === 'string' &&
      typeof holder.address === 'string';
    return { text, holder: whole ? holder : null };
  } catch {
    return { text, holder: null };
  }
}

const lives = (holder: Holder | null): holder is Holder => holder !== null && isRunning(holder.pid, holder.born);

/** Puts a file with this text in place at once and whole, unless one is there. @returns whether it was put */
function place(file: string, text: string): boolean {
  const beside = `${file}.${randomBytes(6).toString('hex')}.part`;
  writeFileSync(beside, text, { flag: 'wx', mode: 0o600 });
  try {
    linkSync(beside, file);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  } finally {
    unlinkSync(beside);
  }
}

/**
 * Takes a lock file. A dead one is removed under a lock of its own, named after the dead one's very text: so two who
 * find the same dead lock can't both remove it, and nobody removes the living one that the first of them put there.
 * @returns the living holder, or null when it is ours now
 */
function take(file: string, mine: Holder): Holder | null {
  for (;;) {
    if (place(file, JSON.stringify(mine))) return null;
    const found = read(file);
    if (found === null) continue;
    if (lives(found.holder)) return found.holder;
    const removal = `${file}.${createHash('sha256').update(found.text).digest('hex').slice(0, 16)}`;
    const remover = take(removal, mine);
    if (remover !== null) return remover;
    try {
      if (read(file)?.text === found.text) unlinkSync(file);
    } finally {
      rmSync(removal, { force: true });
    }
  }
}

/** Whoever holds the data folder now, other than this very process; null when it is free. */
export function holderOf(dataFolder: string): Holder | null {
  const holder = read(path.join(dataFolder, LOCK_FILE))?.holder ?? null;
  return lives(holder) && holder.pid !== process.pid ? holder : null;
}

/** Whether a lock lies there whose process is gone. */
export function isAbandoned(dataFolder: string): boolean {
  const found = read(path.join(dataFolder, LOCK_FILE));
  return found !== null && !lives(found.holder);
}

/**
 * Takes the data folder (made when absent) for this process, until released or the process ends.
 * @param options.from the key of a hold that its process hands on to this one
 * @throws FolderInUse when somebody else has it, this process included; FolderRefused when it can't be written to
 */
export function holdFolder(
  dataFolder: string,
  use: FolderUse,
  options: { address?: string; from?: string | undefined } = {},
): Hold {
  try {
    return hold(dataFolder, use, options);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (error instanceof FolderRefused || code === undefined) throw error;
    const full = code === 'ENOSPC' || code === 'EDQUOT';
    throw new FolderRefused(
      full
        ? `Expected room on the disk of ${dataFolder}, got a full one (${code}).`
        : `Expected a data folder that can be written to, got ${dataFolder}, which can't (${code}).`,
      { cause: error },
    );
  }
}

function hold(
  dataFolder: string,
  use: FolderUse,
  { address = '', from }: { address?: string; from?: string | undefined },
): Hold {
  mkdirSync(dataFolder, { recursive: true });
  const file = path.join(dataFolder, LOCK_FILE);
  const mine: Holder = {
    pid: process.pid,
    born: startOf(process.pid),
    use,
    address,
    key: randomBytes(16).toString('hex'),
  };
  const handedOn = from !== undefined && read(file)?.holder?.key === from;
  if (handedOn) {
    writeFileSync(`${file}.part`, JSON.stringify(mine), { mode: 0o600 });
    renameSync(`${file}.part`, file);
  } else {
    const other = take(file, mine);
    if (other !== null) throw new FolderInUse(dataFolder, other);
  }
  const release = (): void => {
    process.off('exit', release);
    try {
      if (read(file)?.holder?.key === mine.key) rmSync(file, { force: true });
    } catch {
      // The folder is gone or turned read-only: this process ends all the same, and with it what the lock is worth.
    }
  };
  process.on('exit', release);
  return { key: mine.key, release };
}

/**
 * The folder for this process, or null when a server has it already, beside which this use may go on: nobody can swap
 * the folder then.
 * @throws FolderInUse as holdFolder does
 */
export function holdUnlessServed(dataFolder: string, use: FolderUse): Hold | null {
  try {
    return holdFolder(dataFolder, use);
  } catch (error) {
    if (error instanceof FolderInUse && error.holder.use === 'serving') return null;
    throw error;
  }
}
