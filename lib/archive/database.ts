import 'server-only';
import { spawn } from 'node:child_process';
import path from 'node:path';
import { ArchiveRefused } from './refused';

/** What sqlite3 finds in a database file. */
export interface DatabaseFacts {
  /** Empty when the file is whole, else SQLite's own first complaints. */
  readonly integrity: readonly string[];
  /** How many rows point at a row that is not there. */
  readonly foreignKeys: number;
  readonly tables: readonly string[];
  /** Names of the migrations it has been through, in order. */
  readonly migrations: readonly string[];
  readonly photos: readonly { sha256: string; kind: string; state: string; binned: 0 | 1 }[];
  readonly sqlite: string;
}

function run(args: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const script = path.join(/* turbopackIgnore: true */ process.cwd(), 'lib', 'archive', 'database-process.mjs');
    const child = spawn(process.execPath, [script, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
    const out: Buffer[] = [];
    const err: Buffer[] = [];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
    child.once('error', reject);
    child.once('close', (code, signal) => {
      if (code === 0) resolve(Buffer.concat(out).toString());
      else reject(new ArchiveRefused(`Expected a readable diary database, got trouble: ${Buffer.concat(err).toString().trim() || `ended by ${signal ?? code}`}.`));
    });
  });
}

/** A whole, consistent copy of a database, also while others read and write it. @throws ArchiveRefused */
export async function backUpDatabase(from: string, to: string): Promise<void> {
  await run(['backup', from, to]);
}

/** Looks a database over: integrity, foreign keys, migrations, photos. Changes nothing. @throws ArchiveRefused when it is no database */
export async function inspectDatabase(file: string): Promise<DatabaseFacts> {
  return JSON.parse(await run(['inspect', file])) as DatabaseFacts;
}
