import 'server-only';
import path from 'node:path';
import { PrismaClient } from '@prisma/client';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';

/**
 * The one Prisma client of a process, opened at first use on `diary.db` in the data folder.
 * Dev reloads keep it on globalThis, so that a reload doesn't open a second connection.
 */
const holder = globalThis as { swathbookClient?: PrismaClient };

export function diary(): PrismaClient {
  holder.swathbookClient ??= new PrismaClient({
    adapter: new PrismaBetterSqlite3({ url: `file:${path.join(/* turbopackIgnore: true */ path.resolve(process.env['SWATHBOOK_DATA'] ?? 'data'), 'diary.db')}`, timeout: 10_000 }),
  });
  return holder.swathbookClient;
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
