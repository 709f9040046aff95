import 'server-only';
import fs from 'node:fs';
import path from 'node:path';
import { PrismaPg } from '@prisma/adapter-pg';
import {
  bindMigrationAwareSqlAdapterFactory,
  type SqlMigrationAwareDriverAdapterFactory,
} from '@prisma/driver-adapter-utils';
import { filters, migrationsIn, openEngine, workingFolder, sqlOf } from './migration-engine';
import { postgresqlSchema } from './postgresql-schema';

/**
 * Migrations of a PostgreSQL database: a list of their own, drafted together with SQLite's from the one schema that is
 * written.
 */

const writtenSchema = path.join(workingFolder, 'prisma/schema.prisma');
export const postgresqlSchemaPath = path.join(workingFolder, 'prisma/postgresql/schema.prisma');
const postgresqlMigrationsPath = path.join(workingFolder, 'prisma/postgresql/migrations');

/** The names of all migrations this version knows for PostgreSQL, in order. */
export function knownPostgresqlMigrations(): string[] {
  return migrationsIn(postgresqlMigrationsPath, 'postgresql').migrationDirectories.map((migration) => migration.path);
}

/** The oldest server the diary runs on. */
const LEAST_MAJOR = 13;

/**
 * Brings a PostgreSQL database up to the newest migration; two that try at once wait for each other.
 * @returns the names applied now, in order
 */
export async function applyPostgresqlMigrations(url: string): Promise<string[]> {
  const adapter = new PrismaPg({ connectionString: url });
  const connection = await adapter.connect();
  try {
    const { rows } = await connection.queryRaw({
      sql: "SELECT current_setting('server_version_num')::integer",
      args: [],
      argTypes: [],
    });
    const major = Math.floor(Number(rows[0]?.[0]) / 10_000);
    if (major < LEAST_MAJOR)
      throw new Error(`SWATHBOOK_DATABASE: expected PostgreSQL ${LEAST_MAJOR} or newer, got ${major}`);
  } finally {
    await connection.dispose();
  }
  const engine = await openEngine(postgresqlSchemaPath, bindMigrationAwareSqlAdapterFactory(adapter));
  return (
    await engine.applyMigrations({ migrationsList: migrationsIn(postgresqlMigrationsPath, 'postgresql'), filters })
  ).appliedMigrationNames;
}

/** A server that is none: what the engine asks before it compares two schemas is answered as PostgreSQL would. */
const noServer = {
  provider: 'postgres',
  adapterName: 'none',
  queryRaw: async () => ({ columnTypes: [], columnNames: [], rows: [] }),
  executeRaw: async () => 0,
  executeScript: async () => {},
  dispose: async () => {},
  getConnectionInfo: () => ({ schemaName: 'public', supportsRelationJoins: false }),
  startTransaction: () => Promise.reject(new Error('expected no transaction while schemas are compared, got one')),
};

/**
 * The SQL that leads from the PostgreSQL schema kept beside its migrations to the one made anew from the written
 * schema, and that schema: no server is asked. The SQL is empty when they agree.
 */
export async function draftPostgresqlMigration(): Promise<{ sql: string; schema: string }> {
  const schema = postgresqlSchema(fs.readFileSync(writtenSchema, 'utf8'));
  const before = fs.existsSync(postgresqlSchemaPath) ? fs.readFileSync(postgresqlSchemaPath, 'utf8') : null;
  if (before === null) fs.writeFileSync(postgresqlSchemaPath, schema);
  const stub = {
    provider: 'postgres',
    adapterName: 'none',
    connect: async () => noServer,
    connectToShadowDb: async () => noServer,
  };
  const engine = await openEngine(
    postgresqlSchemaPath,
    bindMigrationAwareSqlAdapterFactory(stub as unknown as SqlMigrationAwareDriverAdapterFactory),
  );
  const file = (content: string) => ({
    tag: 'schemaDatamodel',
    files: [{ path: postgresqlSchemaPath, content }],
    configDir: workingFolder,
  });
  const hasMigrations = migrationsIn(postgresqlMigrationsPath, 'postgresql').migrationDirectories.length > 0;
  const sql = sqlOf(
    await engine.diff({
      from: before !== null && hasMigrations ? file(before) : { tag: 'empty' },
      to: file(schema),
      script: true,
      exitCode: null,
      shadowDatabaseUrl: null,
      filters,
    }),
  );
  return { sql, schema };
}
