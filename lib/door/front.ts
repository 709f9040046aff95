import { randomBytes } from 'node:crypto';
import type { IncomingMessage, ServerResponse } from 'node:http';
import { Attempts } from './attempts';
import { decide } from './decide';
import { readDoorFile, writeDoorFile, type DoorFile } from './door-file';
import { securityHeaders } from './headers';
import { cookieNamed, deriveKeys, isSession, makeSession, samePassphrase, SESSION_MS, type DoorKeys } from './session';
import { signInPage } from './sign-in-page';

export interface FrontOptions {
  /** Shows the page, route or action: all of the app. */
  readonly handle: (request: IncomingMessage, response: ServerResponse) => Promise<void>;
  readonly dataFolder: string;
  /** Undefined leaves the door open, for this machine alone. */
  readonly passphrase: string | undefined;
  /** Behind TLS: cookies for it only. */
  readonly https: boolean;
  readonly isPublicFile: (path: string) => boolean;
  readonly css: string;
  readonly onAnswer: (line: AnswerLine) => void;
}

/** What is noted of an answer: no names, no addresses, no queries; identifiers are left out of paths. */
export interface AnswerLine {
  readonly method: string;
  readonly path: string;
  readonly status: number;
  readonly ms: number;
  readonly refused?: string;
}

const MAX_SIGN_IN_BYTES = 4096;

