/** What is known of a request before anything of it is read. */
export interface Knock {
  readonly method: string;
  /** The address as it came, path and query, nothing decoded. */
  readonly target: string;
  readonly host: string | undefined;
  readonly origin: string | undefined;
  /** Sec-Fetch-Site, which browsers set and pages can't. */
  readonly fetchSite: string | undefined;
}

export interface DoorState {
  /** Whether a passphrase is asked for. */
  readonly locked: boolean;
  readonly signedIn: boolean;
  /** Files that hold no diary data: those of public/ by their path. */
  readonly isPublicFile: (path: string) => boolean;
}

export type DoorAnswer =
  /** Let through; a shared visitor sees the one page and nothing around it. */
  | { readonly kind: 'pass'; readonly visitor: 'keeper' | 'shared' | 'anyone' }
  /** The door answers itself. */
  | { readonly kind: 'door'; readonly path: '/sign-in' | '/sign-out' | '/sign-out-everywhere' }
  /** A page that needs the passphrase first. */
  | { readonly kind: 'sign-in'; readonly to: string }
  | { readonly kind: 'refuse'; readonly status: 400 | 401 | 403 | 405; readonly sentence: string };

const reading = new Set(['GET', 'HEAD']);
const writing = new Set(['POST', 'PUT', 'PATCH', 'DELETE']);
const doorPaths = ['/sign-in', '/sign-out', '/sign-out-everywhere'] as const;

const refuse = (status: 400 | 401 | 403 | 405, sentence: string): DoorAnswer => ({ kind: 'refuse', status, sentence });

/** Whether an address is this machine's own: 127.0.0.0/8, ::1 or localhost. */
export function isLoopback(address: string): boolean {
  const name = address.replace(/^\[|\]$/g, '').toLowerCase();
  return name === 'localhost' || name === '::1' || /^127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/.test(name);
}

/** The name in a Host header, without its port. */
function hostName(host: string | undefined): string {
  return (host ?? '').replace(/:\d+$/, '');
}

/**
 * A path that means the same to everybody who reads it: no dot segments, doubled or backward slashes, encoded or not.
 * Anything else is refused, so that what is decided here and what is shown later are the same page.
 */
function plainPath(target: string): string | null {
  const path = target.split(/[?#]/, 1)[0] ?? '';
  try {
    decodeURIComponent(path);
  } catch {
    return null; // an escape that stands for nothing
  }
  if (!path.startsWith('/') || path.includes('//') || path.includes('\\') || /%(?:2e|2f|5c|00)/i.test(path))
    return null;
  return path.split('/').some((part) => part === '.' || part === '..') ? null : path;
}

/**
 * Who may do what, in one place; every request is asked about here before it reaches a page, a route or an action.
 * Without a passphrase only this machine may ask, under its own name (a name that only points here may be another
 * site's). With one, a session is needed for all but static files, the health check and shared reports, which can only
 * be read.
 */
export function decide(knock: Knock, state: DoorState): DoorAnswer {
  const { method, target } = knock;
  const path = plainPath(target);
  if (path === null)
    return refuse(
      400,
      'Expected a plain address, got one with dots, doubled slashes or escapes that stand for nothing.',
    );
  if (!reading.has(method) && !writing.has(method))
    return refuse(405, `Expected a method that this diary knows, got ${method}.`);
  if (!state.locked && !isLoopback(hostName(knock.host)))
    return refuse(403, 'Expected to be called by this machine’s own name (localhost or 127.0.0.1), got another one.');
  if (writing.has(method) && isFromElsewhere(knock))
    return refuse(403, 'Expected a change to come from this diary’s own pages, got one from another site.');
  const shared = path === '/shared' || path.startsWith('/shared/');
  // A server action can be called by posting to any page's address, so what is shared takes no posts at all.
  if (shared && !reading.has(method)) return refuse(405, 'Expected a shared page to be read, got a change.');
  const own = doorPaths.find((candidate) => candidate === path);
  if (own !== undefined && (own === '/sign-in' || method === 'POST')) return { kind: 'door', path: own };
  if (shared) return { kind: 'pass', visitor: 'shared' };
  if (!state.locked || state.signedIn) return { kind: 'pass', visitor: 'keeper' };
  if (reading.has(method) && (path === '/api/health' || path.startsWith('/_next/static/') || state.isPublicFile(path)))
    return { kind: 'pass', visitor: 'anyone' };
  if (reading.has(method) && !path.startsWith('/api/') && !path.startsWith('/_next/'))
    return { kind: 'sign-in', to: target };
  return refuse(
    401,
    'Expected you to be signed in, got no session or one that has ended: open this diary in the browser and sign in.',
  );
}

function isFromElsewhere({ fetchSite, origin, host }: Knock): boolean {
  if (fetchSite !== undefined) return fetchSite !== 'same-origin' && fetchSite !== 'none';
  if (origin === undefined) return false; // no browser: those send one of the two with every change
  return !URL.canParse(origin) || new URL(origin).host !== host;
}
