/**
 * `npm run migrate`            brings the diary's database up to date.
 * `npm run migrate -- draft NAME`  writes a new migration from the changes in prisma/schema.prisma.
 */
import fs from 'node:fs';
import path from 'node:path';
import { finishSwap } from '@/lib/archive/swap';
import { serverTrouble } from '@/lib/diary/database-server';
import { postgresqlUrl } from '@/lib/diary/engine';
import { applyMigrations, draftMigration } from '@/lib/diary/migrate';
import { FolderInUse, FolderRefused, holdFolder } from '@/lib/door/folder-lock';
import { dataFolder, readServing } from '@/lib/forms/environment';

const [verb, name] = process.argv.slice(2);

if (verb === 'draft') {
  if (!name || !/^[a-z0-9_]+$/.test(name)) {
    console.error(
      `migrate draft: expected a name of a-z, 0-9 and _, got ${name === undefined ? 'nothing' : `'${name}'`}`,
    );
    process.exit(2);
  }
  const stamp = new Date().toISOString().replaceAll(/[-:T]/g, '').slice(0, 14);
  const sqlite = await draftMigration();
  const { draftPostgresqlMigration, postgresqlSchemaPath } = await import('@/lib/diary/migrate-postgresql');
  const postgresql = await draftPostgresqlMigration();
  const drafts = [
    ['prisma/migrations', sqlite],
    ['prisma/postgresql/migrations', postgresql.sql],
  ] as const;
  for (const [parent, sql] of drafts) {
    if (sql.trim() === '') {
      console.log(`The migrations in ${parent} already lead to the schema; nothing written.`);
      continue;
    }
    const folder = path.join(parent, `${stamp}_${name}`);
    fs.mkdirSync(folder, { recursive: true });
    fs.writeFileSync(path.join(folder, 'migration.sql'), sql);
    console.log(`Wrote ${folder}/migration.sql`);
  }
  fs.writeFileSync(postgresqlSchemaPath, postgresql.schema);
} else {
  let folder = '';
  try {
    readServing(); // an environment that is off is told before anything is touched
    folder = dataFolder();
    holdFolder(folder, 'migrating');
  } catch (error) {
    console.error(`swathbook: ${(error as Error).message.replace(/^E/, 'e')}`);
    process.exit(error instanceof FolderRefused && !(error instanceof FolderInUse) ? 1 : 2);
  }
  // A restore that a stop cut short is finished first: migrating would put an empty diary in its place.
  if (await finishSwap(folder)) console.log('Finished a restore that was cut short.');
  const url = postgresqlUrl();
  const applied =
    url !== undefined
      ? await onServer(url)
      : await applyMigrations(path.join(folder, 'diary.db')).catch((error: Error) => {
          console.error(`swathbook: ${error.message}`);
          process.exit(1);
        });
  console.log(applied.length > 0 ? `Migrated: ${applied.join(', ')}` : 'The database is up to date.');
}

/**
 * Brings a PostgreSQL database up to date, or ends with one sentence on what is wrong with it. Loaded only where there
 * is one.
 */
async function onServer(url: string): Promise<string[]> {
  const { applyPostgresqlMigrations } = await import('@/lib/diary/migrate-postgresql');
  try {
    return await applyPostgresqlMigrations(url);
  } catch (error) {
    console.error(`swathbook: ${serverTrouble(error) ?? (error as Error).message}`);
    process.exit(1);
  }
}
