import 'server-only';
import { spawn } from 'node:child_process';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { ArchiveRefused } from './refused';

/** What sqlite3 finds in a database file. */
export interface DatabaseFacts {
  /** Empty when the file is whole, else SQLite's own first complaints. */
  readonly integrity: readonly string[];
  /** How many rows point at a row that is not there. */
  readonly foreignKeys: number;
  readonly tables: readonly string[];
  /** Tables, indexes, views and triggers, with the SQL that made them. */
  readonly schema: readonly { type: string; name: string; sql: string }[];
  /** With `rows`: the first value of each column that is not what the column is declared as. */
  readonly wrongValues: readonly { column: string; expected: string; got: string }[];
  /** Names of the migrations it has been through, in order. */
  readonly migrations: readonly string[];
  readonly photos: readonly { sha256: string; kind: string; state: string; binned: 0 | 1 }[];
  readonly sqlite: string;
}

const scriptPath = () => path.join(/* turbopackIgnore: true */ process.cwd(), 'lib', 'archive', 'database-process.mjs');

function run(args: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const script = scriptPath();
    const child = spawn(process.execPath, [script, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
    const out: Buffer[] = [];
    const err: Buffer[] = [];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
    child.once('error', reject);
    child.once('close', (code, signal) => {
      if (code === 0) resolve(Buffer.concat(out).toString());
      else
        reject(
          new ArchiveRefused(
            `Expected a readable diary database, got trouble: ${Buffer.concat(err).toString().trim() || `ended by ${signal ?? code}`}.`,
          ),
        );
    });
  });
}

/** A whole, consistent copy of a database, also while others read and write it. @throws ArchiveRefused */
export async function backUpDatabase(from: string, to: string): Promise<void> {
  await run(['backup', from, to]);
}

/**
 * Looks a database over: integrity, foreign keys, migrations, photos. Changes nothing.
 * @throws ArchiveRefused when it is no database
 */
export async function inspectDatabase(file: string, { rows = false }: { rows?: boolean } = {}): Promise<DatabaseFacts> {
  return JSON.parse(await run(['inspect', file, ...(rows ? ['rows'] : [])])) as DatabaseFacts;
}

/**
 * How each table and index was made, by its name; the table in which migrations are noted is left out, and white space
 * counts for nothing.
 */
export async function readSchema(file: string): Promise<Map<string, string>> {
  const { schema } = await inspectDatabase(file);
  return new Map(
    schema
      .filter((entry) => entry.name !== '_prisma_migrations')
      .map((entry) => [`${entry.type} ${entry.name}`, entry.sql.replaceAll(/\s+/g, ' ')]),
  );
}

/**
 * The values of columns that are not null, as text: `columns` are names 'Table.column'.
 * @throws ArchiveRefused when there is no such column
 */
export async function* columnValues(
  file: string,
  columns: readonly { readonly name: string; readonly distinct: boolean }[],
): AsyncGenerator<{ column: string; value: string; isJson: boolean }> {
  const child = spawn(
    process.execPath,
    [scriptPath(), 'columns', file, ...columns.map(({ name, distinct }) => `${name}:${distinct ? 'distinct' : 'all'}`)],
    { stdio: ['ignore', 'pipe', 'pipe'] },
  );
  let trouble = '';
  child.stderr.on('data', (chunk: Buffer) => (trouble += chunk.toString()));
  const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
  try {
    for await (const line of createInterface({ input: child.stdout, crlfDelay: Infinity })) {
      const [column, value, type] = JSON.parse(line) as [string, string, string];
      yield { column, value, isJson: /JSON/i.test(type) };
    }
    if ((await ended) !== 0)
      throw new ArchiveRefused(`Expected a readable diary database, got trouble: ${trouble.trim()}.`);
  } finally {
    child.kill();
  }
}
