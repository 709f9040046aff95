import 'server-only';
/** What can be wrong with a database server, in one sentence without the address's password. */
const SENTENCES: Readonly<Record<string, string>> = {
  DatabaseNotReachable:
    'expected the database server of SWATHBOOK_DATABASE to answer, got no connection: start it, or look at the address.',
  AuthenticationFailed: 'expected SWATHBOOK_DATABASE with the right name and password, got ones the server refuses.',
  DatabaseAccessDenied:
    'expected SWATHBOOK_DATABASE with a user who may open that database, got one the server refuses.',
  DatabaseDoesNotExist:
    'expected the database that SWATHBOOK_DATABASE names, got a server without it: make it with createdb.',
  TooManyConnections:
    'expected a free connection to the database server, got none: raise its max_connections or run fewer processes.',
  ConnectionClosed: 'expected the database server to stay, got a closed connection.',
  SocketTimeout: 'expected the database server to answer in time, got silence.',
  TlsConnectionError:
    'expected an encrypted connection to the database server, got a refusal: look at sslmode in SWATHBOOK_DATABASE.',
};

/** Prisma's own numbers for the same, and what the socket says. */
const BY_CODE: Readonly<Record<string, string>> = {
  P1000: 'AuthenticationFailed',
  P1001: 'DatabaseNotReachable',
  P1002: 'SocketTimeout',
  P1003: 'DatabaseDoesNotExist',
  P1008: 'SocketTimeout',
  P1010: 'DatabaseAccessDenied',
  P1011: 'TlsConnectionError',
  P1017: 'ConnectionClosed',
  P2028: 'SocketTimeout',
  P2037: 'TooManyConnections',
  ECONNREFUSED: 'DatabaseNotReachable',
  ECONNRESET: 'ConnectionClosed',
  EPIPE: 'ConnectionClosed',
};

/** What the driver says, without a number, of a connection that broke under a question. */
const BROKEN = /^Connection terminated/;

/** PostgreSQL's states that mean the server is going or not yet there (class 57P) or has no room (53). */
const GOING = /^(57P0[1-3]|53300|08\d{3})$/;

/** One sentence where the server itself is the trouble, else null. */
export function serverTrouble(error: unknown): string | null {
  for (let at: unknown = error, depth = 0; at !== null && typeof at === 'object' && depth < 4; depth++) {
    const { kind, code, originalCode, message, cause, meta } = at as Record<string, unknown> & {
      meta?: { driverAdapterError?: unknown };
    };
    for (const name of [kind, message, BY_CODE[String(code)]])
      if (typeof name === 'string' && Object.hasOwn(SENTENCES, name)) return SENTENCES[name]!;
    if (GOING.test(String(originalCode ?? code)) || (typeof message === 'string' && BROKEN.test(message)))
      return SENTENCES['ConnectionClosed']!;
    at = cause ?? meta?.driverAdapterError ?? null;
  }
  return null;
}