/** A path as the log keeps it: `/photos/:id`, `/shared/:token`. */
export function pathPattern(target: string): string {
  const path = target.split(/[?#]/, 1)[0] ?? '';
  if (path.startsWith('/_next/static/')) return '/_next/static/…';
  if (path.startsWith('/shared/')) return path.replace(/^\/shared\/[^/]*/, '/shared/:token').replaceAll(/\/[a-z0-9]{16,}(?=\/|$)/g, '/:id');
  return path.replaceAll(/\/[a-z0-9]{16,}(?=\/|$)/g, '/:id').slice(0, 120);
}

/** Where to go after signing in: only a place in this diary. */
function placeHere(to: string | null): string {
  return to !== null && /^\/(?![/\\])[\x21-\x7e]*$/.test(to) && !to.startsWith('/sign-') ? to : '/';
}

/** The front of the server: asks the door about each request, sets what every answer carries, and hands the rest to the pages. */
export async function createFront(options: FrontOptions): Promise<(request: IncomingMessage, response: ServerResponse) => Promise<void>> {
  const attempts = new Attempts();
  const cookieName = options.https ? '__Host-swathbook' : 'swathbook';
  let file: DoorFile | null = null;
  let keys: DoorKeys | null = null;
  let turn: Promise<unknown> = Promise.resolve();
  if (options.passphrase !== undefined) {
    file = readDoorFile(options.dataFolder);
    keys = await deriveKeys(options.passphrase, file.salt);
  }

  const cookie = (value: string, seconds: number) =>
    `${cookieName}=${value}; Path=/; Max-Age=${seconds}; HttpOnly; SameSite=Lax${options.https ? '; Secure' : ''}`;

  async function answerDoor(path: string, request: IncomingMessage, response: ServerResponse, nonce: string, signedIn: boolean): Promise<void> {
    const send = (status: number, body: string, headers: Record<string, string> = {}) => {
      response.writeHead(status, { 'content-type': 'text/html; charset=utf-8', 'cache-control': 'no-store', ...headers });
      response.end(request.method === 'HEAD' ? undefined : body);
    };
    const page = (status: number, sentence: string | null, to: string, headers: Record<string, string> = {}) =>
      send(status, signInPage({ css: options.css, nonce, to, sentence }), headers);
    if (keys === null || file === null) return send(303, '', { location: '/' });
    if (path === '/sign-out' || path === '/sign-out-everywhere') {
      if (path === '/sign-out-everywhere' && signedIn) {
        file = { ...file, epoch: file.epoch + 1 };
        writeDoorFile(options.dataFolder, file);
      }
      return send(303, '', { location: '/sign-in', 'set-cookie': cookie('', 0), 'clear-site-data': '"cache"' });
    }
    if (request.method !== 'POST') {
      const to = placeHere(new URL(request.url ?? '/', 'http://here').searchParams.get('to'));
      return signedIn ? send(303, '', { location: to }) : page(200, null, to);
    }
    const address = request.socket.remoteAddress ?? '';
    const body = await readSmall(request);
    if (body === null) return page(400, `Expected a passphrase of at most ${MAX_SIGN_IN_BYTES / 4} characters, got more.`, '/');
    const form = new URLSearchParams(body);
    const to = placeHere(form.get('to'));
    const wait = attempts.waitMs(address, Date.now());
    if (wait > 0) {
      const seconds = Math.ceil(wait / 1000);
      return page(429, `Expected a pause after so many wrong entries, got another try: wait ${seconds} s.`, to, { 'retry-after': String(seconds) });
    }
    attempts.count(address, Date.now());
    // One at a time: each takes 64 MB, and many may ask at once.
    const { salt } = file;
    const trying = turn.then(() => deriveKeys(form.get('passphrase') ?? '', salt));
    turn = trying.catch(() => undefined);
    const tried = await trying;
    if (!samePassphrase(tried, keys)) return page(401, 'Expected this diary’s passphrase, got another one.', to);
    attempts.forgive(address);
    return send(303, '', { location: to, 'set-cookie': cookie(makeSession(keys, file.epoch, Date.now()), SESSION_MS / 1000) });
  }

  return async (request, response) => {
    const started = performance.now();
    const nonce = randomBytes(16).toString('base64url');
    let refused: string | undefined;
    response.once('close', () =>
      options.onAnswer({
        method: request.method ?? '',
        path: pathPattern(request.url ?? ''),
        status: response.statusCode,
        ms: Math.round(performance.now() - started),
        ...(refused === undefined ? {} : { refused }),
      }),
    );
    for (const [name, value] of Object.entries(securityHeaders(nonce, options.https))) response.setHeader(name, value);
    const session = cookieNamed(request.headers.cookie, cookieName);
    const signedIn = keys !== null && file !== null && session !== undefined && isSession(keys, file.epoch, session, Date.now());
    const verdict = decide(
      {
        method: request.method ?? '',
        target: request.url ?? '',
        host: request.headers.host,
        origin: request.headers.origin,
        fetchSite: request.headers['sec-fetch-site'] as string | undefined,
      },
      { locked: keys !== null, signedIn, isPublicFile: options.isPublicFile },
    );
    if (verdict.kind === 'door') return answerDoor(verdict.path, request, response, nonce, signedIn);
    if (verdict.kind === 'sign-in') {
      response.writeHead(303, { location: `/sign-in?to=${encodeURIComponent(verdict.to)}`, 'cache-control': 'no-store' });
      response.end();
      return;
    }
    if (verdict.kind === 'refuse') {
      refused = verdict.sentence;
      request.resume(); // what is still being sent is let run out, so that the answer arrives
      response.writeHead(verdict.status, { 'content-type': 'application/json', 'cache-control': 'no-store' });
      response.end(JSON.stringify({ ok: false, message: verdict.sentence }));
      return;
    }
    // What the pages may know of the visitor; whatever a sender wrote there is overwritten.
    request.headers['x-swathbook-visitor'] = verdict.visitor;
    request.headers['x-swathbook-door'] = keys === null ? 'open' : 'locked';
    // Next reads the nonce for its inline scripts from the policy in the request's headers.
    request.headers['content-security-policy'] = response.getHeader('content-security-policy') as string;
    await options.handle(request, response);
  };
}

async function readSmall(request: IncomingMessage): Promise<string | null> {
  const chunks: Buffer[] = [];
  let bytes = 0;
  for await (const chunk of request) {
    bytes += (chunk as Buffer).length;
    if (bytes > MAX_SIGN_IN_BYTES) return null;
    chunks.push(chunk as Buffer);
  }
  return Buffer.concat(chunks).toString('utf8');
}
