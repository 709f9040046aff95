import 'server-only';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { PrismaClient, type Prisma } from '@prisma/client';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { VisitRefused } from '@/lib/visit';
import { serverTrouble } from './database-server';
import { databaseFile, postgresqlUrl } from './engine';

/**
 * The one Prisma client of a process, opened at first use on the database that `engine.ts` names.
 * Dev reloads keep it on globalThis, so that a reload doesn't open a second connection.
 */
const holder = globalThis as { swathbookClient?: PrismaClient };

export function diary(): PrismaClient {
  holder.swathbookClient ??= openDiary();
  return holder.swathbookClient;
}

/**
 * SQLite keeps so much of the file at hand: pages of a large diary lie far apart, and reading one again costs more than
 * holding it.
 */
const HELD_KIB = 64 * 1024;

class RoomyFile extends PrismaBetterSqlite3 {
  override async connect(): ReturnType<PrismaBetterSqlite3['connect']> {
    const connection = await super.connect();
    await connection.executeScript(`PRAGMA cache_size = -${HELD_KIB}`);
    return connection;
  }
}

function openDiary(): PrismaClient {
  const url = postgresqlUrl();
  const client =
    url === undefined
      ? new PrismaClient({ adapter: new RoomyFile({ url: `file:${databaseFile()}`, timeout: 10_000 }) })
      : openServer(url);
  const told = client.$extends({
    query: {
      $allOperations: ({ args, query }: { args: unknown; query: (args: unknown) => Prisma.PrismaPromise<unknown> }) =>
        query(args).catch((error: unknown) => {
          throw diaryTrouble(error);
        }),
    },
  });
  // The extension changes what an error says, nothing of the client's shape.
  return url === undefined ? (told as unknown as PrismaClient) : oneAfterAnother(told as unknown as PrismaClient);
}

/**
 * A client of its own kind (same models, same types), loaded only where it is asked for: a diary in a file starts no
 * slower.
 */
export function openServer(url: string): PrismaClient {
  const require = createRequire(path.join(/* turbopackIgnore: true */ process.cwd(), 'package.json'));
  if (!existsSync(path.join(/* turbopackIgnore: true */ process.cwd(), 'node_modules/.prisma/client-postgresql'))) {
    throw new Error(
      "SWATHBOOK_DATABASE: expected the client for PostgreSQL to be made, got none: 'npm start' with the setting makes it",
    );
  }
  const { PrismaPg } = require('@prisma/adapter-pg') as typeof import('@prisma/adapter-pg');
  const { PrismaClient: ServerClient } = require('.prisma/client-postgresql') as { PrismaClient: typeof PrismaClient };
  return new ServerClient({
    adapter: new PrismaPg({
      connectionString: url,
      connectionTimeoutMillis: 5_000,
      max: 10,
      // A diary's database lies on no turning disk: by PostgreSQL's own default a plan reads all photos for the few it wants.
      onConnect: (client) => client.query('SET random_page_cost = 1.1'),
    }),
  });
}

/** How often a transaction is tried that met another one. */
const TRIES = 6;

/**
 * SQLite lets one writer in at a time; on PostgreSQL the same is promised by serializable transactions, of which one
 * that met another is undone by the server and done again here. (Lists of statements read nothing and need no such
 * promise.)
 */
function oneAfterAnother(client: PrismaClient): PrismaClient {
  const begin = client.$transaction.bind(client) as (work: unknown, options?: object) => Promise<unknown>;
  const transaction = async (work: unknown, options: object = {}): Promise<unknown> => {
    if (typeof work !== 'function') return begin(work, options);
    for (let left = TRIES - 1; ; left--) {
      try {
        return await begin(work, { maxWait: 5_000, timeout: 30_000, ...options, isolationLevel: 'Serializable' });
      } catch (error) {
        if (left === 0 || !metAnother(error)) throw error;
        await new Promise((go) => {
          setTimeout(go, 5 * 2 ** (TRIES - left));
        });
      }
    }
  };
  return new Proxy(client, {
    get: (target, name) => (name === '$transaction' ? transaction : (Reflect.get(target, name, target) as unknown)),
  });
}

function metAnother(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  return (
    ('code' in error && error.code === 'P2034') ||
    /TransactionWriteConflict|could not serialize|deadlock detected/i.test(error.message)
  );
}

/**
 * The database won't take what was to be written. The diary is as it was before: it undoes what it can't finish.
 * `digest` is what Next shows of an error in the browser, so the page can say what it was.
 */
export class DiaryTrouble extends Error {
  override readonly name = 'DiaryTrouble';
  readonly digest: keyof typeof TROUBLES;

  constructor(digest: DiaryTrouble['digest'], options: ErrorOptions) {
    super(TROUBLES[digest], options);
    this.digest = digest;
  }
}

const TROUBLES = {
  'disk-full': 'The disk is full: nothing was saved. Free some space and try again.',
  'not-writable': 'The data folder can’t be written to: nothing was saved.',
  'no-server': 'The database server doesn’t answer: nothing was saved. Try again in a moment.',
} as const;

/** What was to be changed, or what it was to hang on, is not in the diary. Nothing was written. */
class EntryGone extends VisitRefused {
  constructor(options: ErrorOptions) {
    super(404, 'Expected an entry of this diary, got one that is not there any more: nothing was saved.', options);
  }
}

/** What may be there once is there already. Nothing was written. */
export class EntryThere extends VisitRefused {
  constructor(options: ErrorOptions) {
    super(400, 'Expected an entry that is not there yet, got one that is: nothing was saved.', options);
  }
}

/** Whether work stopped because the database server did: nothing is wrong with what was worked on. */
export const isServerGone = (error: unknown): boolean => error instanceof DiaryTrouble && error.digest === 'no-server';

function diaryTrouble(error: unknown): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'P2025' || code === 'P2003') return new EntryGone({ cause: error });
  if (code === 'P2002') return new EntryThere({ cause: error });
  const words = error instanceof Error ? `${error.message} ${String(error.cause ?? '')}` : String(error);
  if (postgresqlUrl() !== undefined && serverTrouble(error) !== null)
    return new DiaryTrouble('no-server', { cause: error });
  if (/database or disk is full|No space left on device/i.test(words))
    return new DiaryTrouble('disk-full', { cause: error });
  if (/readonly database|read-only file system|unable to open database file|disk I\/O error/i.test(words))
    return new DiaryTrouble('not-writable', { cause: error });
  return error;
}

/** Closes the client, so that a test or a restore can replace the file under it. */
export async function closeDiary(): Promise<void> {
  await holder.swathbookClient?.$disconnect();
  delete holder.swathbookClient;
}

/** Whether the database answers a question. */
export async function diaryAnswers(): Promise<boolean> {
  return diary().$queryRaw`SELECT 1`.then(
    () => true,
    () => false,
  );
}
