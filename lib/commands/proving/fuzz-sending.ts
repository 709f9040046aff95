import http from 'node:http';
import { brotliDecompressSync, gunzipSync, inflateSync } from 'node:zlib';
import type { Throw } from './fuzz-requests';

export function send(
  url: string,
  { method, path: target, headers, body }: Throw,
): Promise<{ status: number; text: string; ms: number }> {
  return new Promise((resolve, reject) => {
    const started = performance.now();
    const clean = Object.fromEntries(
      Object.entries(headers).map(([name, value]) => [name, value.replaceAll(/[^\x20-\x7e]/g, '')]),
    );
    const request = http.request(
      url,
      {
        method,
        path: target,
        headers: { ...clean, ...(body ? { 'content-length': body.length } : {}) },
        agent: false,
        timeout: 30_000,
      },
      (response) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () =>
          resolve({
            status: response.statusCode ?? 0,
            text: unpacked(Buffer.concat(chunks), response.headers['content-encoding']),
            ms: performance.now() - started,
          }),
        );
        response.on('error', reject);
      },
    );
    request.on('timeout', () => request.destroy(new Error('no answer within 30 s')));
    request.on('error', reject);
    request.end(body ?? undefined);
  });
}

function unpacked(bytes: Buffer, packing: string | undefined): string {
  if (bytes.length === 0 || packing === undefined) return bytes.toString();
  const unpack = { gzip: gunzipSync, br: brotliDecompressSync, deflate: inflateSync }[packing];
  return unpack === undefined ? bytes.toString() : unpack(bytes).toString();
}

/**
 * What a refusal says: a JSON or plain sentence of ours, a page, or the framework's own words for an action there is
 * not.
 */
export const isSaid = (text: string) => /xpected|No such|not there|unavailable|Invalid Server Action|<html/i.test(text);
