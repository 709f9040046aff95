import 'server-only';
import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import type { GreennessRange } from '@/lib/colour/greenness-range';
import { greennessMapPrint, printOf } from '@/lib/darkroom/prints';
import type { PrintWidth } from '@/lib/photo/raster/print-width';
import { originalOf } from '@/lib/darkroom/originals';
import { KIND_FACTS, type PhotoKind } from '@/lib/darkroom/sniff';
import { findPhoto } from '@/lib/diary/photos';
import { dataFolder } from '@/lib/forms/environment';

export interface PhotoBytes {
  stream: ReadableStream<Uint8Array>;
  mediaType: string;
  fileName: string;
}

const open = (path: string): ReadableStream<Uint8Array> =>
  Readable.toWeb(createReadStream(path)) as ReadableStream<Uint8Array>;

/**
 * A photo's bytes: the untouched original, a print of a width, or its greenness map in a range. The type is what the
 * bytes are, never what a sender said.
 */
export async function photoBytes(
  photoId: string,
  width: PrintWidth | 'original' | GreennessRange,
): Promise<PhotoBytes | null> {
  const photo = await findPhoto(photoId);
  if (!photo) return null;
  const kind = photo.kind as PhotoKind;
  const folder = dataFolder();
  if (width === 'original')
    return {
      stream: open(await originalOf(folder, { sha256: photo.sha256, kind })),
      mediaType: KIND_FACTS[kind].mediaType,
      fileName: photo.fileName,
    };
  if (typeof width === 'object')
    return {
      stream: open(await greennessMapPrint(folder, { sha256: photo.sha256, kind }, width)),
      mediaType: 'image/png',
      fileName: 'map.png',
    };
  return {
    stream: open(await printOf(folder, { sha256: photo.sha256, kind }, width)),
    mediaType: 'image/jpeg',
    fileName: photo.fileName,
  };
}
