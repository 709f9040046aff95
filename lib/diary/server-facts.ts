import 'server-only';
import { diary } from './client';

/** What a database server says of itself and of the diary on it. */
export interface ServerFacts {
  readonly version: string;
  readonly clockMs: number;
  readonly migrations: readonly string[];
  readonly photos: readonly { sha256: string; kind: string; state: string; binned: 0 | 1 }[];
}

/** Asks a PostgreSQL server. @throws when it doesn't answer */
export async function serverFacts(): Promise<ServerFacts> {
  const [said] = await diary().$queryRaw<{ version: string; clockMs: number }[]>`
    SELECT current_setting('server_version') AS "version", (extract(epoch from clock_timestamp()) * 1000)::double precision AS "clockMs"`;
  const done = await diary().$queryRaw<{ name: string }[]>`
    SELECT migration_name AS "name" FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL ORDER BY migration_name`;
  const photos = await diary().photo.findMany({
    orderBy: { sha256: 'asc' },
    select: { sha256: true, kind: true, measureState: true, deletedAt: true },
  });
  return {
    version: said?.version ?? 'unknown',
    clockMs: Number(said?.clockMs),
    migrations: done.map((row) => row.name),
    photos: photos.map(({ measureState, deletedAt, ...photo }) => ({
      ...photo,
      state: measureState,
      binned: deletedAt === null ? 0 : 1,
    })),
  };
}

/** Whether anything was ever written into the diary. */
export async function hasRows(): Promise<boolean> {
  const [lawn, product, setting] = await Promise.all([
    diary().lawn.findFirst(),
    diary().product.findFirst(),
    diary().setting.findFirst(),
  ]);
  return lawn !== null || product !== null || setting !== null;
}
