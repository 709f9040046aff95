import { createHmac, randomBytes } from 'node:crypto';
import type { IncomingMessage, ServerResponse } from 'node:http';
import { duringVisit, expectVisits, type SignedInPerson, type Visit, type Who } from '../visit';
import { answerInstead } from './answer-instead';
import type { Tries } from './attempts';
import { decide } from './decide';
import type { DoorFile } from './door-file';
import { securityHeaders } from './headers';
import {
  cookieNamed,
  deriveKeys,
  isPassphrase,
  isPersonSession,
  isSession,
  makePersonSession,
  makeSession,
  samePassphrase,
  SESSION_MS,
  sessionHash,
  type DoorKeys,
} from './session';
import { signInPage } from './sign-in-page';

/** Where sessions are kept on the server's side. */
export interface SessionStore {
  readonly add: (hash: string, now: Date, endsAt: Date, personId: string | null) => Promise<void>;
  /** Of somebody who signed in without a name. */
  readonly has: (hash: string, now: Date) => Promise<boolean>;
  readonly end: (hash: string) => Promise<void>;
  /** Every session, or every one of a person. */
  readonly endAll: (personId?: string) => Promise<void>;
}

/** Who has a name in this diary. */
export interface PeopleStore {
  readonly any: () => Promise<boolean>;
  readonly ofSession: (hash: string, now: Date) => Promise<SignedInPerson | null>;
  readonly byName: (name: string) => Promise<{
    readonly person: SignedInPerson;
    readonly key: { readonly salt: string; readonly check: string } | null;
  } | null>;
}

/** A proxy that says who somebody is, by a header. */
export interface NamingProxy {
  /** In lower case. */
  readonly header: string;
  /** Addresses the proxy calls from; the header means nothing from any other. */
  readonly addresses: readonly string[];
}

