import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import path from 'node:path';
import { createFront } from '../door/front';
import { FolderInUse, FolderRefused, holdFolder } from '../door/folder-lock';
import { readServing } from '../forms/environment';

interface Log {
  info(line: object, words?: string): void;
  debug(line: object, words?: string): void;
  warn(line: object, words?: string): void;
  error(line: object, words?: string): void;
}

interface Pages {
  prepare(): Promise<void>;
  getRequestHandler(): (request: IncomingMessage, response: ServerResponse) => Promise<void>;
  close(): Promise<void>;
}

/** A request that takes longer than this is noted even when all else is well. */
const SLOW_MS = 5000;
/** How long requests in progress may take to end after a stop is asked for. */
const STOP_MS = 25_000;

function publicFiles(): Set<string> {
  const names = existsSync('public') ? readdirSync('public', { recursive: true, encoding: 'utf8' }) : [];
  return new Set(['/icon.svg', '/favicon.ico', '/manifest.webmanifest', ...names.map((name) => `/${name.split(path.sep).join('/')}`)]);
}

/** Serves until told to stop. Ends the process: 0 after a clean stop, 1 for trouble, 2 for an environment that is off. */
export async function runFront({ next, log }: { next: (options: object) => Pages; log: Log }): Promise<void> {
  let serving: ReturnType<typeof readServing>;
  try {
    serving = readServing();
  } catch (error) {
    console.error(`swathbook: ${(error as Error).message}`);
    process.exit(2);
  }
  const { host, port, passphrase, https, dataFolder, hold } = serving;
  // From here on nobody who reads the environment finds the passphrase.
  delete process.env['SWATHBOOK_PASSPHRASE'];
  delete process.env['SWATHBOOK_HOLD'];
  const address = `${https ? 'https' : 'http'}://${host.includes(':') ? `[${host}]` : host}:${port}`;
  try {
    holdFolder(dataFolder, 'serving', { address, from: hold });
  } catch (error) {
    if (!(error instanceof FolderRefused)) throw error;
    console.error(`swathbook: ${error.message.replace(/^E/, 'e')}`);
    process.exit(error instanceof FolderInUse ? 2 : 1);
  }

  const pages = next({ dev: false, dir: process.cwd(), hostname: host, port });
  await pages.prepare();
  const handle = pages.getRequestHandler();
  const known = publicFiles();
  const front = await createFront({
    handle,
    dataFolder,
    passphrase,
    https,
    isPublicFile: (file) => known.has(file),
    css: readFileSync('app/globals.css', 'utf8'),
    onAnswer: (line) => {
      if (line.status >= 500) log.error(line, 'answer');
      else if (line.refused !== undefined || line.ms > SLOW_MS) log.warn(line, 'answer');
      else log.debug(line, 'answer');
    },
  });
  const server = createServer((request, response) => {
    front(request, response).catch((error: unknown) => {
      log.error({ trouble: error instanceof Error ? error.stack : String(error) }, 'request');
      if (!response.headersSent) response.writeHead(500, { 'content-type': 'application/json' });
      response.end(JSON.stringify({ ok: false, message: 'Something went wrong here that was not expected; the log says more.' }));
    });
  });
  // A large photo over a slow line takes a while; a sender that says nothing does not.
  server.requestTimeout = 20 * 60_000;
  server.headersTimeout = 30_000;
  server.on('error', (error: NodeJS.ErrnoException) => {
    console.error(`swathbook: ${error.code === 'EADDRINUSE' ? `expected a free port, got ${port}, which another program uses (set PORT)` : error.message}`);
    process.exit(1);
  });

  let stopping = false;
  const stop = (why: string) => {
    if (stopping) process.exit(1); // asked twice: at once
    stopping = true;
    log.info({ why }, 'stopping');
    server.close(() => void pages.close().catch(() => undefined).then(() => process.exit(0)));
    server.closeIdleConnections();
    setTimeout(() => {
      log.warn({}, 'requests were still running; stopped all the same');
      process.exit(0);
    }, STOP_MS).unref();
  };
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => stop(signal));
  process.on('disconnect', () => stop('the command that started this has ended'));

  server.listen(port, host, () => {
    log.info({ address, locked: passphrase !== undefined }, 'serving');
    console.log(`Swathbook is at ${address} (diary in ${dataFolder}). Ctrl-C stops it.`);
  });
}
