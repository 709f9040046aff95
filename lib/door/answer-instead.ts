import type { ServerResponse } from 'node:http';

type Anything = (...given: never[]) => unknown;
type WriteHead = (status: number) => unknown;
type End = (body: string) => unknown;

/**
 * Looks at an answer at the moment its head would go out, and may put another in its place.
 * @param instead given the status that is about to be sent, another answer, or null to let it pass
 */
export function answerInstead(
  response: ServerResponse,
  instead: (status: number) => { readonly status: number; readonly type: string; readonly body: string } | null,
): void {
  const original = {
    writeHead: response.writeHead.bind(response) as Anything,
    write: response.write.bind(response) as Anything,
    end: response.end.bind(response) as Anything,
    flushHeaders: response.flushHeaders.bind(response) as Anything,
  };
  let state: 'open' | 'passing' | 'replaced' = 'open';
  function look(status: number): void {
    if (state !== 'open') return;
    const other = response.headersSent ? null : instead(status);
    state = other === null ? 'passing' : 'replaced';
    if (other === null) return;
    for (const name of [
      'content-encoding',
      'content-length',
      'transfer-encoding',
      'etag',
      'location',
      'x-nextjs-cache',
      'vary',
    ])
      response.removeHeader(name);
    response.setHeader('content-type', other.type);
    response.setHeader('cache-control', 'no-store');
    response.setHeader('content-length', Buffer.byteLength(other.body));
    (original.writeHead as unknown as WriteHead)(other.status);
    (original.end as unknown as End)(other.body);
  }
  const calledBack = (given: readonly unknown[]) => {
    const callback = given.find((value) => typeof value === 'function') as (() => void) | undefined;
    if (callback) process.nextTick(callback);
  };
  response.writeHead = ((...given: never[]) => {
    look(given[0] as unknown as number);
    if (state !== 'replaced') original.writeHead(...given);
    return response;
  }) as typeof response.writeHead;
  response.write = ((...given: never[]) => {
    look(response.statusCode);
    if (state !== 'replaced') return original.write(...given) as boolean;
    calledBack(given);
    return true;
  }) as typeof response.write;
  response.end = ((...given: never[]) => {
    look(response.statusCode);
    if (state !== 'replaced') original.end(...given);
    else calledBack(given);
    return response;
  }) as typeof response.end;
  response.flushHeaders = () => {
    look(response.statusCode);
    if (state !== 'replaced') original.flushHeaders();
  };
}
