import 'server-only';
import { open, readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import sharp, { type Metadata, type Sharp, type SharpOptions } from 'sharp';
import type { Pixels } from '../photo/raster/pixels';
import { halved, scaleFor, type PhotoScale } from '../photo/measure/scale';
import { coresForPhotos } from './cores';
import { readHeifFacts, type HeifFacts } from './heif-boxes';
import { PhotoRefused } from './refused';
import { describeOther, PHOTO_KINDS_IN_WORDS, sniff, SNIFF_BYTES, type PhotoKind } from './sniff';
import { withProfile } from './tiff-with-profile';

/**
 * A photo with more pixels than this is refused before anything is decoded: 100 million, twice what phones make by
 * default.
 */
export const MAX_PIXELS = 100_000_000;
/** Longer than this on a side is no photo but a strip: no panorama reaches it, and decoders hold whole rows. */
const MAX_SIDE = 30_000;
/** Nor is what is this many times as long as wide. */
const MAX_ASPECT = 20;
/** Less than this on a side is an icon, not a photo. */
const MIN_SIDE = 8;

/** How a photo's numbers became sRGB. */
export type ColourSource =
  /** No profile: taken as sRGB, as the web does. */
  | 'assumed-srgb'
  /** The embedded ICC profile, or the colour numbers of a HEIF file, was applied. */
  | 'profile'
  /** Printing inks, brought back to light by their profile: only roughly the colours that were photographed. */
  | 'from-cmyk'
  /** The file names a colour space this can't convert: taken as sRGB, so colours may be off. */
  | 'unknown-as-srgb';

export interface FileFacts {
  readonly kind: PhotoKind;
  /** Size when upright, in pixels. */
  readonly width: number;
  readonly height: number;
  /** EXIF orientation 1..8 found in the file; 1 for HEIC, whose own turn is part of the picture. */
  readonly orientation: number;
  readonly bytes: number;
}

export interface DecodedPhoto extends FileFacts {
  /** At the scale asked for; the facts tell the full size. */
  readonly pixels: Pixels;
  readonly scale: PhotoScale;
  readonly colourSource: ColourSource;
}

/** A file's path, or its bytes. */
export type PhotoSource = string | Uint8Array;

/** A scale to open a photo at, or its own (see scaleFor). */
export type AskedScale = PhotoScale | 'own';

// Each decoded photo is used once; keeping libvips' operation cache would only hold memory.
sharp.cache(false);
// Threads of one operation, beside those of others at work: no more than may be busy with photos.
sharp.concurrency(coresForPhotos());

/**
 * What a photo is, from its header alone: kind, upright size. Nothing is decoded, so a picture of absurd size costs
 * nothing.
 * @throws PhotoRefused when it is no photo this can take
 */
export async function inspectPhoto(source: PhotoSource): Promise<FileFacts> {
  return (await inspect(source)).facts;
}

/**
 * What opening a photo holds at its peak, in bytes, told from its header: the pixels handed out, and what the decoder
 * of its kind must hold whole beside them. Measured on plain JPEG and PNG (3.0 to 3.2 bytes a pixel, 6 when turned);
 * the rest by the decoders' own designs.
 * @throws PhotoRefused when it is no photo this can take
 */
export async function openingBytes(source: PhotoSource, scale: AskedScale = 1): Promise<number> {
  return (await openingCost(source, scale)).openingBytes;
}

/** The same, with what the opened photo holds from then on. */
export async function openingCost(
  source: PhotoSource,
  asked: AskedScale = 1,
): Promise<{ openingBytes: number; heldBytes: number }> {
  const { facts, metadata } = await inspect(source);
  const channels = metadata?.channels ?? 4;
  const sample = metadata?.depth === 'ushort' ? 2 : metadata?.depth === 'float' ? 4 : 1;
  const whole = channels * sample;
  const beside = {
    jpeg: metadata?.isProgressive === true ? 6 : 0, // all coefficients, two bytes each
    png: metadata?.isProgressive === true ? whole : 0, // interlaced rows come last
    tiff: whole, // may be one strip
    webp: 4,
    avif: 6,
    heic: 8, // its planes and RGBA
  }[facts.kind];
  const turned = facts.orientation >= 5 ? 3 : 0;
  const pixels = facts.width * facts.height;
  const scale = asked === 'own' ? scaleFor(facts) : asked;
  // A JPEG decoder leaves out what it needn't make; the others make the whole photo first.
  const made = facts.kind === 'jpeg' && typeof source === 'string' ? pixels / scale ** 2 : pixels;
  return {
    openingBytes:
      made * (3.2 + turned) + pixels * beside + (made === pixels && scale > 1 ? (3 * pixels) / scale ** 2 : 0),
    heldBytes: (pixels * 3) / scale ** 2,
  };
}

/**
 * A photo as upright sRGB pixels: turned once as its orientation says, embedded profile applied, 16-bit brought to 8,
 * CMYK and grey to RGB, transparent parts on grey (which no turf mask takes for turf).
 * @param options.scale 2: at half its size; of a JPEG file the decoder makes no more than that, which takes half the
 *   time
 * @throws PhotoRefused when it can't be decoded whole
 */
export async function decodePhoto(
  source: PhotoSource,
  { scale: asked = 1 }: { scale?: AskedScale } = {},
): Promise<DecodedPhoto> {
  const inspected = await inspect(source);
  const scale = asked === 'own' ? scaleFor(inspected.facts) : asked;
  if (inspected.facts.kind !== 'jpeg') return decodeAs(source, inspected, 'error', scale);
  // A JPEG that ends before its picture does draws but a warning, like stray bytes that harm nothing: only the first is
  // refused.
  return decodeAs(source, inspected, 'warning', scale).catch((error: unknown) => {
    if (!(error instanceof PhotoRefused) || error.code === 'truncated') throw error;
    return decodeAs(source, inspected, 'error', scale);
  });
}

async function decodeAs(
  file: PhotoSource,
  { facts, heif, metadata }: Inspected,
  failOn: 'warning' | 'error',
  scale: PhotoScale,
): Promise<DecodedPhoto> {
  // libvips takes an option of its loader behind a file's name; sharp's own way to half a JPEG decodes all of it.
  const byDecoder = scale === 2 && facts.kind === 'jpeg' && typeof file === 'string';
  const source = byDecoder ? `${file}[shrink=2]` : file;
  const { input, colourSource } = await toSharpInput(source, facts, heif, metadata, failOn);
  try {
    // Only what needs a step gets it: each one goes over all pixels once more.
    const opaque = facts.kind === 'jpeg' || metadata?.hasAlpha === false;
    const plain = opaque && metadata?.space === 'srgb' && metadata.depth === 'uchar';
    const flat = opaque ? input : input.flatten({ background: { r: 128, g: 128, b: 128 } });
    const { data, info } = await (plain ? flat : flat.toColourspace('srgb'))
      .raw({ depth: 'uchar' })
      .toBuffer({ resolveWithObject: true });
    const rgb =
      info.channels === 3 ? new Uint8Array(data.buffer, data.byteOffset, data.length) : greyToRgb(data, info.channels);
    const own = { width: info.width, height: info.height, data: rgb };
    const pixels: Pixels = { ...(scale === 2 && !byDecoder ? halved(own) : own), channels: 3, space: 'srgb' };
    const full = byDecoder ? { width: facts.width, height: facts.height } : { width: info.width, height: info.height };
    return { ...facts, ...full, pixels, scale, colourSource };
  } catch (error) {
    throw refusalFor(error, facts.kind);
  }
}

interface Inspected {
  readonly facts: FileFacts;
  readonly heif: HeifFacts | null;
  readonly metadata: Metadata | null;
}

async function inspect(source: PhotoSource): Promise<Inspected> {
  const { head, bytes } = await readHead(source);
  if (bytes === 0) throw new PhotoRefused('empty', 'Expected a photo, got an empty file.');
  const kind = sniff(head);
  if (kind === null) {
    throw new PhotoRefused('unknown-kind', `Expected a photo (${PHOTO_KINDS_IN_WORDS}), got ${describeOther(head)}.`);
  }
  const heif = kind === 'heic' || kind === 'avif' ? readHeifFacts(await readStart(source, 1 << 20)) : null;
  if (kind === 'heic') {
    if (heif === null)
      throw new PhotoRefused(
        'unreadable',
        'Expected a HEIC photo, got a file whose description of the picture is missing or damaged.',
      );
    expectSize(heif.width, heif.height);
    const { width, height } = heif.onItsSide ? { width: heif.height, height: heif.width } : heif;
    return { facts: { kind, width, height, orientation: 1, bytes }, heif, metadata: null };
  }
  let metadata: Metadata;
  try {
    metadata = await sharp(source, { limitInputPixels: false, failOn: 'none' }).metadata();
  } catch (error) {
    throw refusalFor(error, kind);
  }
  const { width, height, pages = 1, orientation = 1 } = metadata;
  expectSize(width, height);
  if (pages > 1 && kind !== 'tiff') {
    throw new PhotoRefused('animated', `Expected a still photo, got an animated ${nameOf(kind)} with ${pages} frames.`);
  }
  const turned = kind !== 'avif' && orientation >= 5;
  const upright = turned ? { width: height, height: width } : { width, height };
  return { facts: { kind, ...upright, orientation, bytes }, heif, metadata };
}

function expectSize(width: number, height: number): void {
  if (width * height > MAX_PIXELS) {
    throw new PhotoRefused(
      'too-many-pixels',
      `Expected a photo of at most ${MAX_PIXELS / 1e6} megapixels, got ${width} × ${height} (${Math.round((width * height) / 1e6)} megapixels).`,
    );
  }
  if (Math.max(width, height) > MAX_SIDE || Math.max(width, height) > MAX_ASPECT * Math.min(width, height)) {
    throw new PhotoRefused(
      'too-many-pixels',
      `Expected a photo of at most ${MAX_SIDE} pixels on a side and at most ${MAX_ASPECT} times as long as wide, got ${width} × ${height}.`,
    );
  }
  if (width < MIN_SIDE || height < MIN_SIDE) {
    throw new PhotoRefused(
      'too-small',
      `Expected a photo of at least ${MIN_SIDE} × ${MIN_SIDE} pixels, got ${width} × ${height}.`,
    );
  }
}

async function toSharpInput(
  source: PhotoSource,
  { kind }: FileFacts,
  heif: HeifFacts | null,
  metadata: Metadata | null,
  failOn: 'warning' | 'error',
): Promise<{ input: Sharp; colourSource: ColourSource }> {
  // 'error' refuses cut-off and damaged files but lets pass what only draws a warning (stray bytes after the picture's
  // end).
  const options: SharpOptions = { limitInputPixels: MAX_PIXELS, failOn, sequentialRead: true, pages: 1 };
  if (kind === 'heic') {
    const { data, width, height } = await decodeHeicBytes(typeof source === 'string' ? await readFile(source) : source);
    const profile = heif?.icc ?? (await profileOfNclx(heif));
    const colourSource = profile === 'unknown' ? 'unknown-as-srgb' : profile === null ? 'assumed-srgb' : 'profile';
    if (profile === null || profile === 'unknown') {
      return { input: sharp(data, { raw: { width, height, channels: 4 } }), colourSource };
    }
    return { input: sharp(withProfile(data, width, height, profile), options), colourSource };
  }
  const input = sharp(source, options).autoOrient();
  if (metadata?.space === 'cmyk') return { input, colourSource: 'from-cmyk' };
  if (metadata?.icc !== undefined) return { input, colourSource: 'profile' };
  const profile = await profileOfNclx(heif);
  if (profile === null || profile === 'unknown') {
    return { input, colourSource: profile === null ? 'assumed-srgb' : 'unknown-as-srgb' };
  }
  const { data, info } = await input.ensureAlpha().raw({ depth: 'uchar' }).toBuffer({ resolveWithObject: true });
  return { input: sharp(withProfile(data, info.width, info.height, profile), options), colourSource: 'profile' };
}

type HeicAnswer =
  | { readonly data: Uint8Array; readonly width: number; readonly height: number }
  | { readonly failed: string };

async function decodeHeicBytes(bytes: Uint8Array): Promise<{ data: Uint8Array; width: number; height: number }> {
  try {
    return await new Promise((resolve, reject) => {
      const worker = new Worker(
        path.join(/* turbopackIgnore: true */ process.cwd(), 'lib', 'darkroom', 'heic-worker.mjs'),
        { workerData: bytes, stdout: true, stderr: true },
      );
      worker.once('message', (answer: HeicAnswer) =>
        'failed' in answer ? reject(new Error(answer.failed)) : resolve(answer),
      );
      worker.once('error', reject);
      worker.once('exit', () => reject(new Error('the decoder ended without an answer')));
    });
  } catch (error) {
    throw new PhotoRefused('unreadable', 'Expected a whole HEIC photo, got one that is cut off or damaged.', {
      cause: error,
    });
  }
}

/**
 * The profile that a HEIF file's colour numbers stand for: null for sRGB or none, 'unknown' for one not converted here.
 */
async function profileOfNclx(heif: HeifFacts | null): Promise<Uint8Array | null | 'unknown'> {
  const nclx = heif?.nclx ?? null;
  if (nclx === null) return null;
  const unspecified = 2;
  const sdr = [1, 6, 13, 14, unspecified].includes(nclx.transfer);
  if (sdr && [1, 5, 6, unspecified].includes(nclx.primaries)) return null;
  if (sdr && nclx.primaries === 12) return displayP3();
  return 'unknown';
}

let displayP3Profile: Promise<Uint8Array> | undefined;

/** The Display P3 profile that comes with sharp. */
function displayP3(): Promise<Uint8Array> {
  displayP3Profile ??= sharp({ create: { width: 1, height: 1, channels: 3, background: 'black' } })
    .withIccProfile('p3')
    .png()
    .toBuffer()
    .then((png) => sharp(png).metadata())
    .then(({ icc }) => {
      if (icc === undefined) throw new Error('sharp wrote no profile where Display P3 was asked for');
      return icc;
    });
  return displayP3Profile;
}

function greyToRgb(data: Uint8Array, channels: number): Uint8Array {
  const count = data.length / channels;
  const rgb = new Uint8Array(count * 3);
  for (let i = 0; i < count; i++) rgb.fill(data[i * channels] as number, i * 3, i * 3 + 3);
  return rgb;
}

function nameOf(kind: PhotoKind): string {
  return { jpeg: 'JPEG', png: 'PNG', webp: 'WebP', tiff: 'TIFF', avif: 'AVIF', heic: 'HEIC' }[kind];
}

/** The sentence for what the decoder couldn't do. The decoder's own words stay as the cause, for the log. */
function refusalFor(error: unknown, kind: PhotoKind): PhotoRefused {
  if (error instanceof PhotoRefused) return error;
  const words = error instanceof Error ? error.message : String(error);
  if (/pixel limit/i.test(words)) {
    return new PhotoRefused(
      'too-many-pixels',
      `Expected a photo of at most ${MAX_PIXELS / 1e6} megapixels, got a larger one.`,
      { cause: error },
    );
  }
  if (/premature|truncat|end of|too few|not enough|short|incomplete|unexpected eof/i.test(words)) {
    return new PhotoRefused(
      'truncated',
      `Expected a whole ${nameOf(kind)} photo, got one that is cut off before its end, or whose header claims more than it holds.`,
      { cause: error },
    );
  }
  return new PhotoRefused('unreadable', `Expected a readable ${nameOf(kind)} photo, got one that is damaged.`, {
    cause: error,
  });
}

async function readHead(source: PhotoSource): Promise<{ head: Uint8Array; bytes: number }> {
  if (typeof source !== 'string') return { head: source.subarray(0, SNIFF_BYTES), bytes: source.length };
  return { head: await readStart(source, SNIFF_BYTES), bytes: (await stat(source)).size };
}

async function readStart(source: PhotoSource, length: number): Promise<Uint8Array> {
  if (typeof source !== 'string') return source.subarray(0, length);
  let handle;
  try {
    handle = await open(source);
  } catch (error) {
    throw new PhotoRefused('missing', `Expected a photo at '${source}', found none that can be read.`, {
      cause: error,
    });
  }
  try {
    const buffer = new Uint8Array(length);
    const { bytesRead } = await handle.read(buffer, 0, length, 0);
    return buffer.subarray(0, bytesRead);
  } catch (error) {
    throw new PhotoRefused('missing', `Expected a photo at '${source}', found none that can be read.`, {
      cause: error,
    });
  } finally {
    await handle.close();
  }
}
