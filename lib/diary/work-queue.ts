import 'server-only';
import { createRequire } from 'node:module';
import path from 'node:path';
import type PgBoss from 'pg-boss';
import { diary, isServerGone } from './client';
import { postgresqlUrl } from './engine';

/**
 * Work that any machine may do, in queues on the diary's own PostgreSQL. It is done at least once: whoever has a piece of
 * work says every few seconds that they are at it, and one who is silent for longer is taken for gone and their work
 * given to another. All of it may be done twice without harm.
 */

const QUEUES = {
  /** One a lawn waits at most; what is to be done for it stands in `asked-renewals.ts`. */
  'lawn-renewals': { expireInSeconds: 30, retryLimit: 5, retryDelay: 2 },
  archives: { expireInSeconds: 30, retryLimit: 3, retryDelay: 5 },
} as const;
export type QueueName = keyof typeof QUEUES;

export interface QueueOptions {
  /** Who has work and is silent for so long is taken for gone. */
  readonly expireInSeconds?: number;
  readonly retryLimit?: number;
  /** Seconds before work that failed is tried again: doubled each time. */
  readonly retryDelay?: number;
}

const LOOK_MS = 500;
const BEAT_MS = 7_000;
/** How often somebody looks for workers that are gone. */
const LOOK_FOR_GONE_SECONDS = 10;
/** What is under way when a worker is told to stop is waited for so long, then given back. */
const END_MS = 30_000;

interface Open {
  readonly boss: PgBoss;
  readonly stopping: AbortController;
  readonly loops: Promise<void>[];
  readonly underWay: Map<string, QueueName>;
}
const holder = globalThis as { swathbookQueue?: Promise<Open> | undefined };

/** Whether the settings leave work to workers. */
export const workIsElsewhere = (): boolean =>
  process.env['SWATHBOOK_WORK'] === 'apart' && postgresqlUrl() !== undefined;

function queue(): Promise<Open> {
  holder.swathbookQueue ??= openQueue().catch((error: unknown) => {
    delete holder.swathbookQueue;
    throw error;
  });
  return holder.swathbookQueue;
}

async function openQueue(): Promise<Open> {
  // Loaded only where there is a queue: a diary in a file starts no slower.
  const require = createRequire(path.join(/* turbopackIgnore: true */ process.cwd(), 'package.json'));
  const Boss = require('pg-boss') as typeof PgBoss;
  const boss = new Boss({
    connectionString: postgresqlUrl()!,
    schema: 'work_queue',
    application_name: 'swathbook',
    schedule: false,
    max: 4,
    maintenanceIntervalSeconds: LOOK_FOR_GONE_SECONDS,
  });
  boss.on('error', (error) => console.error('swathbook: the work queue', error.message));
  await boss.start();
  // At most one more waits beside the one that is under way, and sees whatever changed meanwhile. (A policy that allows
  // one under way a key holds up all that waits behind the second.)
  for (const name of Object.keys(QUEUES)) await boss.createQueue(name, { name, policy: 'short' });
  return { boss, stopping: new AbortController(), loops: [], underWay: new Map() };
}

/** Leaves a piece of work to the workers. One of the same key that waits already is not asked for twice. */
export async function send(
  name: QueueName,
  key: string,
  data: object,
  { expireInSeconds, retryLimit, retryDelay }: QueueOptions = {},
): Promise<void> {
  const usual = QUEUES[name];
  await (
    await queue()
  ).boss.send(name, data, {
    singletonKey: key,
    expireInSeconds: expireInSeconds ?? usual.expireInSeconds,
    retryLimit: retryLimit ?? usual.retryLimit,
    retryDelay: retryDelay ?? usual.retryDelay,
    retryBackoff: true,
  });
}

export interface Piece<T> {
  readonly data: T;
  /** How often it was begun before: 0 at first. */
  readonly before: number;
  /** Whether it is given up when it fails now. */
  readonly isLast: boolean;
  /** Whether an earlier piece of the same key is under way somewhere. */
  readonly isDoubled: () => Promise<boolean>;
}

/**
 * Takes work of a queue, one piece after another, until `closeQueue`. What throws is tried again later, by whoever is
 * free.
 */
