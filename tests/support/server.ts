import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const command = (name: string) => ['lib/commands/run.mjs', name];

export interface TestServer {
  url: string;
  dataFolder: string;
  pid: number;
  stop(signal?: 'SIGTERM' | 'SIGKILL'): Promise<void>;
}

async function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = net.createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const { port } = probe.address() as net.AddressInfo;
      probe.close(() => resolve(port));
    });
  });
}

function runToEnd(args: string[], env: Record<string, string>): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, args, {
      cwd: root,
      env: { ...process.env, ...env },
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    child.once('exit', (code) => (code === 0 ? resolve() : reject(new Error(`${args.join(' ')} ended with ${code}`))));
  });
}

async function answers(url: string, child: ChildProcess): Promise<void> {
  const until = Date.now() + 60_000;
  while (Date.now() < until) {
    if (child.exitCode !== null) throw new Error(`the server ended with ${child.exitCode}`);
    const response = await fetch(url).catch(() => null);
    if (response !== null && response.status < 500) return;
    await new Promise((resolve) => setTimeout(resolve, 150));
  }
  throw new Error(`${url}: expected an answer within a minute, got none`);
}

/**
 * Puts a demo diary into a folder: made once a run of the browser tests (tests/e2e/demos.ts), else for this folder
 * alone.
 */
async function copyDemo(kind: true | 'metric', dataFolder: string): Promise<void> {
  const shared = process.env['SWATHBOOK_TEST_DEMOS'];
  const made = shared === undefined ? dataFolder : path.join(shared, kind === 'metric' ? 'metric' : 'us');
  // Two files of tests run side by side: whoever comes second waits for the first one's.
  const turn = `${made}.being-made`;
  while (!takeTurn(turn)) await new Promise((resolve) => setTimeout(resolve, 200));
  try {
    if (!fs.existsSync(path.join(made, 'diary.db'))) {
      const env = { SWATHBOOK_DATA: made, NODE_ENV: 'production' };
      await runToEnd(command('migrate'), env);
      await runToEnd([...command('seed-demo'), ...(kind === 'metric' ? ['metric'] : [])], env);
    }
  } finally {
    fs.rmdirSync(turn);
  }
  if (made !== dataFolder) fs.cpSync(made, dataFolder, { recursive: true });
}

/** Whether the turn was free and is now ours: making a folder that is there fails. */
function takeTurn(folder: string): boolean {
  try {
    fs.mkdirSync(folder);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}

/**
 * Where SWATHBOOK_TEST_DATABASE names a PostgreSQL server (an address up to its last slash), diaries served with fresh
 * folders are databases there.
 */
const server = process.env['SWATHBOOK_TEST_DATABASE'];

function onServer(sql: string): void {
  const done = spawnSync('psql', ['-q', '-v', 'ON_ERROR_STOP=1', '-d', `${server}/postgres`, '-c', sql], {
    encoding: 'utf8',
  });
  if (done.status !== 0) throw new Error(`psql: expected '${sql}' to succeed, got ${done.stderr}`);
}

/** Puts a diary that lies in a folder on the server as well, as whoever grows out of one machine does. */
async function moveToServer(dataFolder: string, database: string): Promise<void> {
  const archive = path.join(dataFolder, 'moving.zip');
  await runToEnd([...command('archive'), '--out', archive], { SWATHBOOK_DATA: dataFolder });
  await runToEnd([...command('restore'), archive], { SWATHBOOK_DATA: dataFolder, SWATHBOOK_DATABASE: database });
}

/** Serves the built pages on a free port with a fresh data folder (or the one given). */
export async function startServer(
  options: { dataFolder?: string; demo?: true | 'metric'; env?: Record<string, string> } = {},
): Promise<TestServer> {
  const dataFolder = options.dataFolder ?? fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-e2e-'));
  const env = { SWATHBOOK_DATA: dataFolder, NODE_ENV: 'production' as const, NEXT_TELEMETRY_DISABLED: '1' };
  if (options.demo) await copyDemo(options.demo, dataFolder);
  const own =
    server === undefined || options.dataFolder !== undefined || options.env?.['SWATHBOOK_DATABASE'] !== undefined
      ? null
      : `e2e_${randomBytes(6).toString('hex')}`;
  if (own !== null) {
    onServer(`CREATE DATABASE ${own}`);
    Object.assign(env, { SWATHBOOK_DATABASE: `${server}/${own}` });
    if (options.demo) {
      await runToEnd(command('migrate'), env);
      await moveToServer(dataFolder, `${server}/${own}`);
    }
  }
  await runToEnd(command('migrate'), { ...env, ...options.env });
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/front.mjs'], {
    cwd: root,
    env: { ...process.env, SWATHBOOK_LOG: 'error', ...env, HOST: '127.0.0.1', PORT: String(port), ...options.env },
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  const url = `http://127.0.0.1:${port}`;
  await answers(url, child);
  return {
    url,
    dataFolder,
    pid: child.pid as number,
    stop: async (signal = 'SIGTERM') => {
      const ended = new Promise((resolve) => child.once('exit', resolve));
      child.kill(signal);
      await ended;
      if (own !== null) onServer(`DROP DATABASE ${own} WITH (FORCE)`);
      if (options.dataFolder === undefined) fs.rmSync(dataFolder, { recursive: true, force: true });
    },
  };
}
