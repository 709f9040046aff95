import 'server-only';
import { diary } from './client';
import { onPostgresql } from './engine';

/**
 * What tells one state of the diary from another: as long as it is the same, nothing whatever was written, by this
 * process or by another. SQLite counts the rows this connection changed and notices commits of others; on PostgreSQL it
 * is which transactions are seen.
 * Exported so that a commit of another connection is seen to change it.
 */
export async function diaryStamp(): Promise<string> {
  if (onPostgresql()) {
    const [seen] = await diary().$queryRaw<{ stamp: string }[]>`SELECT txid_current_snapshot()::text AS "stamp"`;
    return seen?.stamp ?? '';
  }
  const [[own], [others]] = await Promise.all([
    diary().$queryRaw<{ changes: number | bigint }[]>`SELECT total_changes() AS "changes"`,
    diary().$queryRawUnsafe<{ data_version: number | bigint }[]>('PRAGMA data_version'),
  ]);
  return `${own?.changes} ${others?.data_version}`;
}

interface Known<T> {
  readonly stamp: string;
  readonly answer: T;
}

/**
 * Keeps answers that take reading many rows for as long as nothing is written to the diary at all; the last `most` of
 * them.
 * @param work reads the diary and nothing else, and nobody changes what it answers
 */
export function whileUnwritten<T>(most: number, work: (key: string) => Promise<T>): (key: string) => Promise<T> {
  // A diary opened anew has a client of its own.
  const known = new WeakMap<object, Map<string, Known<T>>>();
  return async (key) => {
    const client = diary();
    const answers = known.get(client) ?? new Map<string, Known<T>>();
    known.set(client, answers);
    const stamp = await diaryStamp();
    const kept = answers.get(key);
    if (kept?.stamp === stamp) return kept.answer;
    const answer = await work(key);
    answers.delete(key);
    // What was written while it was read may be in it or not.
    if ((await diaryStamp()) === stamp) answers.set(key, { stamp, answer });
    for (const old of answers.keys()) if (answers.size > most) answers.delete(old);
    return answer;
  };
}
