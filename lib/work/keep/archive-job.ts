import 'server-only';
import { hostname } from 'node:os';
import { ArchiveRefused } from '@/lib/archive/refused';
import { BucketTrouble } from '@/lib/darkroom/bucket';
import { claim, heardOf, tell } from '@/lib/diary/told-facts';
import { isWanted, send, take, workIsElsewhere } from '@/lib/diary/work-queue';
import { dataFolder } from '@/lib/forms/environment';
import { keepArchive, type ArchiveProgress } from './keep-archive';
import { shareArchive } from './kept-archives';
import { filesLieInStore } from './shared-files';

interface Progress {
  readonly step: string;
  readonly doneBytes: number;
  readonly totalBytes: number;
}

/**
 * The making of an archive as the pages see it, whichever process makes it. `on` is the machine the archive lies on;
 * `isHere`: whoever is asked can give it.
 */
export type ArchiveJob =
  | { readonly state: 'idle' }
  | ({ readonly state: 'running' } & Progress)
  | {
      readonly state: 'done';
      readonly name: string;
      readonly missing: readonly string[];
      readonly on: string;
      readonly isHere: boolean;
    }
  | { readonly state: 'failed'; readonly message: string };

const FACT = 'archive';
const QUEUE = 'archives';
const KEY = 'archive';
/** Who makes an archive says so at least this often; who is silent for longer has stopped. */
const TELL_MS = 500;
const SILENT_MS = 60_000;
const WAITING = 'waiting for a worker';
const folderName = () => (filesLieInStore() ? 'store' : workIsElsewhere() ? 'shared' : `${hostname()}:${dataFolder()}`);
const step = (words: string) => ({ state: 'running', step: words, doneBytes: 0, totalBytes: 0 }) as const;

export async function archiveJob(): Promise<ArchiveJob> {
  const told = await heardOf(FACT);
  if (told === null) return { state: 'idle' };
  const job = told.value as unknown as
    | Exclude<ArchiveJob, { state: 'done' }>
    | { state: 'done'; name: string; missing: string[]; on: string; folder: string };
  if (job.state === 'running' && told.ageMs > SILENT_MS) {
    // Who was at it is gone, or nobody has come yet: as long as the queue has it, somebody will.
    if (workIsElsewhere() && (await isWanted(QUEUE, KEY)))
      return step(
        `${WAITING} (none has taken it for ${Math.round(told.ageMs / 1000)} s: is one running? ‘npm run worker’ starts it)`,
      );
    return {
      state: 'failed',
      message: 'Whoever was making the archive has stopped; the diary is as it was. Make it again.',
    };
  }
  if (job.state !== 'done') return job;
  const { folder, ...done } = job;
  return { ...done, isHere: folder === folderName() };
}

/**
 * Starts making an archive and returns at once: here, or, where the settings leave work to workers, by one of them.
 * While one is being made, by whomever, it is that one.
 */
export async function startArchive(now: Date): Promise<void> {
  if (!workIsElsewhere()) {
    if (await claim(FACT, step('copying the database'), SILENT_MS))
      void makeArchive(now, { isLast: true }).catch(() => undefined); // the fact says why
    return;
  }
  if ((await isWanted(QUEUE, KEY)) || !(await claim(FACT, step(WAITING), SILENT_MS))) return;
  await send(QUEUE, KEY, { askedAt: now.toISOString() });
}

/** Takes archives that pages asked for, one after another, until the queue is closed. */
export async function takeArchives(onMade: (name: string) => void): Promise<void> {
  await take<{ askedAt: string }>(QUEUE, async ({ data, before, isLast }) =>
    onMade(await makeArchive(new Date(data.askedAt), { anew: before > 0, isLast })),
  );
}

const sentenceOf = (error: unknown): string =>
  error instanceof ArchiveRefused || error instanceof BucketTrouble
    ? error.message
    : 'Making the archive stopped unexpectedly; the diary is as it was. The log says more.';

/**
 * Makes an archive and tells how far it is.
 * @param askedAt its name: made again, it takes its own place
 * @returns its name
 */
async function makeArchive(askedAt: Date, { anew = false, isLast = false }): Promise<string> {
  let latest: ArchiveProgress = step('copying the database') as ArchiveProgress;
  let telling: Promise<unknown> = Promise.resolve();
  const say = () => (telling = telling.then(() => tell(FACT, { state: 'running', ...latest })).catch(() => undefined));
  const timer = setInterval(say, TELL_MS);
  const end = async (job: Parameters<typeof tell>[1]) => {
    clearInterval(timer);
    await telling;
    await tell(FACT, job).catch((error: unknown) =>
      console.error('swathbook: an archive’s end could not be told', error),
    );
  };
  try {
    const made = await keepArchive({ now: askedAt, anew, onProgress: (progress) => (latest = progress) });
    await shareArchive(made, (doneBytes) => {
      latest = { step: 'putting it into the store', doneBytes, totalBytes: made.bytes };
    });
    await end({ state: 'done', name: made.name, missing: [...made.missing], on: hostname(), folder: folderName() });
    return made.name;
  } catch (error) {
    if (!workIsElsewhere() && !(error instanceof ArchiveRefused))
      console.error('swathbook: making an archive stopped', error);
    const message = sentenceOf(error);
    await end(isLast ? { state: 'failed', message } : step(`${message} It will be tried again in a moment`));
    throw error;
  }
}
