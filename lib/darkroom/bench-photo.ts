import 'server-only';
import sharp from 'sharp';
import type { Pixels } from '../photo/raster/pixels';
import type { PhotoScale } from '../photo/measure/scale';

/** A JPEG of quality 90 and 4:2:0, as phones write, for the bench. */
export function benchJpeg({ data, width, height }: Pixels): Promise<Uint8Array> {
  return sharp(data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 90 })
    .toBuffer();
}

/** What sharp takes to decode a JPEG at a scale and nothing else: the yardstick of the bench. */
export async function decodeOnly(file: string, scale: PhotoScale): Promise<void> {
  await sharp(scale === 1 ? file : `${file}[shrink=${scale}]`)
    .raw()
    .toBuffer();
}
