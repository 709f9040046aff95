import 'server-only';
import path from 'node:path';
import { PrismaClient, type Prisma } from '@prisma/client';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { VisitRefused } from '@/lib/visit';

/**
 * The one Prisma client of a process, opened at first use on `diary.db` in the data folder.
 * Dev reloads keep it on globalThis, so that a reload doesn't open a second connection.
 */
const holder = globalThis as { swathbookClient?: PrismaClient };

export function diary(): PrismaClient {
  holder.swathbookClient ??= openDiary();
  return holder.swathbookClient;
}

function openDiary(): PrismaClient {
  const client = new PrismaClient({
    adapter: new PrismaBetterSqlite3({ url: `file:${path.join(/* turbopackIgnore: true */ path.resolve(process.env['SWATHBOOK_DATA'] ?? 'data'), 'diary.db')}`, timeout: 10_000 }),
  });
  const told = client.$extends({
    query: {
      $allOperations: ({ args, query }: { args: unknown; query: (args: unknown) => Prisma.PrismaPromise<unknown> }) =>
        query(args).catch((error: unknown) => {
          throw diaryTrouble(error);
        }),
    },
  });
  // The extension changes what an error says, nothing of the client's shape.
  return told as unknown as PrismaClient;
}

/**
 * The disk won't take what was to be written. The diary is as it was before: SQLite undoes what it can't finish.
 * `digest` is what Next shows of an error in the browser, so the page can say what it was.
 */
export class DiaryTrouble extends Error {
  override readonly name = 'DiaryTrouble';
  readonly digest: 'disk-full' | 'not-writable';

  constructor(digest: DiaryTrouble['digest'], options: ErrorOptions) {
    super(digest === 'disk-full' ? 'The disk is full: nothing was saved. Free some space and try again.' : 'The data folder can’t be written to: nothing was saved.', options);
    this.digest = digest;
  }
}

/** What was to be changed, or what it was to hang on, is not in the diary. Nothing was written. */
export class EntryGone extends VisitRefused {
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

function diaryTrouble(error: unknown): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'P2025' || code === 'P2003') return new EntryGone({ cause: error });
  if (code === 'P2002') return new EntryThere({ cause: error });
  const words = error instanceof Error ? `${error.message} ${String(error.cause ?? '')}` : String(error);
  if (/database or disk is full/i.test(words)) return new DiaryTrouble('disk-full', { cause: error });
  if (/readonly database|read-only file system|unable to open database file|disk I\/O error/i.test(words)) return new DiaryTrouble('not-writable', { cause: error });
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
