import 'server-only';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { filters, migrationsIn, openEngine, projectRoot, sqlOf, type Engine } from './migration-engine';

/** Migrations of a SQLite file, which is also what every archive holds. */

const schemaPath = path.join(projectRoot, 'prisma/schema.prisma');
const migrationsPath = path.join(projectRoot, 'prisma/migrations');
const migrationsList = () => migrationsIn(migrationsPath, 'sqlite');

/** The engine sends a whole migration to its shadow database as one statement, which better-sqlite3 takes only as a script. */
class ScriptTolerantAdapter extends PrismaBetterSqlite3 {
  readonly #opened: Awaited<ReturnType<PrismaBetterSqlite3['connect']>>[] = [];

  override async connect(): ReturnType<PrismaBetterSqlite3['connect']> {
    const connection = await super.connect();
    this.#opened.push(connection);
    return connection;
  }

  /** The engine locks the file for itself and never lets go, so its connections are closed from here. */
  async closeAll(): Promise<void> {
    for (const connection of this.#opened.splice(0)) await connection.dispose();
  }

  override async connectToShadowDb(): ReturnType<PrismaBetterSqlite3['connectToShadowDb']> {
    const shadow = await super.connectToShadowDb();
    const executeOne = shadow.executeRaw.bind(shadow);
    shadow.executeRaw = async (query) => {
      if (query.args.length > 0) return executeOne(query);
      await shadow.executeScript(query.sql);
      return 0;
    };
    return shadow;
  }
}

async function openFile(databasePath: string): Promise<{ engine: Engine; close: () => Promise<void> }> {
  const adapter = new ScriptTolerantAdapter({ url: `file:${databasePath}` }, { shadowDatabaseUrl: ':memory:' });
  const engine = await openEngine(schemaPath, bindMigrationAwareSqlAdapterFactory(adapter));
  return { engine, close: () => adapter.closeAll() };
}

/** The names of all migrations this version knows, in order. */
export function knownMigrations(): string[] {
  return migrationsList().migrationDirectories.map((migration) => migration.path);
}

/** Brings a database file (made when absent) up to the newest migration. @returns the names applied now, in order */
export async function applyMigrations(databasePath: string): Promise<string[]> {
  fs.mkdirSync(path.dirname(databasePath), { recursive: true });
  const connection = await new PrismaBetterSqlite3({ url: `file:${databasePath}` }).connect();
  await connection.executeScript('PRAGMA journal_mode = WAL;');
  await connection.dispose();
  const { engine, close } = await openFile(databasePath);
  try {
    const { appliedMigrationNames } = await engine.applyMigrations({ migrationsList: migrationsList(), filters });
    return appliedMigrationNames;
  } finally {
    await close();
  }
}

/** The SQL that leads from the migrations on disk to the schema file; empty when they agree. */
export async function draftMigration(): Promise<string> {
  const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'diary-draft-'));
  try {
    const databasePath = path.join(scratch, 'draft.db');
    await applyMigrations(databasePath);
    const { engine } = await openFile(databasePath);
    const schema = { files: [{ path: schemaPath, content: fs.readFileSync(schemaPath, 'utf8') }], configDir: projectRoot };
    return sqlOf(await engine.diff({
      from: migrationsList().migrationDirectories.length === 0 ? { tag: 'empty' } : { tag: 'migrations', ...migrationsList() },
      to: { tag: 'schemaDatamodel', ...schema },
      script: true,
      exitCode: null,
      shadowDatabaseUrl: null,
      filters,
    }));
  } finally {
    fs.rmSync(scratch, { recursive: true, force: true });
  }
}
