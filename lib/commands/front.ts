import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { EventEmitter } from 'node:events';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { Socket } from 'node:net';
import type { Duplex } from 'node:stream';
import path from 'node:path';
import { leaveACoreToPages } from '../darkroom/cores';
import { onPostgresql } from '../diary/engine';
import { ALL_TRIES, FIRST_WAIT_MS, FORGET_MS, FREE_TRIES, LONGEST_WAIT_MS } from '../door/attempts';
import { doorFactsInFolder } from '../door/door-file';
import { createFront, type FrontOptions } from '../door/front';
import { FolderInUse, FolderRefused, holdFolder } from '../door/folder-lock';
import { triesInFolder } from '../door/tries-file';
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
const STOP_MS = 800;
/** A sender must have sent its head within this, and say something at least this often. */
const HEAD_MS = 10_000;
const SILENT_MS = 3 * 60_000;
/** Connections at most, all together and from one address. A proxy in front (TLS) is one address for all. */
const MOST_CONNECTIONS = 400;
const MOST_OF_ONE = 100;

function publicFiles(): Set<string> {
  const names = existsSync('public') ? readdirSync('public', { recursive: true, encoding: 'utf8' }) : [];
  return new Set([
    '/icon.svg',
    '/favicon.ico',
    '/manifest.webmanifest',
    ...names.map((name) => `/${name.split(path.sep).join('/')}`),
  ]);
}

/**
 * Serves until told to stop. Ends the process: 0 after a clean stop, 1 for trouble, 2 for an environment that is off.
 */
export async function runFront({
  next,
  log,
  isRouterState,
}: {
  next: (options: object) => Pages;
  log: Log;
  isRouterState: (header: string) => boolean;
}): Promise<void> {
  let serving: ReturnType<typeof readServing>;
  try {
    serving = readServing();
  } catch (error) {
    console.error(`swathbook: ${(error as Error).message}`);
    process.exit(2);
  }
  const { host, port, passphrase, https, dataFolder, hold, proxy } = serving;
  // From here on nobody who reads the environment finds the passphrase.
  delete process.env['SWATHBOOK_PASSPHRASE'];
  delete process.env['SWATHBOOK_HOLD'];
  delete process.env['SWATHBOOK_OPENS'];
  const address = `${https ? 'https' : 'http'}://${host.includes(':') ? `[${host}]` : host}:${port}`;
  try {
    holdFolder(dataFolder, 'serving', { address, from: hold });
  } catch (error) {
    if (!(error instanceof FolderRefused)) throw error;
    console.error(`swathbook: ${error.message.replace(/^E/, 'e')}`);
    process.exit(error instanceof FolderInUse ? 2 : 1);
  }

  leaveACoreToPages();
  // Next adds an `upgrade` listener to the server it is told of, one that never answers: this one nobody ever calls.
  const pages = next({ dev: false, dir: process.cwd(), hostname: host, port, httpServer: new EventEmitter() });
  await pages.prepare();
  const handle = pages.getRequestHandler();
  const known = publicFiles();
  const front = await createFront({
    handle,
    passphrase,
    ...doorStores(dataFolder),
    proxy,
    isRouterState,
    https,
    isPublicFile: (file) => known.has(file),
    css: readFileSync('app/globals.css', 'utf8'),
    onAnswer: (line) => {
      if (line.status >= 500) log.error(line, 'answer');
      else if (line.refused !== undefined || line.ms > SLOW_MS) log.warn(line, 'answer');
      else log.debug(line, 'answer');
    },
  });
  await told;
  const server = createServer(
    { connectionsCheckingInterval: 1000, headersTimeout: HEAD_MS, keepAliveTimeout: 5000 },
    (request, response) => {
      front(request, response).catch((error: unknown) => {
        log.error({ trouble: error instanceof Error ? error.stack : String(error) }, 'request');
        if (!response.headersSent) response.writeHead(500, { 'content-type': 'application/json' });
        response.end(
          JSON.stringify({ ok: false, message: 'Something went wrong here that was not expected; the log says more.' }),
        );
      });
    },
  );
  // A large photo over a slow line takes a while; a sender that says nothing does not.
  server.requestTimeout = 20 * 60_000;
  server.timeout = SILENT_MS;
  server.maxConnections = mostConnections();
  limitEachAddress(server, https ? Infinity : MOST_OF_ONE);
  for (const event of ['upgrade', 'connect'] as const)
    server.on(event, (_request: IncomingMessage, socket: Duplex) => refuseUpgrade(socket));
  server.on('error', (error: NodeJS.ErrnoException) => {
    console.error(
      `swathbook: ${error.code === 'EADDRINUSE' ? `expected a free port, got ${port}, which another program uses (set PORT)` : error.message}`,
    );
    process.exit(1);
  });

  let stopping = false;
  const stop = (why: string) => {
    if (stopping) process.exit(1); // asked twice: at once
    stopping = true;
    log.info({ why }, 'stopping');
    server.close(
      () =>
        void pages
          .close()
          .catch(() => undefined)
          .then(() => process.exit(0)),
    );
    server.closeIdleConnections();
    // What was answered is on disk; what was not, nobody was promised.
    setTimeout(() => {
      log.warn({}, 'requests were still running; stopped all the same');
      process.exit(0);
    }, STOP_MS);
  };
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => stop(signal));
  process.on('disconnect', () => stop('the command that started this has ended'));
  // Asked to stop while it was opening: it never does.
  if (heard.stop) process.exit(0);

  server.listen(port, host, () => {
    log.info({ address, locked: passphrase !== undefined }, 'serving');
    console.log(`Swathbook is at ${address} (diary in ${dataFolder}). Ctrl-C stops it.`);
    void takeUp(log);
  });
}

