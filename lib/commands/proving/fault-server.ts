import path from 'node:path';
import { spawn, type ChildProcess } from 'node:child_process';
import { closeDiary } from '../../diary/client';
import { applyMigrations } from '../../diary/migrate';
import { freePort } from './free-port';
import type { VisitedLawn } from './fault-visitors';
import { layVisitedLawn } from './lay-ground';

/**
 * npm run faults [-- --kills N] [--seed N] [--skip-disk] [--engine postgres]: kills (SIGKILL, no warning) at seeded
 * random moments: half of the times the server, the others a first start, the making of an archive and a restore in
 * turn. Under the server's kills photos are uploaded, sprays logged, and both changed; then proves that every write it
 * had answered is there, that no row lacks its file and no file its row once cleaned up, that the database is sound,
 * and that the work is taken up again. As root it also fills a small disk and makes one read-only. With --engine
 * postgres it is workers, the serving process and a PostgreSQL server of its own that are killed (kill-machines.ts). It
 * drives the built pages: run `npm run build` first.
 */

export interface Server {
  readonly url: string;
  readonly process: ChildProcess;
}

export const failures: string[] = [];

export function prove(fact: string, holds: boolean, but = ''): void {
  if (!holds) failures.push(`${fact}${but ? `: ${but}` : ''}`);
}

/**
 * Starts the server as `npm start` does after its set-up, in a group of its own so that all of it can be killed at
 * once.
 */
export async function startServer(folder: string): Promise<Server> {
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/run.mjs', 'serve'], {
    detached: true,
    stdio: ['ignore', 'ignore', 'pipe'],
    env: { ...process.env, SWATHBOOK_DATA: folder, HOST: '127.0.0.1', PORT: String(port), SWATHBOOK_LOG: 'error' },
  });
  let words = '';
  child.stderr?.on('data', (chunk: Buffer) => (words += chunk.toString()));
  const url = `http://127.0.0.1:${port}`;
  for (const until = Date.now() + 120_000; Date.now() < until;) {
    if (child.exitCode !== null) throw new Error(`the server ended with ${child.exitCode}: ${words.slice(-2000)}`);
    const answer = await fetch(`${url}/api/health`).catch(() => null);
    if (answer !== null) return { url, process: child };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error('the server gave no answer within two minutes');
}

export async function endOf(child: ChildProcess): Promise<number | null> {
  if (child.exitCode !== null || child.signalCode !== null) return child.exitCode;
  return new Promise((resolve) => child.once('exit', (code) => resolve(code)));
}

export async function kill(server: Server): Promise<void> {
  process.kill(-(server.process.pid as number), 'SIGKILL');
  await endOf(server.process);
}

export async function prepareDiary(folder: string): Promise<VisitedLawn> {
  await applyMigrations(path.join(folder, 'diary.db'));
  const ground = await layVisitedLawn('Faults');
  await closeDiary();
  return ground;
}
