import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { freePort } from './free-port';

const setup = pathToFileURL(path.resolve('lib/commands/setup.mjs')).href;

/**
 * The folder of PostgreSQL's programs (Debian keeps one a version, the newest is taken), or null where there is none.
 */
export function postgresPrograms(): string | null {
  const parent = '/usr/lib/postgresql';
  const versions = fs.existsSync(parent) ? fs.readdirSync(parent).sort((a, b) => Number(b) - Number(a)) : [];
  const found = versions
    .map((version) => path.join(parent, version, 'bin'))
    .find((folder) => fs.existsSync(path.join(folder, 'initdb')));
  return found ?? null;
}

export interface PostgresServer {
  /** Address of a database on it. */
  readonly url: (database: string) => string;
  readonly run: (sql: string, database?: string) => void;
  readonly stop: (how?: 'fast' | 'immediate') => void;
  readonly start: () => void;
  readonly remove: () => void;
}

/** A PostgreSQL server of a test's or a proof's own on a free port: no durability wanted, gone with `remove`. */
export async function startPostgres(programs: string): Promise<PostgresServer> {
  // The diary's client for it is made only where one is asked for.
  own([process.execPath, '-e', `import(${JSON.stringify(setup)}).then((setup) => setup.generateServerClient())`]);
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-postgres-'));
  const asRoot = process.getuid?.() === 0;
  if (asRoot) own(['chown', 'postgres', folder]);
  const port = await freePort();
  // It refuses to run as root; Debian's package brings a user for it.
  const as = (args: string[]): string => own(asRoot ? ['runuser', '-u', 'postgres', '--', ...args] : args);
  as([
    path.join(programs, 'initdb'),
    '-D',
    path.join(folder, 'data'),
    '-A',
    'trust',
    '-U',
    'postgres',
    '-E',
    'UTF8',
    '--locale=C.UTF-8',
    '-N',
  ]);
  const url = (database: string): string => `postgresql://postgres@127.0.0.1:${port}/${database}`;
  const start = (): void => {
    as([
      path.join(programs, 'pg_ctl'),
      '-D',
      path.join(folder, 'data'),
      '-w',
      '-s',
      '-l',
      path.join(folder, 'log'),
      '-o',
      `-p ${port} -k ${folder} -c listen_addresses=127.0.0.1 -c fsync=off -c max_connections=200`,
      'start',
    ]);
  };
  const stop = (how: 'fast' | 'immediate' = 'fast'): void => {
    as([path.join(programs, 'pg_ctl'), '-D', path.join(folder, 'data'), '-w', '-s', '-m', how, 'stop']);
  };
  start();
  return {
    url,
    start,
    stop,
    run: (sql, database = 'postgres') =>
      void own([path.join(programs, 'psql'), '-q', '-v', 'ON_ERROR_STOP=1', '-d', url(database), '-c', sql]),
    remove: () => {
      stop('immediate');
      fs.rmSync(folder, { recursive: true, force: true });
    },
  };
}

function own([command, ...args]: string[]): string {
  const done = spawnSync(command!, args, { encoding: 'utf8', cwd: os.tmpdir() });
  if (done.status !== 0)
    throw new Error(`${command} ${args[0]}: expected it to succeed, got ${done.status}: ${done.stderr}`);
  return done.stdout;
}
