import 'server-only';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { filters, migrationsIn, openEngine, workingFolder, sqlOf, type Engine } from './migration-engine';

/** Migrations of a SQLite file, which is also what every archive holds. */

const schemaPath = path.join(workingFolder, 'prisma/schema.prisma');
const migrationsPath = path.join(workingFolder, 'prisma/migrations');
const migrationsList = () => migrationsIn(migrationsPath, 'sqlite');

/**
 * The engine sends a whole migration to its shadow database as one statement, which better-sqlite3 takes only as a
 * script; and see below.
 */
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
    const askOne = shadow.queryRaw.bind(shadow);
    // The engine asks for a partial index's condition with its name in double quotes, which this SQLite takes for a
    // column.
    shadow.queryRaw = async (query) =>
      askOne({
        ...query,
        sql: query.sql.replace(/^(SELECT sql FROM sqlite_master WHERE type = 'index' AND name = )"(\w+)"/, "$1'$2'"),
      });
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

type Rows = readonly (readonly unknown[])[];

/** Runs some statements on a file over a connection of its own. @returns the rows of the last */
async function onFile(databasePath: string, ...statements: string[]): Promise<Rows> {
  const connection = await new PrismaBetterSqlite3({ url: `file:${databasePath}` }).connect();
  try {
    let rows: Rows = [];
    for (const sql of statements) rows = (await connection.queryRaw({ sql, args: [], argTypes: [] })).rows;
    return rows;
  } finally {
    await connection.dispose();
  }
}

/**
 * Which migrations a file has been through, and at which one it stopped half way; null for a file that is not there or
 * holds nothing yet.
 */
async function standOf(databasePath: string): Promise<{ done: ReadonlySet<string>; stoppedAt: string | null } | null> {
  if (!fs.existsSync(databasePath)) return null;
  const tables = new Set(
    (await onFile(databasePath, `SELECT name FROM sqlite_master WHERE type = 'table'`)).map(([name]) => name),
  );
  const noted = tables.has('_prisma_migrations')
    ? await onFile(
        databasePath,
        `SELECT migration_name, finished_at FROM _prisma_migrations WHERE rolled_back_at IS NULL`,
      )
    : [];
  const done = new Set(noted.flatMap(([name, at]) => (at === null ? [] : [String(name)])));
  const stoppedAt = noted.find(([, at]) => at === null)?.[0];
  // A first start of an earlier version that was killed: no lawn can have been written.
  if (
    done.size === 0 &&
    (!tables.has('Lawn') || (await onFile(databasePath, `SELECT count(*) FROM "Lawn"`))[0]?.[0] === 0)
  )
    return null;
  return { done, stoppedAt: stoppedAt === undefined ? null : String(stoppedAt) };
}

const removeFile = (file: string) =>
  ['', '-wal', '-shm', '-journal'].forEach((end) => fs.rmSync(`${file}${end}`, { force: true }));

/**
 * Brings a database file (made when absent) up to the newest migration. Migrations run on a copy that then takes its
 * place, so that a stop at any moment leaves the file as it was; nobody else may have it open. Where none is missing
 * nothing is started.
 * @returns the names applied now, in order
 */
export async function applyMigrations(databasePath: string): Promise<string[]> {
  fs.mkdirSync(path.dirname(databasePath), { recursive: true });
  const making = `${databasePath}.migrating`;
  removeFile(making);
  const stand = await standOf(databasePath);
  if (stand !== null) {
    if (stand.stoppedAt !== null)
      throw new Error(
        `expected a database whose migrations ran through, got one that an earlier version was stopped on in '${stand.stoppedAt}': restore an archive`,
      );
    if (knownMigrations().every((name) => stand.done.has(name))) return [];
    await onFile(databasePath, 'PRAGMA wal_checkpoint(TRUNCATE)');
    fs.copyFileSync(databasePath, making);
  }
  await onFile(making, 'PRAGMA journal_mode = WAL');
  const { engine, close } = await openFile(making);
  let applied: string[];
  try {
    applied = (await engine.applyMigrations({ migrationsList: migrationsList(), filters })).appliedMigrationNames;
  } finally {
    await close();
  }
  await onFile(making, 'PRAGMA wal_checkpoint(TRUNCATE)');
  syncFile(making);
  for (const end of ['-wal', '-shm']) fs.rmSync(`${databasePath}${end}`, { force: true });
  fs.renameSync(making, databasePath);
  for (const end of ['-wal', '-shm']) fs.rmSync(`${making}${end}`, { force: true });
  syncFile(path.dirname(databasePath));
  return applied;
}

function syncFile(file: string): void {
  const open = fs.openSync(file, 'r');
  try {
    fs.fsyncSync(open);
  } finally {
    fs.closeSync(open);
  }
}

/** The SQL that leads from the migrations on disk to the schema file; empty when they agree. */
export async function draftMigration(): Promise<string> {
  const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'diary-draft-'));
  try {
    const databasePath = path.join(scratch, 'draft.db');
    await applyMigrations(databasePath);
    const { engine } = await openFile(databasePath);
    const schema = {
      files: [{ path: schemaPath, content: fs.readFileSync(schemaPath, 'utf8') }],
      configDir: workingFolder,
    };
    return sqlOf(
      await engine.diff({
        from:
          migrationsList().migrationDirectories.length === 0
            ? { tag: 'empty' }
            : { tag: 'migrations', ...migrationsList() },
        to: { tag: 'schemaDatamodel', ...schema },
        script: true,
        exitCode: null,
        shadowDatabaseUrl: null,
        filters,
      }),
    );
  } finally {
    fs.rmSync(scratch, { recursive: true, force: true });
  }
}
