import 'server-only';
import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import sharp from 'sharp';
import type { Random } from '../stats/random';

/**
 * Small sound pictures of every kind taken here, and of kinds and colours that are trouble: where the fuzz starts from.
 */
export async function soundPictures(heicFolder: string): Promise<{ name: string; bytes: Uint8Array }[]> {
  const width = 160;
  const height = 120;
  const rgb = Buffer.alloc(width * height * 3);
  for (let i = 0; i < rgb.length; i++) rgb[i] = (i * 37 + (i >> 7) * 11) % 200;
  const raw = () => sharp(rgb, { raw: { width, height, channels: 3 } });
  const exif = {
    IFD0: { Make: 'Maker', Orientation: '6' },
    IFD2: { DateTimeOriginal: '2026:05:01 07:30:00', OffsetTimeOriginal: '+02:00' },
  };
  const frames = sharp(Buffer.concat([rgb, rgb]), {
    raw: { width, height: height * 2, channels: 3, pageHeight: height },
  });
  const made: [string, Promise<Buffer>][] = [
    ['jpeg', raw().withExif(exif).jpeg().toBuffer()],
    ['jpeg, progressive, with a profile', raw().withIccProfile('p3').jpeg({ progressive: true }).toBuffer()],
    ['jpeg, inks', raw().toColourspace('cmyk').jpeg().toBuffer()],
    ['jpeg, grey', raw().greyscale().jpeg().toBuffer()],
    ['png', raw().withExif(exif).png().toBuffer()],
    ['png, 16 bit', raw().toColourspace('rgb16').png().toBuffer()],
    ['png, palette', raw().png({ palette: true }).toBuffer()],
    ['png, see-through', raw().ensureAlpha(0.5).png().toBuffer()],
    ['webp', raw().withExif(exif).webp().toBuffer()],
    ['webp, lossless', raw().webp({ lossless: true }).toBuffer()],
    ['webp, animated', frames.webp({ loop: 0 }).toBuffer()],
    ['tiff', raw().withExif(exif).tiff({ compression: 'none' }).toBuffer()],
    ['tiff, lzw', raw().tiff({ compression: 'lzw', predictor: 'horizontal' }).toBuffer()],
    ['tiff, deflate', raw().tiff({ compression: 'deflate', tile: true, tileWidth: 64, tileHeight: 64 }).toBuffer()],
    ['tiff, jpeg', raw().tiff({ compression: 'jpeg' }).toBuffer()],
    ['avif', raw().avif({ effort: 0 }).toBuffer()],
  ];
  const heic = (await readdir(heicFolder).catch(() => [])).filter((name) => name.endsWith('.heic'));
  return [
    ...(await Promise.all(made.map(async ([name, bytes]) => ({ name, bytes: await bytes })))),
    ...(await Promise.all(
      heic.map(async (name) => ({ name: `heic ${name}`, bytes: await readFile(path.join(heicFolder, name)) })),
    )),
  ];
}

/**
 * Damages bytes as transfers, disks and ill will do: cut off, bits flipped, runs overwritten, pieces doubled, dropped
 * or taken from another file, lengths and sizes set to extremes. Now and then none of these.
 */
export function damage(bytes: Uint8Array, other: Uint8Array, random: Random): Uint8Array {
  let out = Buffer.from(bytes);
  const times = 1 + random.below(4);
  for (let i = 0; i < times; i++) {
    const at = random.next() < 0.6 ? random.below(Math.min(out.length, 512) || 1) : random.below(out.length || 1);
    const length = 1 + random.below(64);
    switch (random.below(10)) {
      case 0:
        out = out.subarray(0, at);
        break;
      case 1:
        for (let flip = 0; flip < length && out.length > 0; flip++) {
          const place = random.below(out.length);
          out[place] = (out[place] as number) ^ (1 << random.below(8));
        }
        break;
      case 2:
        for (let byte = at; byte < Math.min(out.length, at + length); byte++) out[byte] = random.below(256);
        break;
      case 3:
        out = Buffer.concat([out.subarray(0, at), out.subarray(Math.max(0, at - length)), out.subarray(at)]);
        break;
      case 4:
        out = Buffer.concat([out.subarray(0, at), out.subarray(Math.min(out.length, at + length))]);
        break;
      case 5:
        out = Buffer.concat([out.subarray(0, at), other.subarray(random.below(other.length || 1))]);
        break;
      case 6: // a length or a size, in either order of bytes
        if (at + 4 <= out.length) {
          const extreme = [0, 1, 0x7fffffff, 0xffffffff, 0xffff, 0x10000, 50_000, 1_000_000][random.below(8)] as number;
          if (random.next() < 0.5) out.writeUInt32BE(extreme, at);
          else out.writeUInt32LE(extreme, at);
        }
        break;
      case 7:
        if (at + 2 <= out.length) out.writeUInt16BE([0, 1, 0xffff, 0x7fff][random.below(4)] as number, at);
        break;
      case 8:
        out = Buffer.concat([out, other.subarray(0, random.below(other.length || 1))]);
        break;
      default:
        break;
    }
  }
  return out;
}
