import sharp from 'sharp';
import type { Pixels } from '@/lib/photo/raster/pixels';

/** A picture from a rule for each pixel's R, G, B. */
export function pictureOf(
  width: number,
  height: number,
  colourAt: (x: number, y: number) => readonly [number, number, number],
): Pixels {
  const data = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) data.set(colourAt(x, y), (y * width + x) * 3);
  return { width, height, channels: 3, space: 'srgb', data };
}

/**
 * A patch with all sorts of colours in and out of the turf mask, by whole-number rules that any program can repeat:
 * 64 x 48, R = 60 + (7x + 13y) mod 71, G = 70 + (11x + 5y) mod 97, B = 20 + (3x + 17y) mod 83.
 */
export function oraclePatch(): Pixels {
  return pictureOf(64, 48, (x, y) => [
    60 + ((7 * x + 13 * y) % 71),
    70 + ((11 * x + 5 * y) % 97),
    20 + ((3 * x + 17 * y) % 83),
  ]);
}

/** A small photo of even turf, 400 x 300, as a JPEG file. */
export function turfJpeg(): Promise<Buffer> {
  const { data, width, height } = pictureOf(400, 300, (x, y) => [
    70 + ((x * 7 + y * 3) % 23),
    110 + ((x * 5 + y * 11) % 29),
    45 + ((x * 3 + y * 13) % 19),
  ]);
  return sharp(data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 90 })
    .toBuffer();
}