export interface FrontOptions {
  /** Shows the page, route or action: all of the app. */
  readonly handle: (request: IncomingMessage, response: ServerResponse) => Promise<void>;
  /** Undefined leaves the door open, for this machine alone, as long as nobody has a name. */
  readonly passphrase: string | undefined;
  /** What the passphrase's keys are made with; asked for only with one. `raise` ends every session made so far. */
  readonly facts: { readonly read: () => Promise<DoorFile>; readonly raise: (facts: DoorFile) => Promise<DoorFile> };
  readonly sessions: SessionStore;
  readonly people: PeopleStore;
  readonly proxy: NamingProxy | null;
  readonly tries: Tries;
  /** Whether the pages could read this router state, which their own scripts send along. */
  readonly isRouterState: (header: string) => boolean;
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
const MB = 1_000_000;
/** How large a body may be, by the path it goes to: photos and loggers' files, and the forms of pages. */
const bodyLimit = (path: string): number =>
  path === '/sign-in' ? MAX_SIGN_IN_BYTES : path === '/api/photos' || path === '/api/weather/files' ? 100 * MB : MB;
/** What of a refused body is still read, so that the sender hears why; a longer one is cut off. */
const MAX_DRAIN_BYTES = 1000 * MB;
const MAX_DRAIN_MS = 60_000;

/** A path as the log keeps it: `/photos/:id`, `/shared/:token`. */
export function pathPattern(target: string): string {
  const path = target.split(/[?#]/, 1)[0] ?? '';
  if (path.startsWith('/_next/static/')) return '/_next/static/…';
  if (path.startsWith('/shared/'))
    return path.replace(/^\/shared\/[^/]*/, '/shared/:token').replaceAll(/\/[a-z0-9]{16,}(?=\/|$)/g, '/:id');
  return path.replaceAll(/\/[a-z0-9]{16,}(?=\/|$)/g, '/:id').slice(0, 120);
}

/** Where to go after signing in: only a place in this diary. */
function placeHere(to: string | null): string {
  return to !== null && /^\/(?![/\\])[\x21-\x7e]*$/.test(to) && !to.startsWith('/sign-') ? to : '/';
}

/**
 * The front of the server: asks the door about each request, sets what every answer carries, and hands the rest to the
 * pages.
 */
export async function createFront(
  options: FrontOptions,
): Promise<(request: IncomingMessage, response: ServerResponse) => Promise<void>> {
  const cookieName = options.https ? '__Host-swathbook' : 'swathbook';
  let file: DoorFile | null = null;
  let keys: DoorKeys | null = null;
  const { sessions, people, tries, proxy } = options;
  let turn: Promise<unknown> = Promise.resolve();
  expectVisits();
  if (options.passphrase !== undefined) {
    file = await options.facts.read();
    keys = await deriveKeys(options.passphrase, file.salt);
  }
  const addressKey = file?.salt ?? randomBytes(16);

  // The last who keeps the diary can't be put away: once there are people, there are.
  let arePeople = false;
  const byName = async (): Promise<boolean> => (arePeople ||= await people.any());

  /** One try at a time: each takes 64 MB, and many may ask at once. */
  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const trying = turn.then(work);
    turn = trying.catch(() => undefined);
    return trying;
  }

  /** The name a trusted proxy gave; undefined where none did. */
  function namedBy(request: IncomingMessage): string | undefined {
    const said = proxy === null ? undefined : request.headers[proxy.header];
    const from = (request.socket.remoteAddress ?? '').replace(/^::ffff:/, '');
    return typeof said !== 'string' || said === '' || !proxy!.addresses.includes(from)
      ? undefined
      : Buffer.from(said, 'latin1').toString('utf8').slice(0, 200);
  }

  interface Known {
    readonly who: Who;
    /** What is to be ended by signing out; null: nobody is signed in, or a proxy says who it is. */
    readonly session: string | null;
    readonly signedIn: boolean;
    readonly locked: boolean;
    readonly unknownName?: string;
    /** The diary could not be asked. */
    readonly trouble?: string;
  }

  /** Who asks, as far as the door can tell. */
  async function known(request: IncomingMessage): Promise<Known> {
    const cookieValue = cookieNamed(request.headers.cookie, cookieName);
    const nobody: Known = { who: { kind: 'nothing' }, session: null, signedIn: false, locked: true };
    if (await byName()) {
      const name = namedBy(request);
      if (name !== undefined) {
        const found = await people.byName(name);
        return found === null
          ? { ...nobody, unknownName: name }
          : { who: found.person, session: null, signedIn: true, locked: true };
      }
      const person =
        cookieValue !== undefined && isPersonSession(cookieValue)
          ? await people.ofSession(sessionHash(cookieValue), new Date())
          : null;
      return person === null ? nobody : { who: person, session: cookieValue ?? null, signedIn: true, locked: true };
    }
    if (keys === null || file === null)
      return { who: { kind: 'everything' }, session: null, signedIn: false, locked: false };
    const isOurs =
      cookieValue !== undefined &&
      isSession(keys, file.epoch, cookieValue, Date.now()) &&
      (await sessions.has(sessionHash(cookieValue), new Date()));
    return isOurs ? { who: { kind: 'everything' }, session: cookieValue, signedIn: true, locked: true } : nobody;
  }

  const cookie = (value: string, seconds: number) =>
    `${cookieName}=${value}; Path=/; Max-Age=${seconds}; HttpOnly; SameSite=Lax${options.https ? '; Secure' : ''}`;

  async function answerDoor(
    path: string,
    request: IncomingMessage,
    response: ServerResponse,
    nonce: string,
    { who, session, signedIn, locked }: Known,
  ): Promise<void> {
    const named = await byName();
    const send = (status: number, body: string, headers: Record<string, string> = {}) => {
      response.writeHead(status, {
        'content-type': 'text/html; charset=utf-8',
        'cache-control': 'no-store',
        ...headers,
      });
      response.end(request.method === 'HEAD' ? undefined : body);
    };
    const page = (
      status: number,
      sentence: string | null,
      to: string,
      headers: Record<string, string> = {},
      name = '',
    ) => send(status, signInPage({ css: options.css, nonce, to, sentence, byName: named, name }), headers);
    if (!locked) return send(303, '', { location: '/' });
    if (path === '/sign-out' || path === '/sign-out-everywhere') {
      if (path === '/sign-out-everywhere' && signedIn && who.kind === 'person') await sessions.endAll(who.id);
      else if (path === '/sign-out-everywhere' && session !== null && file !== null) {
        file = await options.facts.raise(file);
        await sessions.endAll();
      } else if (session !== null) await sessions.end(sessionHash(session));
      return send(303, '', { location: '/sign-in', 'set-cookie': cookie('', 0), 'clear-site-data': '"cache"' });
    }
    if (request.method !== 'POST') {
      const to = placeHere(new URL(request.url ?? '/', 'http://here').searchParams.get('to'));
      return signedIn ? send(303, '', { location: to }) : page(200, null, to);
    }
    const address = createHmac('sha256', addressKey)
      .update(request.socket.remoteAddress ?? '')
      .digest('base64url');
    const body = await readSmall(request);
    if (body === null)
      return page(400, `Expected a passphrase of at most ${MAX_SIGN_IN_BYTES / 4} characters, got more.`, '/');
    const form = new URLSearchParams(body);
    const to = placeHere(form.get('to'));
    const name = named ? (form.get('username') ?? '').slice(0, 200) : '';
    const wait = await tries.begin(address);
    if (wait > 0) {
      const seconds = Math.ceil(wait / 1000);
      return page(
        429,
        `Expected a pause after so many wrong entries, got another try: wait ${seconds} s.`,
        to,
        { 'retry-after': String(seconds) },
        name,
      );
    }
    const entry = form.get('passphrase') ?? '';
    const now = Date.now();
    if (named) {
      const found = await people.byName(name);
      if (!(await inTurn(() => isPassphrase(entry, found?.key ?? null))) || found === null)
        return page(401, 'Expected a name and the passphrase that goes with it, got others.', to, {}, name);
      await tries.forgive(address);
      const made = makePersonSession();
      await sessions.add(sessionHash(made), new Date(now), new Date(now + SESSION_MS), found.person.id);
      return send(303, '', { location: to, 'set-cookie': cookie(made, SESSION_MS / 1000) });
    }
    if (keys === null || file === null) return send(303, '', { location: '/' });
    const { salt, epoch } = file;
    if (!samePassphrase(await inTurn(() => deriveKeys(entry, salt)), keys))
      return page(401, 'Expected this diary’s passphrase, got another one.', to);
    await tries.forgive(address);
    const made = makeSession(keys, epoch, now);
    await sessions.add(sessionHash(made), new Date(now), new Date(now + SESSION_MS), null);
    return send(303, '', { location: to, 'set-cookie': cookie(made, SESSION_MS / 1000) });
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
    const asker = await known(request).catch((error: unknown): Known => {
      if (!isTrouble(error)) throw error;
      return { who: { kind: 'nothing' }, session: null, signedIn: false, locked: true, trouble: error.message };
    });
    const refuse = (status: number, sentence: string) => {
      refused = sentence;
      const body = JSON.stringify({ ok: false, message: sentence });
      response.writeHead(status, {
        'content-type': 'application/json',
        'cache-control': 'no-store',
        'content-length': Buffer.byteLength(body),
      });
      // All of the answer goes out at once; its end may close the connection, so it waits for what is still being sent.
      if (request.method !== 'HEAD') response.write(body);
      void drained(request).then(() => response.end());
    };
    const path = (request.url ?? '').split(/[?#]/, 1)[0] ?? '';
    const [limit, coming] = [bodyLimit(path), Number(request.headers['content-length'] ?? 0)];
    const verdict = decide(
      {
        method: request.method ?? '',
        target: request.url ?? '',
        host: request.headers.host,
        origin: request.headers.origin,
        fetchSite: request.headers['sec-fetch-site'] as string | undefined,
      },
      { locked: asker.locked, signedIn: asker.signedIn, isPublicFile: options.isPublicFile },
    );
    const isShut = verdict.kind === 'sign-in' || (verdict.kind === 'refuse' && verdict.status === 401);
    if (asker.trouble !== undefined && (isShut || verdict.kind === 'door')) return refuse(503, asker.trouble);
    if (asker.unknownName !== undefined && isShut) {
      return refuse(
        403,
        `Expected a person of this diary, got '${asker.unknownName}' from the proxy in front: ask whoever keeps the diary to add you.`,
      );
    }
    if (verdict.kind === 'refuse') return refuse(verdict.status, verdict.sentence);
    if (coming > limit)
      return refuse(
        413,
        `Expected at most ${limit < MB ? `${limit} bytes` : `${limit / MB} MB`} here, got ${coming < MB ? `${coming} bytes` : `${Math.ceil(coming / MB)} MB`}.`,
      );
    if (verdict.kind === 'door') return answerDoor(verdict.path, request, response, nonce, asker);
    if (verdict.kind === 'sign-in') {
      response.writeHead(303, {
        location: `/sign-in?to=${encodeURIComponent(verdict.to)}`,
        'cache-control': 'no-store',
      });
      response.end();
      return;
    }
    const routerState = request.headers['next-router-state-tree'];
    if (routerState !== undefined && !options.isRouterState(String(routerState)))
      return refuse(
        400,
        'Expected the state of a page of this diary in the header next-router-state-tree, got something else.',
      );
    // Only a proxy in front, which TLS means, has a say in where this diary is called from.
    for (const name of [
      'x-action-forwarded',
      'x-middleware-subrequest',
      ...(options.https ? [] : ['x-forwarded-host', 'x-forwarded-proto', 'x-forwarded-port', 'forwarded']),
    ])
      delete request.headers[name];
    // What the pages may know of the visitor; whatever a sender wrote there is overwritten.
    request.headers['x-swathbook-visitor'] = verdict.visitor;
    request.headers['x-swathbook-door'] = asker.locked ? 'locked' : 'open';
    // Next reads the nonce for its inline scripts from the policy in the request's headers.
    request.headers['content-security-policy'] = response.getHeader('content-security-policy') as string;
    const visit: Visit = {
      began: false,
      refusal: null,
      who: verdict.visitor === 'keeper' ? asker.who : { kind: 'nothing' },
    };
    const isForm = request.method === 'POST' && !path.startsWith('/api/');
    answerInstead(response, (status) => {
      // Next answers some refusals of its own without a word.
      const wordless =
        status === 405
          ? `Expected a method that this address knows, got ${request.method}.`
          : status >= 400 && status < 500 && path.startsWith('/_next/')
            ? 'Expected a file of these pages, got an address that is none.'
            : isForm && !visit.began && (status === 400 || status === 404)
              ? 'Expected an action that this version of the diary has, got another: load the page anew.'
              : null;
      if (wordless !== null)
        return {
          status,
          type: isForm ? 'text/plain; charset=utf-8' : 'application/json',
          body: isForm ? wordless : JSON.stringify({ ok: false, message: wordless }),
        };
      // Other statuses above (507: the disk is full) are the pages' own answers, with their sentence.
      if (status !== 500) return null;
      const blame =
        visit.refusal ??
        (isForm && !visit.began
          ? { status: 400, sentence: 'Expected a form of this diary’s pages, got a body that is none.' }
          : null);
      if (blame === null && path.startsWith('/api/')) {
        return {
          status,
          type: 'application/json',
          body: JSON.stringify({
            ok: false,
            message: 'Something went wrong here that was not expected; the log says more.',
          }),
        };
      }
      if (blame === null) return null;
      refused = blame.sentence;
      return {
        status: blame.status,
        type: path.startsWith('/api/') ? 'application/json' : 'text/plain; charset=utf-8',
        body: path.startsWith('/api/') ? JSON.stringify({ ok: false, message: blame.sentence }) : blame.sentence,
      };
    });
    await duringVisit(visit, () => options.handle(request, response));
  };
}

/** Whether the diary can't be asked just now, which it says in a sentence of its own. */
const isTrouble = (error: unknown): error is Error =>
  error instanceof Error && 'digest' in error && typeof error.digest === 'string';

/** Lets what is still being sent run out, so that the answer arrives; but not for ever. */
function drained(request: IncomingMessage): Promise<void> {
  return new Promise((resolve) => {
    let bytes = 0;
    const giveUp = () => request.socket.destroy();
    const timer = setTimeout(giveUp, MAX_DRAIN_MS).unref();
    const over = () => (clearTimeout(timer), resolve());
    request.on('data', (chunk: Buffer) => {
      bytes += chunk.length;
      if (bytes > MAX_DRAIN_BYTES) giveUp();
    });
    for (const event of ['end', 'close', 'error'] as const) request.once(event, over);
  });
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
