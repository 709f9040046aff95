import 'server-only';
import { diary } from './client';
import { send, take, type QueueOptions } from './work-queue';

/**
 * What workers are asked to bring up to date. The queue holds one piece of work a lawn; what of the lawn was asked for,
 * since the last that was answered, stands here, a row each, in the queue's own schema: no archive carries it.
 */
export interface Asked {
  readonly lawnId: string;
  /** All the lawn, a photo's viewpoint, or what a photo that came in can have moved. */
  readonly what: 'lawn' | 'viewpoint' | 'upload';
  /** For a lawn: what somebody waits for first. */
  readonly photoId: string | null;
}

interface Row extends Asked {
  /** Grows whenever it is asked for again. */
  readonly turn: bigint;
}

const QUEUE = 'lawn-renewals';
/** While a lawn's work is under way, what comes in meanwhile is looked for so often. */
const LOOK_MS = 500;
/** So much is begun at once: what a run through a viewpoint finds up to date is answered with it. */
const AT_ONCE = 200;

const holder = globalThis as { swathbookAskedIn?: object | undefined };

async function makeTable(): Promise<void> {
  if (holder.swathbookAskedIn === diary()) return;
  await diary().$transaction([
    diary().$executeRaw`SELECT pg_advisory_xact_lock(hashtext('swathbook asked renewals'))`,
    diary().$executeRaw`CREATE SCHEMA IF NOT EXISTS work_queue`,
    diary().$executeRaw`
      CREATE TABLE IF NOT EXISTS work_queue.asked_renewal (
        lawn_id text NOT NULL, what text NOT NULL, photo_id text NOT NULL, turn bigserial NOT NULL,
        PRIMARY KEY (lawn_id, what, photo_id))`,
  ]);
  holder.swathbookAskedIn = diary();
}

/** Leaves something to the workers. */
export async function askWorkers({ lawnId, what, photoId }: Asked, options?: QueueOptions): Promise<void> {
  await makeTable();
  // Before the work is sent: who takes it finds the row. A page that looks again asks for no more than before.
  const again = what === 'viewpoint' ? 'DO NOTHING' : 'DO UPDATE SET turn = excluded.turn';
  await diary().$executeRawUnsafe(
    `INSERT INTO work_queue.asked_renewal (lawn_id, what, photo_id) VALUES ($1, $2, $3) ON CONFLICT (lawn_id, what, photo_id) ${again}`,
    lawnId,
    what,
    photoId ?? '',
  );
  await send(QUEUE, lawnId, { lawnId }, options);
}

async function askedOf(lawnId: string): Promise<Row[]> {
  const rows = await diary().$queryRaw<{ what: Asked['what']; photo_id: string; turn: bigint }[]>`
    SELECT what, photo_id, turn FROM work_queue.asked_renewal WHERE lawn_id = ${lawnId} ORDER BY turn LIMIT ${AT_ONCE}`;
  return rows.map((row) => ({ lawnId, what: row.what, photoId: row.photo_id || null, turn: row.turn }));
}

const answered = ({ lawnId, what, photoId, turn }: Row): Promise<number> =>
  diary()
    .$executeRaw`DELETE FROM work_queue.asked_renewal WHERE lawn_id = ${lawnId} AND what = ${what} AND photo_id = ${photoId ?? ''} AND turn = ${turn}`;

/**
 * Does all that is asked of one lawn, and what is asked meanwhile, each as soon as it is seen: the work itself knows
 * what waits for what.
 */
async function answerLawn(lawnId: string, work: (asked: Asked) => Promise<unknown>): Promise<void> {
  const underWay = new Map<bigint, Promise<void>>();
  const failures: unknown[] = [];
  for (;;) {
    if (failures.length === 0)
      for (const row of await askedOf(lawnId)) {
        if (underWay.has(row.turn)) continue;
        underWay.set(
          row.turn,
          work(row)
            .then(() => answered(row))
            .catch((error: unknown) => failures.push(error))
            .then(() => void underWay.delete(row.turn)),
        );
      }
    if (underWay.size === 0) break;
    let timer: NodeJS.Timeout | undefined;
    await Promise.race([...underWay.values(), new Promise((go) => (timer = setTimeout(go, LOOK_MS)))]);
    clearTimeout(timer);
  }
  if (failures.length > 0) throw failures[0];
}

/**
 * Takes what is asked for, lawn by lawn, until the queue is closed. Nobody else is at work on the same lawn meanwhile, as
 * far as can be told.
 * @param options.lawns how many lawns are worked on side by side; one unless told
 */
export async function takeAsked(
  work: (asked: Asked) => Promise<unknown>,
  { lawns = 1, ...options }: QueueOptions & { beatMs?: number; lawns?: number } = {},
): Promise<void> {
  await makeTable();
  for (let n = 0; n < lawns; n++) await takeOneByOne(work, options);
  // What a stop left between two steps.
  const left = await diary().$queryRaw<{ lawn_id: string }[]>`SELECT DISTINCT lawn_id FROM work_queue.asked_renewal`;
  for (const { lawn_id: lawnId } of left) await send(QUEUE, lawnId, { lawnId }, options);
}

async function takeOneByOne(
  work: (asked: Asked) => Promise<unknown>,
  options: QueueOptions & { beatMs?: number },
): Promise<void> {
  let isOther = false;
  await take<{ lawnId: string }>(
    QUEUE,
    async ({ data: { lawnId }, isDoubled }) => {
      isOther = await isDoubled();
      if (!isOther) await answerLawn(lawnId, work);
    },
    {
      ...options,
      // What was asked for after the last look may have been left to this by another worker.
      ended: async ({ lawnId }) => {
        if (!isOther && (await askedOf(lawnId)).length > 0) await send(QUEUE, lawnId, { lawnId }, options);
      },
    },
  );
}

/** How much of what was asked for nobody has answered yet. */
export async function askedStill(): Promise<number> {
  const [row] = await diary().$queryRaw<{ count: bigint }[]>`SELECT count(*) AS count FROM work_queue.asked_renewal`;
  return Number(row?.count ?? 0);
}
