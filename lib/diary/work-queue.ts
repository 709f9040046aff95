import 'server-only';
import { createRequire } from 'node:module';
import path from 'node:path';
import type PgBoss from 'pg-boss';
import { diary } from './client';
import { postgresqlUrl } from './engine';

/**
 * Work that any machine may do, in a queue on the diary's own PostgreSQL. It is done at least once: a worker that is
 * gone is noticed when its time is up, and its work given to another. All of it may be done twice without harm.
 */

/** A lawn whose worked-out rows are to be brought up to date; `photoId` is what somebody waits for first. */
export interface Renewal {
  readonly lawnId: string;
  readonly photoId: string | null;
}

const RENEWALS = 'renew-lawn';

export interface QueueOptions {
  /** A worker that says nothing for so long is taken for gone. */
  readonly expireInSeconds?: number;
  readonly retryLimit?: number;
  /** Seconds before work that failed is tried again: doubled each time. */
  readonly retryDelay?: number;
  readonly pollingIntervalSeconds?: number;
}

const USUAL = { expireInSeconds: 600, retryLimit: 5, retryDelay: 2, pollingIntervalSeconds: 0.5 } as const;

const holder = globalThis as { swathbookQueue?: Promise<PgBoss> | undefined };

/** Whether the settings leave work to workers. */
export const workIsElsewhere = (): boolean =>
  process.env['SWATHBOOK_WORK'] === 'apart' && postgresqlUrl() !== undefined;

function queue(): Promise<PgBoss> {
  holder.swathbookQueue ??= openQueue().catch((error: unknown) => {
    delete holder.swathbookQueue;
    throw error;
  });
  return holder.swathbookQueue;
}

async function openQueue(): Promise<PgBoss> {
  // Loaded only where there is a queue: a diary in a file starts no slower.
  const require = createRequire(path.join(/* turbopackIgnore: true */ process.cwd(), 'package.json'));
  const Boss = require('pg-boss') as typeof PgBoss;
  const boss = new Boss({
    connectionString: postgresqlUrl()!,
    schema: 'work_queue',
    application_name: 'swathbook',
    schedule: false,
    max: 4,
    maintenanceIntervalSeconds: 10,
  });
  boss.on('error', (error) => console.error('swathbook: the work queue', error.message));
  await boss.start();
  // One at a time a lawn, and at most one more waiting, which sees whatever changed meanwhile.
  await boss.createQueue(RENEWALS, { name: RENEWALS, policy: 'stately' });
  return boss;
}

/** Leaves a lawn to the workers. One that waits already is not asked for twice. */
export async function sendRenewal({ lawnId, photoId }: Renewal, options: QueueOptions = {}): Promise<void> {
  const { expireInSeconds, retryLimit, retryDelay } = { ...USUAL, ...options };
  await (
    await queue()
  ).send(
    RENEWALS,
    { lawnId, photoId },
    { singletonKey: lawnId, expireInSeconds, retryLimit, retryDelay, retryBackoff: true },
  );
}

/** Takes renewals one after another until stopped. Work that throws is tried again later, by whoever is free. */
export async function takeRenewals(
  work: (renewal: Renewal) => Promise<void>,
  options: QueueOptions = {},
): Promise<void> {
  const { pollingIntervalSeconds } = { ...USUAL, ...options };
  await (
    await queue()
  ).work<Renewal>(RENEWALS, { pollingIntervalSeconds, batchSize: 1 }, async ([job]) => {
    if (job) await work(job.data);
  });
}

/** Ends this process's part in the queue, letting what it does come to its end. */
export async function closeQueue(): Promise<void> {
  const open = holder.swathbookQueue;
  delete holder.swathbookQueue;
  await (await open)?.stop({ graceful: true, wait: true, timeout: 30_000, close: true });
}

/**
 * How many pieces of work were given up after all their tries. (One that failed while the same work waits again ends as
 * failed as well: the other does it.)
 */
export async function workGivenUp(): Promise<number> {
  const [row] = await diary().$queryRaw<
    { count: bigint }[]
  >`SELECT count(*) AS count FROM work_queue.job WHERE state = 'failed' AND retry_count >= retry_limit`;
  return Number(row?.count ?? 0);
}

/**
 * Says that whoever holds work has had it for too long, so that it is given to another: for proofs, which can't wait.
 */
export async function timeIsUp(): Promise<void> {
  await diary().$executeRaw`UPDATE work_queue.job SET started_on = now() - interval '1 day' WHERE state = 'active'`;
}
