import 'server-only';
import sharp from 'sharp';
import type { Pixels } from '../photo/pixels';

/** A JPEG of quality 90 and 4:2:0, as phones write, for the bench. */
export function benchJpeg({ data, width, height }: Pixels): Promise<Uint8Array> {
  return sharp(data, { raw: { width, height, channels: 3 } }).jpeg({ quality: 90 }).toBuffer();
}

/** What sharp takes to decode a file and nothing else: the yardstick of the bench. */
export async function decodeOnly(file: string): Promise<void> {
  await sharp(file).raw().toBuffer();
}
