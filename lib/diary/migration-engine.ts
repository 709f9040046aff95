import 'server-only';
import fs from 'node:fs';
import path from 'node:path';
import { createRequire } from 'node:module';

/**
 * Prisma's own migration engine in its WebAssembly build: it needs no downloaded binary,
 * so a diary can be set up on a machine without the internet.
 */

export const workingFolder = process.cwd();

/** Tables and enums of others: none. */
export const filters = { externalTables: [], externalEnums: [] };

interface MigrationDirectory {
  path: string;
  migrationFile: { path: string; content: { tag: 'ok'; value: string } };
}

export interface MigrationsList {
  baseDir: string;
  lockfile: object;
  shadowDbInitScript: string;
  migrationDirectories: MigrationDirectory[];
}

export interface Engine {
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
  const require = createRequire(path.join(workingFolder, 'package.json'));
  const glue = (await import('@prisma/schema-engine-wasm/schema_engine_bg')) as Glue;
  const wasmPath = path.join(path.dirname(require.resolve('@prisma/schema-engine-wasm')), 'schema_engine_bg.wasm');
  const { instance } = await WebAssembly.instantiate(fs.readFileSync(wasmPath), {
    './schema_engine_bg.js': glue as unknown as WebAssembly.ModuleImports,
  });
  glue.__wbg_set_wasm(instance.exports);
  (instance.exports['__wbindgen_start'] as () => void)();
  return glue;
}

/** An engine for one schema, talking to its database through `adapter` (a migration-aware factory, bound). */
export async function openEngine(schemaPath: string, adapter: unknown): Promise<Engine> {
  loadedGlue ??= loadGlue();
  const glue = await loadedGlue;
  return glue.SchemaEngine.new({ datamodels: [[schemaPath, fs.readFileSync(schemaPath, 'utf8')]] }, () => {}, adapter);
}

/** The migrations in a folder, in order of their names. */
export function migrationsIn(folder: string, provider: 'sqlite' | 'postgresql'): MigrationsList {
  const names = fs.existsSync(folder)
    ? fs
        .readdirSync(folder, { withFileTypes: true })
        .filter((entry) => entry.isDirectory())
        .map((entry) => entry.name)
        .sort()
    : [];
  return {
    baseDir: folder,
    lockfile: { path: 'migration_lock.toml', content: `provider = "${provider}"\n` },
    shadowDbInitScript: '',
    migrationDirectories: names.map((name) => ({
      path: name,
      migrationFile: {
        path: 'migration.sql',
        content: { tag: 'ok', value: fs.readFileSync(path.join(folder, name, 'migration.sql'), 'utf8') },
      },
    })),
  };
}

/** What a diff says, or nothing when both sides agree. */
export function sqlOf({ stdout }: { stdout: string | null }): string {
  const sql = stdout ?? '';
  return sql.includes('-- This is an empty migration') ? '' : sql;
}
