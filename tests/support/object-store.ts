import { createHash, createHmac } from 'node:crypto';
import { createServer, type IncomingMessage, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';

const sha256 = (bytes: string | Buffer) => createHash('sha256').update(bytes).digest('hex');
const hmac = (key: string | Buffer, text: string) => createHmac('sha256', key).update(text).digest();

export interface SignedRequest {
  readonly method: string;
  readonly path: string;
  readonly query: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly signedHeaders: readonly string[];
  readonly region: string;
}

/**
 * The signature a request must carry, by the steps of "Authenticating Requests (AWS Signature Version 4)" in the Amazon
 * S3 API reference: canonical request, string to sign, derived key.
 */
export function signatureOf(
  { method, path, query, headers, signedHeaders, region }: SignedRequest,
  secret: string,
): string {
  const date = headers['x-amz-date']!;
  const canonicalQuery =
    query === ''
      ? ''
      : query
          .split('&')
          .map((pair) => (pair.includes('=') ? pair : `${pair}=`))
          .sort()
          .join('&');
  const canonical = [
    method,
    path,
    canonicalQuery,
    ...signedHeaders.map((name) => `${name}:${headers[name]!.trim()}`),
    '',
    signedHeaders.join(';'),
    headers['x-amz-content-sha256'],
  ].join('\n');
  const scope = `${date.slice(0, 8)}/${region}/s3/aws4_request`;
  const key = ['s3', 'aws4_request'].reduce<Buffer>(
    (from, part) => hmac(from, part),
    hmac(hmac(`AWS4${secret}`, date.slice(0, 8)), region),
  );
  return hmac(key, ['AWS4-HMAC-SHA256', date, scope, sha256(canonical)].join('\n')).toString('hex');
}

export interface ObjectStore {
  readonly endpoint: string;
  readonly objects: Map<string, Buffer>;
  /** While true every request ends in a broken connection. */
  silent: boolean;
  /** While true it takes nothing. */
  full: boolean;
  /** While true parts of a file are taken and lost. */
  forgetsParts: boolean;
  close(): Promise<void>;
}

/**
 * One bucket in memory behind the part of S3's language that is used here. It checks signatures and the hash of what it
 * is given.
 */
export async function startObjectStore({
  bucket,
  accessKeyId,
  secret,
  region,
}: {
  bucket: string;
  accessKeyId: string;
  secret: string;
  region: string;
}): Promise<ObjectStore> {
  const objects = new Map<string, Buffer>();
  const uploads = new Map<string, Map<number, { tag: string; body: Buffer }>>();
  const state = { silent: false, full: false, forgetsParts: false };
  const server: Server = createServer((request, response) => {
    void (async () => {
      if (state.silent) return void request.socket.destroy();
      const body = await bodyOf(request);
      const [path = '', query = ''] = request.url!.split('?');
      const refuse = (status: number, code: string) =>
        response
          .writeHead(status, { 'content-type': 'application/xml' })
          .end(request.method === 'HEAD' ? '' : `<Error><Code>${code}</Code></Error>`);
      const said =
        /Credential=([^/]+)\/\d{8}\/([^/]+)\/s3\/aws4_request, ?SignedHeaders=([^,]+), ?Signature=([0-9a-f]{64})/.exec(
          request.headers.authorization ?? '',
        );
      if (said === null || said[1] !== accessKeyId) return void refuse(403, 'InvalidAccessKeyId');
      const headers = Object.fromEntries(Object.entries(request.headers).map(([name, value]) => [name, String(value)]));
      if (
        signatureOf(
          { method: request.method!, path, query, headers, signedHeaders: said[3]!.split(';'), region },
          secret,
        ) !== said[4]
      )
        return void refuse(403, 'SignatureDoesNotMatch');
      const promised = headers['x-amz-content-sha256'];
      if (request.method === 'PUT' && promised !== 'UNSIGNED-PAYLOAD' && promised !== sha256(body))
        return void refuse(400, 'XAmzContentSHA256Mismatch');
      const [, named, ...rest] = decodeURIComponent(path).split('/');
      if (named !== bucket) return void refuse(404, 'NoSuchBucket');
      const key = rest.join('/');
      if (key === '') return void response.end(listed(objects, new URLSearchParams(query)));
      if (state.full && request.method === 'PUT') return void refuse(400, 'QuotaExceeded');
      const asked = new URLSearchParams(query);
      const upload = uploads.get(asked.get('uploadId') ?? '');
      if (asked.has('uploadId') && upload === undefined) return void refuse(404, 'NoSuchUpload');
      if (request.method === 'POST' && asked.has('uploads')) {
        const id = `upload-${uploads.size + 1}`;
        uploads.set(id, new Map());
        return void response.end(`<R><UploadId>${id}</UploadId></R>`);
      }
      if (request.method === 'PUT' && upload !== undefined) {
        const tag = `"${sha256(body).slice(0, 32)}"`;
        if (!state.forgetsParts) upload.set(Number(asked.get('partNumber')), { tag, body });
        return void response.writeHead(200, { etag: tag }).end();
      }
      if (request.method === 'POST' && upload !== undefined) {
        const parts = [...body.toString().matchAll(/<PartNumber>(\d+)<\/PartNumber><ETag>([^<]+)<\/ETag>/g)].map(
          ([, number, tag]) => ({ part: upload.get(Number(number)), tag }),
        );
        if (parts.length === 0 || parts.some(({ part, tag }) => part?.tag !== tag))
          return void response.end('<Error><Code>InvalidPart</Code></Error>');
        objects.set(key, Buffer.concat(parts.map(({ part }) => part!.body)));
        uploads.delete(asked.get('uploadId')!);
        return void response.end('<CompleteMultipartUploadResult/>');
      }
      if (request.method === 'DELETE' && upload !== undefined)
        return void (uploads.delete(asked.get('uploadId')!), response.writeHead(204).end());
      if (request.method === 'PUT') return void (objects.set(key, body), response.end());
      if (request.method === 'DELETE') return void (objects.delete(key), response.writeHead(204).end());
      const found = objects.get(key);
      if (found === undefined) return void refuse(404, 'NoSuchKey');
      const [, from, to] = /^bytes=(\d+)-(\d+)$/.exec(request.headers.range ?? '') ?? [];
      if (from !== undefined) return void response.writeHead(206).end(found.subarray(Number(from), Number(to) + 1));
      response.writeHead(200, { 'content-length': found.length }).end(request.method === 'HEAD' ? undefined : found);
    })();
  });
  await new Promise<void>((go) => server.listen(0, '127.0.0.1', go));
  return Object.assign(state, {
    endpoint: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    objects,
    close: () =>
      new Promise<void>((go) => {
        server.closeAllConnections();
        server.close(() => go());
      }),
  });
}

async function bodyOf(request: IncomingMessage): Promise<Buffer> {
  const chunks: Buffer[] = [];
  for await (const chunk of request) chunks.push(chunk as Buffer);
  return Buffer.concat(chunks);
}

/** Two keys a page, so that whoever lists has to go on. */
const PAGE = 2;

function listed(objects: Map<string, Buffer>, query: URLSearchParams): string {
  const keys = [...objects.keys()].filter((key) => key.startsWith(query.get('prefix') ?? '')).sort();
  const from = Number(query.get('continuation-token') ?? 0);
  const page = keys.slice(from, from + PAGE);
  const more = from + PAGE < keys.length ? `<NextContinuationToken>${from + PAGE}</NextContinuationToken>` : '';
  return `<ListBucketResult>${page
    .map(
      (key) =>
        `<Contents><Key>${key}</Key><LastModified>${new Date().toISOString()}</LastModified><Size>${objects.get(key)!.length}</Size></Contents>`,
    )
    .join('')}${more}</ListBucketResult>`;
}
