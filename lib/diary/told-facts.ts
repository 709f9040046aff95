import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';
import { onPostgresql } from './engine';

/**
 * What processes that serve one diary tell each other while they work: on PostgreSQL a row each, aged by the server's
 * clock; a diary in a file has one process, which keeps it in mind.
 */
export interface ToldFact {
  readonly value: Prisma.JsonValue;
  /** Since it was last told. */
  readonly ageMs: number;
}

const holder = globalThis as { swathbookTold?: Map<string, { value: Prisma.JsonValue; at: number }> };
const mind = () => (holder.swathbookTold ??= new Map());

export async function heardOf(name: string): Promise<ToldFact | null> {
  if (!onPostgresql()) {
    const told = mind().get(name);
    return told ? { value: told.value, ageMs: performance.now() - told.at } : null;
  }
  const [row] = await diary().$queryRaw<
    { value: Prisma.JsonValue; ageMs: number }[]
  >`SELECT "value", (extract(epoch from (clock_timestamp() - "updatedAt")) * 1000)::double precision AS "ageMs" FROM "ServerFact" WHERE "name" = ${name}`;
  return row ?? null;
}

export async function tell(name: string, value: Prisma.JsonValue): Promise<void> {
  if (!onPostgresql()) mind().set(name, { value, at: performance.now() });
  else
    await diary()
      .$executeRaw`INSERT INTO "ServerFact" ("name", "value", "updatedAt") VALUES (${name}, ${JSON.stringify(value)}::json, clock_timestamp()) ON CONFLICT ("name") DO UPDATE SET "value" = excluded."value", "updatedAt" = excluded."updatedAt"`;
}

/**
 * Tells a fact with `state: 'running'` unless one that is younger than `staleMs` is told already.
 * @returns whether it is ours to do
 */
export async function claim(
  name: string,
  value: Prisma.JsonObject & { state: 'running' },
  staleMs: number,
): Promise<boolean> {
  if (!onPostgresql()) {
    const told = await heardOf(name);
    if ((told?.value as { state?: unknown } | undefined)?.state === 'running') return false;
    await tell(name, value);
    return true;
  }
  const rows = await diary().$executeRaw`
    INSERT INTO "ServerFact" ("name", "value", "updatedAt") VALUES (${name}, ${JSON.stringify(value)}::json, clock_timestamp())
    ON CONFLICT ("name") DO UPDATE SET "value" = excluded."value", "updatedAt" = excluded."updatedAt"
    WHERE "ServerFact"."value"->>'state' <> 'running' OR "ServerFact"."updatedAt" < clock_timestamp() - make_interval(secs => ${staleMs / 1000}::double precision)`;
  return rows === 1;
}

/** Nothing is told of it any more. */
export async function forget(name: string): Promise<void> {
  if (!onPostgresql()) mind().delete(name);
  else await diary().$executeRaw`DELETE FROM "ServerFact" WHERE "name" = ${name}`;
}
