import 'server-only';
import { createHash } from 'node:crypto';
import { openAsBlob } from 'node:fs';
import { ask, BucketTrouble, photoBucket } from './bucket';

/**
 * Files besides photos in the store, so that every process that serves a diary has them: whole, or not there. Large ones
 * go in parts, as the store's multipart upload has it (Amazon S3 API reference: CreateMultipartUpload, UploadPart,
 * CompleteMultipartUpload): no request holds more than 5 GB, and no more than 10,000 parts make one.
 */
const PART_BYTES = 32 * 1024 * 1024;
const MOST_PARTS = 10_000;

/** Where they lie, beside the photos' shelves. */
export const STORE_FOLDERS = { archives: 'archives/', weather: 'weather-files/' } as const;

async function hashOf(part: Blob): Promise<string> {
  const hash = createHash('sha256');
  for await (const piece of part.stream()) hash.update(piece);
  return hash.digest('hex');
}

/** Puts a whole file there; an object of that key is replaced by it, at once and whole. */
export async function putInStore(
  key: string,
  file: string,
  {
    partBytes = PART_BYTES,
    onProgress = () => {},
  }: { partBytes?: number; onProgress?: (doneBytes: number) => void } = {},
): Promise<void> {
  const bucket = await photoBucket();
  const address = `${bucket.address}/${key}`;
  const whole = await openAsBlob(file);
  const put = async (to: string, body: Blob): Promise<Response> => {
    const response = await ask(bucket, 'PUT', to, { headers: { 'x-amz-content-sha256': await hashOf(body) }, body });
    if (response.status === 404)
      throw new BucketTrouble(
        'Expected the bucket that SWATHBOOK_PHOTOS names, got a store without it: nothing was kept.',
      );
    return response;
  };
  const size = Math.max(partBytes, Math.ceil(whole.size / MOST_PARTS));
  if (whole.size <= size) {
    await put(address, whole);
    return;
  }
  const begun = await (await ask(bucket, 'POST', `${address}?uploads=`)).text();
  const upload = /<UploadId>([^<]+)<\/UploadId>/.exec(begun)?.[1];
  if (upload === undefined)
    throw new BucketTrouble('Expected the photo store to take a file in parts, got one that doesn’t.');
  const named = `uploadId=${encodeURIComponent(upload)}`;
  try {
    const parts: string[] = [];
    for (let from = 0; from < whole.size; from += size) {
      const number = parts.length + 1;
      const tag = (await put(`${address}?partNumber=${number}&${named}`, whole.slice(from, from + size))).headers.get(
        'etag',
      );
      parts.push(`<Part><PartNumber>${number}</PartNumber><ETag>${tag ?? ''}</ETag></Part>`);
      onProgress(Math.min(whole.size, from + size));
    }
    const body = `<CompleteMultipartUpload>${parts.join('')}</CompleteMultipartUpload>`;
    // It may say in a body that it failed, after it said 200.
    const said = await (await ask(bucket, 'POST', `${address}?${named}`, { body })).text();
    const code = /<Code>(\w{1,60})<\/Code>/.exec(said)?.[1];
    if (code !== undefined) throw new BucketTrouble(`Expected the photo store to put a file together, got ${code}.`);
  } catch (error) {
    await ask(bucket, 'DELETE', `${address}?${named}`).catch(() => undefined);
    throw error;
  }
}

/** Bytes of an object, `from` and `to` inclusive, or all; null when there is none of that key. */
export async function readFromStore(
  key: string,
  range?: { from: number; to: number },
): Promise<ReadableStream<Uint8Array> | null> {
  const bucket = await photoBucket();
  const headers = range === undefined ? {} : { range: `bytes=${range.from}-${range.to}` };
  const response = await ask(bucket, 'GET', `${bucket.address}/${key}`, { headers });
  return response.status === 404 ? null : response.body;
}
