import 'server-only';
import { randomUUID } from 'node:crypto';
import { mkdir, open, readdir, rename, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import sharp, { type Sharp } from 'sharp';
import { greennessColour } from '../colour/greenness-scale';
import { ANY_TURF, type GreennessRange } from '../colour/greenness-range';
import { PRINT_WIDTHS, type PrintWidth } from '../photo/raster/print-width';
import { greennessMap } from '../photo/measure/greenness-map';
import { METHOD_VERSION } from '../photo/measure/measure';
import type { Pixels } from '../photo/raster/pixels';
import { decodePhoto, MAX_PIXELS, openingBytes } from './decode';
import { inDecodeRoom } from './decode-room';
import { originalOf } from './originals';
import { expectHash } from './shelf';
import type { PhotoKind } from './sniff';

export interface PrintedPhoto {
  readonly sha256: string;
  readonly kind: PhotoKind;
}

/** Where a print lies, made or not. Prints can be thrown away at any time: they are made again from the photo. */
export function printPath(dataFolder: string, sha256: string, name: string): string {
  expectHash(sha256);
  return path.join(dataFolder, 'prints', sha256.slice(0, 2), `${sha256}-${name}`);
}

const inProgress = new Map<string, Promise<string>>();

/**
 * The path of a photo's print of a width: an upright sRGB JPEG without any of the photo's metadata (no place, no
 * camera), no wider and no higher than asked, never enlarged. Made if it isn't there yet.
 * @throws PhotoRefused when the photo can't be decoded
 */
export function printOf(dataFolder: string, photo: PrintedPhoto, width: PrintWidth): Promise<string> {
  if (!PRINT_WIDTHS.includes(width))
    throw new RangeError(`width: expected one of ${PRINT_WIDTHS.join(', ')}, got ${width}`);
  return writePrintOnce(printPath(dataFolder, photo.sha256, `${width}.jpg`), () =>
    opened(originalOf(dataFolder, photo), async (original) => {
      if (photo.kind === 'heic' || photo.kind === 'avif')
        return asJpeg(fromPixels((await decodePhoto(original)).pixels), width);
      return asJpeg(
        sharp(original, { limitInputPixels: MAX_PIXELS, failOn: 'error', sequentialRead: true }).autoOrient(),
        width,
      );
    }),
  );
}

/** Work on an opened original, once there is room for it. */
async function opened<T>(bringing: Promise<string>, work: (original: string) => Promise<T>): Promise<T> {
  const original = await bringing;
  return inDecodeRoom(await openingBytes(original), () => work(original));
}

/** All prints of a photo from its decoded pixels: cheaper than one by one when the pixels are at hand. */
export async function makePrints(dataFolder: string, sha256: string, pixels: Pixels): Promise<void> {
  let source = pixels;
  for (const width of [...PRINT_WIDTHS].sort((a, b) => b - a)) {
    const from = source;
    const target = printPath(dataFolder, sha256, `${width}.jpg`);
    if (await isThere(target)) continue;
    const { data, info } = await fromPixels(from)
      .resize({ width, height: width, fit: 'inside', withoutEnlargement: true })
      .raw()
      .toBuffer({ resolveWithObject: true });
    source = {
      ...pixels,
      width: info.width,
      height: info.height,
      data: new Uint8Array(data.buffer, data.byteOffset, data.length),
    };
    await writeWhole(target, await asJpeg(fromPixels(source), width));
  }
}

/**
 * The path of a photo's greenness map: a PNG, one pixel a cell of about 1/250 of the photo's longer side, transparent
 * where there is no turf, to be laid over the photo and scaled up; its colours span the range. Made if it isn't there
 * yet.
 */
export function greennessMapPrint(
  dataFolder: string,
  photo: PrintedPhoto,
  range: GreennessRange = ANY_TURF,
): Promise<string> {
  const name = `map-${METHOD_VERSION}-${Math.round(range.from * 100)}-${Math.round(range.to * 100)}.png`;
  return writePrintOnce(printPath(dataFolder, photo.sha256, name), () =>
    opened(originalOf(dataFolder, photo), async (original) =>
      greennessMapPng((await decodePhoto(original)).pixels, range),
    ),
  );
}

/** The map as PNG bytes. Beyond the range the end colours are used. */
export async function greennessMapPng(pixels: Pixels, range: GreennessRange = ANY_TURF): Promise<Uint8Array> {
  const cell = Math.max(1, Math.ceil(Math.max(pixels.width, pixels.height) / 250));
  const { columns, rows, dgci } = greennessMap(pixels, cell);
  const rgba = new Uint8Array(columns * rows * 4);
  dgci.forEach((value, i) => {
    if (Number.isNaN(value)) return;
    rgba.set([...greennessColour((value - range.from) / (range.to - range.from)), 255], i * 4);
  });
  return sharp(rgba, { raw: { width: columns, height: rows, channels: 4 } })
    .png()
    .toBuffer();
}

/** Removes all prints of a photo, of whatever method version. None there is fine. */
export async function discardPrints(dataFolder: string, sha256: string): Promise<void> {
  const folder = path.dirname(printPath(dataFolder, sha256, ''));
  const names = await readdir(folder).catch(() => []);
  await Promise.all(
    names.filter((name) => name.startsWith(`${sha256}-`)).map((name) => rm(path.join(folder, name), { force: true })),
  );
}

function fromPixels({ data, width, height }: Pixels): Sharp {
  return sharp(data, { raw: { width, height, channels: 3 } });
}

function asJpeg(picture: Sharp, width: number): Promise<Uint8Array> {
  return picture
    .resize({ width, height: width, fit: 'inside', withoutEnlargement: true })
    .flatten({ background: { r: 128, g: 128, b: 128 } })
    .toColourspace('srgb')
    .jpeg({ quality: 82 })
    .toBuffer();
}

/** Makes a file unless it is there; two who ask at once wait for one making. */
export function writePrintOnce(target: string, make: () => Promise<Uint8Array>): Promise<string> {
  const running = inProgress.get(target);
  if (running !== undefined) return running;
  const work = (async () => {
    if (!(await isThere(target))) await writeWhole(target, await make());
    return target;
  })().finally(() => inProgress.delete(target));
  inProgress.set(target, work);
  return work;
}

function isThere(file: string): Promise<boolean> {
  return stat(file).then(
    (s) => s.size > 0,
    () => false,
  );
}

/** Writes beside the target, then moves: whoever reads sees all of it or nothing. */
async function writeWhole(target: string, bytes: Uint8Array): Promise<void> {
  await mkdir(path.dirname(target), { recursive: true });
  const temporary = `${target}.${randomUUID()}.part`;
  try {
    const file = await open(temporary, 'wx');
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, target);
  } finally {
    await rm(temporary, { force: true });
  }
}
