import 'server-only';
import { randomBytes } from 'node:crypto';
import { diary } from './client';

/**
 * What the doors of several processes share, on PostgreSQL. All times are the server's: their own clocks may differ.
 */

/**
 * What the keys of the diary's passphrase are made with; made once. Sessions are rows, so nothing else has to be raised
 * to end them.
 */
export async function sharedDoorFacts(): Promise<{ salt: Uint8Array; epoch: number }> {
  await diary()
    .$executeRaw`INSERT INTO "ServerFact" ("name", "value", "updatedAt") VALUES ('door', ${JSON.stringify({ salt: randomBytes(16).toString('hex') })}::json, now()) ON CONFLICT ("name") DO NOTHING`;
  const row = await diary().serverFact.findUniqueOrThrow({ where: { name: 'door' } });
  return { salt: Buffer.from(String((row.value as { salt: string }).salt), 'hex'), epoch: 1 };
}

export interface TryRules {
  readonly freeTries: number;
  readonly firstWaitMs: number;
  readonly longestWaitMs: number;
  readonly forgetMs: number;
  /** Wrong entries of all addresses together, past which all wait. */
  readonly allTries: number;
}

const ALL = 'all';

/**
 * Counts a try unless it has to wait, in one statement on a locked row, so that many sent at once count as many.
 * @returns ms to wait, 0 when it was counted
 */
async function countOne(
  key: string,
  free: number,
  longestMs: number,
  { firstWaitMs, forgetMs }: TryRules,
): Promise<number> {
  await diary()
    .$executeRaw`INSERT INTO "DoorTry" ("key", "wrong", "lastAt") VALUES (${key}, 0, now()) ON CONFLICT ("key") DO NOTHING`;
  const [row] = await diary().$queryRaw<{ waitMs: number }[]>`
    WITH old AS (SELECT "key", "wrong", extract(epoch FROM (clock_timestamp() - "lastAt")) * 1000 AS ago FROM "DoorTry" WHERE "key" = ${key} FOR UPDATE),
    said AS (SELECT "key", CASE WHEN ago > ${forgetMs}::double precision THEN 0 ELSE "wrong" END AS "wrong", CASE WHEN "wrong" < ${free}::integer OR ago > ${forgetMs}::double precision THEN 0
      ELSE greatest(0, least(${longestMs}::double precision, ${firstWaitMs}::double precision * power(2, least(20, "wrong" - ${free}::integer))) - ago) END AS wait FROM old),
    counted AS (UPDATE "DoorTry" t SET "wrong" = said."wrong" + 1, "lastAt" = clock_timestamp() FROM said WHERE t."key" = said."key" AND said.wait <= 0)
    SELECT wait::double precision AS "waitMs" FROM said`;
  return row?.waitMs ?? 0;
}

/** Wrong entries, counted for all processes together. Addresses are kept as fingerprints only. */
export const sharedTries = (rules: TryRules) => ({
  begin: async (address: string): Promise<number> => {
    const own = await countOne(address, rules.freeTries, rules.longestWaitMs, rules);
    return own > 0 ? own : countOne(ALL, rules.allTries, rules.firstWaitMs, rules);
  },
  forgive: async (address: string): Promise<void> => {
    await diary().$executeRaw`
      WITH gone AS (DELETE FROM "DoorTry" WHERE "key" = ${address} RETURNING "wrong")
      UPDATE "DoorTry" SET "wrong" = greatest(0, "wrong" - (SELECT coalesce(max("wrong"), 0) FROM gone)) WHERE "key" = ${ALL}`;
    await diary()
      .$executeRaw`DELETE FROM "DoorTry" WHERE "key" <> ${ALL} AND "lastAt" < now() - make_interval(secs => ${rules.forgetMs / 1000}::double precision)`;
  },
});
