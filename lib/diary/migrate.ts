import 'server-only';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { createRequire } from 'node:module';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';

/**
 * Migrations by Prisma's own engine in its WebAssembly build: it needs no downloaded binary,
 * so a diary can be set up on a machine without the internet.
 */

const projectRoot = process.cwd();
const schemaPath = path.join(projectRoot, 'prisma/schema.prisma');
const migrationsPath = path.join(projectRoot, 'prisma/migrations');
const filters = { externalTables: [], externalEnums: [] };

interface MigrationDirectory {
  path: string;
  migrationFile: { path: string; content: { tag: 'ok'; value: string } };
}

interface Engine {
  applyMigrations(request: object): Promise<{ appliedMigrationNames: string[] }>;
  diff(request: object): Promise<{ stdout: string | null }>;
}

interface Glue {
  __wbg_set_wasm(exports: WebAssembly.Exports): void;
  SchemaEngine: { 'new'(request: object, log: (message: string) => void, adapter: unknown): Promise<Engine> };
}

/** The engine's module, instantiated once a process: a second instance would upset the first. */
let loadedGlue: Promise<Glue> | undefined;

async function loadGlue(): Promise<Glue> {
  const require = createRequire(path.join(projectRoot, 'package.json'));
  const glue = (await import('@prisma/schema-engine-wasm/schema_engine_bg')) as Glue;
  const wasmPath = path.join(path.dirname(require.resolve('@prisma/schema-engine-wasm')), 'schema_engine_bg.wasm');
  const { instance } = await WebAssembly.instantiate(fs.readFileSync(wasmPath), {
    './schema_engine_bg.js': glue as unknown as WebAssembly.ModuleImports,
  });
  glue.__wbg_set_wasm(instance.exports);
  (instance.exports['__wbindgen_start'] as () => void)();
  return glue;
}

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

async function openEngine(databasePath: string): Promise<{ engine: Engine; close: () => Promise<void> }> {
  loadedGlue ??= loadGlue();
  const glue = await loadedGlue;
  const schema = fs.readFileSync(schemaPath, 'utf8');
  const adapter = new ScriptTolerantAdapter({ url: `file:${databasePath}` }, { shadowDatabaseUrl: ':memory:' });
  const engine = await glue.SchemaEngine.new({ datamodels: [[schemaPath, schema]] }, () => {}, bindMigrationAwareSqlAdapterFactory(adapter));
  return { engine, close: () => adapter.closeAll() };
}

function migrationsList(): { baseDir: string; lockfile: object; shadowDbInitScript: string; migrationDirectories: MigrationDirectory[] } {
  const names = fs.existsSync(migrationsPath)
    ? fs.readdirSync(migrationsPath, { withFileTypes: true }).filter((entry) => entry.isDirectory()).map((entry) => entry.name).sort()
    : [];
  return {
    baseDir: migrationsPath,
    lockfile: { path: 'migration_lock.toml', content: 'provider = "sqlite"\n' },
    shadowDbInitScript: '',
    migrationDirectories: names.map((name) => ({
      path: name,
      migrationFile: {
        path: 'migration.sql',
        content: { tag: 'ok', value: fs.readFileSync(path.join(migrationsPath, name, 'migration.sql'), 'utf8') },
      },
    })),
  };
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
  const { engine, close } = await openEngine(databasePath);
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
    const { engine } = await openEngine(databasePath);
    const schema = { files: [{ path: schemaPath, content: fs.readFileSync(schemaPath, 'utf8') }], configDir: projectRoot };
    const result = await engine.diff({
      from: migrationsList().migrationDirectories.length === 0 ? { tag: 'empty' } : { tag: 'migrations', ...migrationsList() },
      to: { tag: 'schemaDatamodel', ...schema },
      script: true,
      exitCode: null,
      shadowDatabaseUrl: null,
      filters,
    });
    const sql = result.stdout ?? '';
    return sql.includes('-- This is an empty migration') ? '' : sql;
  } finally {
    fs.rmSync(scratch, { recursive: true, force: true });
  }
}
