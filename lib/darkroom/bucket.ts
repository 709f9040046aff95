import 'server-only';
import { randomUUID } from 'node:crypto';
import { openAsBlob } from 'node:fs';
import { mkdir, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import type { AwsClient } from 'aws4fetch';
import { MAX_PHOTO_BYTES, writeHashed } from './shelf';

/** A store of objects that speaks S3's own language, and the part of it that holds this diary's photos. */
export interface Bucket {
  /** Address of the bucket and the prefix in it, without a slash at the end. */
  readonly address: string;
  /** The bucket's own address and the prefix, as its list wants them. */
  readonly root: string;
  readonly prefix: string;
  readonly client: AwsClient;
}

/** The store doesn't take or give what is asked. One sentence. */
export class BucketTrouble extends Error {
  override readonly name = 'BucketTrouble';
}

const holder = globalThis as { swathbookBucket?: Promise<Bucket> | undefined; swathbookBucketOf?: string };

/** Whether photos lie in a store besides the data folder, which then only keeps copies at hand. */
export const hasBucket = (): boolean => (process.env['SWATHBOOK_PHOTOS'] ?? '') !== '';

/** The store that the settings name. The settings themselves are checked at the door (`lib/forms/environment.ts`). */
export function photoBucket(): Promise<Bucket> {
  const named = `${process.env['SWATHBOOK_PHOTOS']} ${process.env['SWATHBOOK_S3_ENDPOINT'] ?? ''}`;
  if (holder.swathbookBucketOf !== named) {
    holder.swathbookBucketOf = named;
    holder.swathbookBucket = openBucket();
  }
  return holder.swathbookBucket!;
}

async function openBucket(): Promise<Bucket> {
  const { AwsClient: Client } = await import('aws4fetch');
  const { hostname: bucket, pathname } = new URL(process.env['SWATHBOOK_PHOTOS']!);
  const region = process.env['AWS_REGION'] ?? 'us-east-1';
  const endpoint = (process.env['SWATHBOOK_S3_ENDPOINT'] ?? `https://s3.${region}.amazonaws.com`).replace(/\/+$/, '');
  const prefix = pathname.replace(/^\/+|\/+$/g, '');
  const root = `${endpoint}/${bucket}`;
  const token = process.env['AWS_SESSION_TOKEN'];
  return {
    root,
    prefix,
    address: prefix === '' ? root : `${root}/${prefix}`,
    client: new Client({
      accessKeyId: process.env['AWS_ACCESS_KEY_ID'] ?? '',
      secretAccessKey: process.env['AWS_SECRET_ACCESS_KEY'] ?? '',
      ...(token ? { sessionToken: token } : {}),
      service: 's3',
      region,
      retries: 3,
    }),
  };
}

/** A key is what follows the prefix: shelf, slash, hash and extension. @throws BucketTrouble but for 404 */
export async function ask(
  bucket: Bucket,
  method: string,
  address: string,
  more: { headers?: Record<string, string>; body?: Blob | string } = {},
): Promise<Response> {
  const response = await bucket.client.fetch(address, { method, ...more }).catch((error: unknown) => {
    throw new BucketTrouble('The photo store doesn’t answer: nothing was kept there. Try again in a moment.', {
      cause: error,
    });
  });
  if (response.ok || response.status === 404) return response;
  const code = /<Code>(\w{1,60})<\/Code>/.exec(await response.text())?.[1] ?? 'no reason';
  throw new BucketTrouble(
    `Expected the photo store of SWATHBOOK_PHOTOS to take a ${method}, got ${response.status} (${code}).`,
  );
}

/** Whether the bucket can be read. @throws BucketTrouble with what is wrong with it */
export async function checkBucket(): Promise<void> {
  const bucket = await photoBucket();
  const response = await ask(
    bucket,
    'GET',
    `${bucket.root}?list-type=2&max-keys=1&prefix=${encodeURIComponent(bucket.prefix)}`,
  );
  if (response.status === 404)
    throw new BucketTrouble('Expected the bucket that SWATHBOOK_PHOTOS names, got a store without it: make it first.');
  await response.arrayBuffer();
}

/** Whether the store has an object of this key and size. */
export async function isShelved(key: string, bytes: number): Promise<boolean> {
  const bucket = await photoBucket();
  const response = await ask(bucket, 'HEAD', `${bucket.address}/${key}`);
  return response.status === 200 && Number(response.headers.get('content-length')) === bytes;
}

/**
 * Puts a whole file into the store, which itself holds the bytes against the hash it is told. Once this returns the
 * object is there.
 */
export async function shelve(key: string, file: string, sha256: string): Promise<void> {
  const bucket = await photoBucket();
  const response = await ask(bucket, 'PUT', `${bucket.address}/${key}`, {
    headers: { 'x-amz-content-sha256': sha256 },
    body: await openAsBlob(file),
  });
  if (response.status === 404)
    throw new BucketTrouble(
      'Expected the bucket that SWATHBOOK_PHOTOS names, got a store without it: the photo was not kept.',
    );
}

/**
 * Brings an object to a file; it appears there only whole and with the hash its name promises.
 * @returns false when the store has none
 */
export async function fetchFromShelf(key: string, to: string, sha256: string): Promise<boolean> {
  const bucket = await photoBucket();
  const response = await ask(bucket, 'GET', `${bucket.address}/${key}`);
  if (response.status === 404 || response.body === null) return false;
  const temporary = path.join(path.dirname(to), '..', 'tmp', `${randomUUID()}.part`);
  try {
    for (const folder of [temporary, to]) await mkdir(path.dirname(folder), { recursive: true });
    if ((await writeHashed(temporary, response.body, MAX_PHOTO_BYTES)) !== sha256)
      throw new BucketTrouble(`Expected the photo store to give the bytes it was given, got others for ${key}.`);
    await rename(temporary, to);
    return true;
  } finally {
    await rm(temporary, { force: true });
  }
}

/** Removes an object. Gone already is fine. */
export async function unshelve(key: string): Promise<void> {
  const bucket = await photoBucket();
  await ask(bucket, 'DELETE', `${bucket.address}/${key}`);
}

export interface Shelved {
  readonly key: string;
  readonly bytes: number;
  readonly changedAt: Date;
}

const TAGS = { lt: '<', gt: '>', quot: '"', apos: "'", amp: '&' } as const;
const plain = (text: string): string =>
  text.replaceAll(/&(lt|gt|quot|apos|amp);/g, (_, tag: keyof typeof TAGS) => TAGS[tag]);
const tagIn = (text: string, tag: string): string =>
  plain(new RegExp(`<${tag}>([^<]*)</${tag}>`).exec(text)?.[1] ?? '');

/** Every object whose key begins so, a thousand at a time. */
export async function* onShelf(beginning = ''): AsyncGenerator<Shelved> {
  const bucket = await photoBucket();
  const start = bucket.prefix === '' ? '' : `${bucket.prefix}/`;
  for (let token: string | undefined = ''; token !== undefined;) {
    const query = new URLSearchParams({
      'list-type': '2',
      prefix: start + beginning,
      ...(token === '' ? {} : { 'continuation-token': token }),
    });
    const text = await (await ask(bucket, 'GET', `${bucket.root}?${query.toString().replaceAll('+', '%20')}`)).text();
    for (const [, object] of text.matchAll(/<Contents>(.*?)<\/Contents>/gs))
      yield {
        key: tagIn(object!, 'Key').slice(start.length),
        bytes: Number(tagIn(object!, 'Size')),
        changedAt: new Date(tagIn(object!, 'LastModified')),
      };
    token = tagIn(text, 'NextContinuationToken') || undefined;
  }
}