/**
 * Where the door keeps what it keeps: sessions and people in the diary, which is opened when first asked; counts and
 * keys with it where several processes may serve it, else in the folder.
 */
function doorStores(dataFolder: string): Pick<FrontOptions, 'facts' | 'sessions' | 'people' | 'tries'> {
  const kept = () => import('../diary/door-sessions');
  const named = () => import('../diary/people');
  const shared = () => import('../diary/door-server');
  const sharedTries = async () =>
    (await shared()).sharedTries({
      freeTries: FREE_TRIES,
      firstWaitMs: FIRST_WAIT_MS,
      longestWaitMs: LONGEST_WAIT_MS,
      forgetMs: FORGET_MS,
      allTries: ALL_TRIES,
    });
  return {
    facts: onPostgresql()
      ? { read: async () => (await shared()).sharedDoorFacts(), raise: async (facts) => facts }
      : doorFactsInFolder(dataFolder),
    sessions: {
      add: async (...given) => (await kept()).addDoorSession(...given),
      has: async (...given) => (await kept()).hasDoorSession(...given),
      end: async (...given) => (await kept()).endDoorSession(...given),
      endAll: async (...given) => (await kept()).endAllDoorSessions(...given),
    },
    people: {
      any: async () => (await named()).hasPeople(),
      ofSession: async (...given) => (await named()).personOfSession(...given),
      byName: async (...given) => (await named()).personByName(...given),
    },
    tries: onPostgresql()
      ? {
          begin: async (address) => (await sharedTries()).begin(address),
          forgive: async (address) => (await sharedTries()).forgive(address),
        }
      : triesInFolder(dataFolder),
  };
}

/**
 * What is heard before the doors are open: from the process that started this one, which still clears away what a stop
 * left, or a signal.
 */
const heard: { stop: boolean } = { stop: false };
/** Listened for from the beginning, since the word may come before Next is ready. */
const told =
  process.env['SWATHBOOK_OPENS'] === 'told'
    ? new Promise<void>((resolve) => {
        const stopped = (): void => {
          heard.stop = true;
          resolve();
        };
        process.once('message', () => resolve());
        process.once('disconnect', stopped);
        for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, stopped);
        if (!process.connected) stopped();
      })
    : null;

/** What a stop cut short is taken up behind the open doors: nobody waits for it. */
async function takeUp(log: Log): Promise<void> {
  try {
    const { resumeMeasuring } = await import('../work/photos/resume-measuring');
    const photos = await resumeMeasuring();
    if (photos > 0) log.info({ photos }, 'read photos that were waiting');
  } catch (error) {
    log.error({ trouble: error instanceof Error ? error.stack : String(error) }, 'taking up what waited');
  }
}

/** Fewer where this process may open only a few files: some are needed for the diary itself. */
function mostConnections(): number {
  try {
    const files = Number(/^Max open files\s+(\d+)/m.exec(readFileSync('/proc/self/limits', 'utf8'))?.[1] ?? Infinity);
    return Math.max(20, Math.min(MOST_CONNECTIONS, Math.floor((files - 120) * 0.8)));
  } catch {
    return MOST_CONNECTIONS;
  }
}

/** Closes what one address opens beyond its share. */
function limitEachAddress(server: ReturnType<typeof createServer>, most: number): void {
  const open = new Map<string, number>();
  server.on('connection', (socket: Socket) => {
    const address = socket.remoteAddress ?? '';
    const count = (open.get(address) ?? 0) + 1;
    open.set(address, count);
    socket.once('close', () => {
      const left = (open.get(address) ?? 1) - 1;
      if (left === 0) open.delete(address);
      else open.set(address, left);
    });
    if (count > most) socket.destroy();
  });
}

/** No page or route speaks anything but HTTP: who asks for more hears so, and the connection ends. */
function refuseUpgrade(socket: Duplex): void {
  const body = JSON.stringify({
    ok: false,
    message: 'Expected a plain HTTP request, got one that asks for another protocol.',
  });
  socket.on('error', () => socket.destroy());
  socket.end(
    `HTTP/1.1 400 Bad Request\r\ncontent-type: application/json\r\ncontent-length: ${Buffer.byteLength(body)}\r\nconnection: close\r\n\r\n${body}`,
    () => socket.destroy(),
  );
}