export async function take<T extends object>(
  name: QueueName,
  work: (piece: Piece<T>) => Promise<unknown>,
  {
    beatMs = BEAT_MS,
    ended = async () => {},
  }: {
    beatMs?: number;
    /** Called once a piece of work counts as done. */
    ended?: (data: T) => Promise<void>;
  } = {},
): Promise<void> {
  const open = await queue();
  const loop = async () => {
    while (!open.stopping.signal.aborted) {
      const [job] = await open.boss.fetch<T>(name, { includeMetadata: true, batchSize: 1 });
      if (job === undefined) await pause(LOOK_MS, open.stopping.signal);
      else if (await doOne(open, name, job, work, beatMs)) await ended(job.data).catch(() => undefined);
    }
  };
  open.loops.push(
    loop().catch((error: unknown) => {
      if (!open.stopping.signal.aborted) console.error(`swathbook: no more ${name} are taken here`, error);
    }),
  );
}

async function doOne<T extends object>(
  open: Open,
  name: QueueName,
  job: PgBoss.JobWithMetadata<T>,
  work: (piece: Piece<T>) => Promise<unknown>,
  beatMs: number,
): Promise<boolean> {
  open.underWay.set(job.id, name);
  const beat = setInterval(() => void sayAtWork(name, job.id).catch(() => undefined), beatMs);
  try {
    await work({
      data: job.data,
      before: job.retryCount,
      isLast: job.retryCount >= job.retryLimit,
      isDoubled: async () => isDoubled(name, job.id),
    });
    await open.boss.complete(name, job.id);
    return true;
  } catch (error) {
    if (!isServerGone(error)) console.error(`swathbook: ${name} ${job.singletonKey ?? ''} will be tried again`, error);
    // Where the database is gone, silence says the same.
    await open.boss.fail(name, job.id, error as object).catch(() => undefined);
    return false;
  } finally {
    clearInterval(beat);
    open.underWay.delete(job.id);
  }
}

const sayAtWork = (name: QueueName, id: string): Promise<number> =>
  diary()
    .$executeRaw`UPDATE work_queue.job SET started_on = now() WHERE name = ${name} AND id = ${id}::uuid AND state = 'active'`;

async function isDoubled(name: QueueName, id: string): Promise<boolean> {
  const rows = await diary().$queryRaw<unknown[]>`
    SELECT 1 FROM work_queue.job own JOIN work_queue.job other ON other.name = own.name AND other.singleton_key = own.singleton_key
    WHERE own.name = ${name} AND own.id = ${id}::uuid AND other.state = 'active'
      AND (other.created_on, other.id) < (own.created_on, own.id) LIMIT 1`;
  return rows.length > 0;
}

const pause = (ms: number, signal: AbortSignal): Promise<void> =>
  new Promise((go) => {
    const end = () => {
      clearTimeout(timer);
      signal.removeEventListener('abort', end);
      go();
    };
    const timer = setTimeout(end, ms);
    signal.addEventListener('abort', end);
    if (signal.aborted) end();
  });

/** Ends this process's part in the queues: what is under way comes to its end, or is given back when that takes long. */
export async function closeQueue(): Promise<void> {
  const opening = holder.swathbookQueue;
  delete holder.swathbookQueue;
  const open = await opening;
  if (open === undefined) return;
  open.stopping.abort();
  let timer: NodeJS.Timeout | undefined;
  await Promise.race([Promise.all(open.loops), new Promise((go) => (timer = setTimeout(go, END_MS)))]);
  clearTimeout(timer);
  for (const [id, name] of open.underWay)
    await open.boss.fail(name, id, { message: 'the worker was told to stop' }).catch(() => undefined);
  await open.boss.stop({ graceful: false, close: true });
}

/** Whether a piece of work waits, is under way or will be tried again. */
export async function isWanted(name: QueueName, key: string): Promise<boolean> {
  await queue(); // makes the queue where there is none yet
  const rows = await diary().$queryRaw<
    unknown[]
  >`SELECT 1 FROM work_queue.job WHERE name = ${name} AND singleton_key = ${key} AND state IN ('created', 'retry', 'active') LIMIT 1`;
  return rows.length > 0;
}

/** Has all work that is under way given to others at the next look: for proofs, which can't wait. */
export async function timeIsUp(): Promise<void> {
  await diary().$executeRaw`UPDATE work_queue.job SET started_on = now() - interval '1 day' WHERE state = 'active'`;
}
