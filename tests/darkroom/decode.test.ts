import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { deflateSync, crc32 } from 'node:zlib';
import sharp, { type Sharp } from 'sharp';
import { describe, expect, test } from 'vitest';
import { decodePhoto, inspectPhoto } from '@/lib/darkroom/decode';
import { PhotoRefused } from '@/lib/darkroom/refused';
import { measurePlots } from '@/lib/photo/measure/measure';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { wholePhoto } from '@/lib/photo/raster/region';
import { expectClose } from '../support/close';
import { pictureOf } from '../support/pictures';

const PICTURES = path.join(import.meta.dirname, '..', 'pictures');

/** The gradient of tests/pictures/SOURCES.md. */
const turf = pictureOf(96, 64, (x, y) => [
  60 + Math.floor(x / 3),
  105 + Math.floor(y / 2),
  40 + Math.floor((x + y) / 6),
]);
const encode = (pixels: Pixels = turf): Sharp =>
  sharp(pixels.data, { raw: { width: pixels.width, height: pixels.height, channels: 3 } });
const dgciOf = (pixels: Pixels) =>
  measurePlots(pixels, [{ id: 'all', polygon: wholePhoto(pixels.width, pixels.height) }])[0]?.greenness?.dgci as number;
const TURF_DGCI = dgciOf(turf);

async function refusalOf(source: string | Uint8Array): Promise<PhotoRefused> {
  const error: unknown = await decodePhoto(source).then(
    () => null,
    (e: unknown) => e,
  );
  if (!(error instanceof PhotoRefused)) throw new Error(`expected a refusal, got ${String(error)}`, { cause: error });
  return error;
}

describe('every kind', () => {
  test('PNG, lossless WebP and lossless TIFF come back pixel for pixel', async () => {
    for (const [kind, bytes] of [
      ['png', await encode().png().toBuffer()],
      ['webp', await encode().webp({ lossless: true }).toBuffer()],
      ['tiff', await encode().tiff({ compression: 'lzw' }).toBuffer()],
    ] as const) {
      const decoded = await decodePhoto(bytes);
      expect(decoded).toMatchObject({ kind, width: 96, height: 64, colourSource: 'assumed-srgb' });
      expect(Buffer.compare(decoded.pixels.data, turf.data)).toBe(0);
    }
  });

  test('JPEG, AVIF and HEIC score within what their compression loses, 0.002', async () => {
    for (const [kind, source] of [
      ['jpeg', await encode().jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer()],
      ['avif', await encode().avif({ quality: 90 }).toBuffer()],
      ['heic', path.join(PICTURES, 'turf-srgb.heic')],
    ] as const) {
      const decoded = await decodePhoto(source);
      expect(decoded).toMatchObject({ kind, width: 96, height: 64 });
      expectClose(`${kind} DGCI`, dgciOf(decoded.pixels), TURF_DGCI, 0.002);
    }
  });

  test('a name says nothing: a PNG in a file called .jpg is a PNG', async () => {
    const folder = await mkdtemp(path.join(tmpdir(), 'decode-'));
    const file = path.join(folder, 'photo.jpg');
    await writeFile(file, await encode().png().toBuffer());
    expect((await decodePhoto(file)).kind).toBe('png');
    await rm(folder, { recursive: true });
  });
});

describe('colour profiles', () => {
  test('a Display P3 photo scores as its sRGB twin within 0.003, in each kind', async () => {
    for (const bytes of [
      await encode().withIccProfile('p3').png().toBuffer(),
      await encode().withIccProfile('p3').jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer(),
      await encode().withIccProfile('p3').webp({ lossless: true }).toBuffer(),
      await encode().withIccProfile('p3').tiff({ compression: 'lzw' }).toBuffer(),
      await encode().withIccProfile('p3').avif({ quality: 90 }).toBuffer(),
    ]) {
      const decoded = await decodePhoto(bytes);
      expect(decoded.colourSource).toBe('profile');
      expectClose(`${decoded.kind} DGCI`, dgciOf(decoded.pixels), TURF_DGCI, 0.003);
    }
  });

  test('the twin really has other numbers: read without its profile it is off by more than 0.001 and its colours by 10', async () => {
    const p3 = await encode().withIccProfile('p3').png().toBuffer();
    const { data } = await sharp(p3, { ignoreIcc: true } as object)
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect(Math.abs((data[0] as number) - (turf.data[0] as number))).toBeGreaterThanOrEqual(10);
  });

  test('a HEIC photo’s profile and its colour numbers are honoured alike', async () => {
    for (const name of ['turf-p3.heic', 'turf-p3-nclx.heic']) {
      const { pixels, colourSource } = await decodePhoto(path.join(PICTURES, name));
      expect(colourSource).toBe('profile');
      expectClose(`${name} DGCI`, dgciOf(pixels), TURF_DGCI, 0.003);
      // The first pixel is (60, 105, 40); unconverted it reads (71, 104, 49).
      [60, 105, 40].forEach((code, i) => expectClose(`${name} channel ${i}`, pixels.data[i], code, 4));
    }
  });

  test('sRGB written with its own profile comes back as it was, within one code', async () => {
    const { pixels } = await decodePhoto(await encode().withIccProfile('srgb').png().toBuffer());
    expect(pixels.data.every((code, i) => Math.abs(code - (turf.data[i] as number)) <= 1)).toBe(true);
  });
});

describe('layouts', () => {
  test('all eight EXIF orientations come out upright', async () => {
    // TIFF 6.0, tag 274: which sides of the upright picture the stored row 0 and column 0 are.
    const storedAt: Record<number, (x: number, y: number) => [column: number, row: number]> = {
      1: (x, y) => [x, y],
      2: (x, y) => [95 - x, y],
      3: (x, y) => [95 - x, 63 - y],
      4: (x, y) => [x, 63 - y],
      5: (x, y) => [y, x],
      6: (x, y) => [y, 95 - x],
      7: (x, y) => [63 - y, 95 - x],
      8: (x, y) => [63 - y, x],
    };
    for (const [orientation, place] of Object.entries(storedAt)) {
      const onItsSide = Number(orientation) >= 5;
      const stored = {
        ...turf,
        width: onItsSide ? 64 : 96,
        height: onItsSide ? 96 : 64,
        data: new Uint8Array(turf.data.length),
      };
      for (let y = 0; y < 64; y++) {
        for (let x = 0; x < 96; x++) {
          const [column, row] = place(x, y);
          stored.data.set(
            turf.data.subarray((y * 96 + x) * 3, (y * 96 + x) * 3 + 3),
            (row * stored.width + column) * 3,
          );
        }
      }
      const bytes = await encode(stored)
        .withMetadata({ orientation: Number(orientation) })
        .tiff({ compression: 'lzw' })
        .toBuffer();
      const decoded = await decodePhoto(bytes);
      expect(decoded).toMatchObject({ width: 96, height: 64, orientation: Number(orientation) });
      expect(await inspectPhoto(bytes)).toMatchObject({ width: 96, height: 64 });
      expect(Buffer.compare(decoded.pixels.data, turf.data), `orientation ${orientation}`).toBe(0);
    }
  });

  test('a HEIC photo is turned by its own box, and not again by EXIF', async () => {
    const turned = await decodePhoto(path.join(PICTURES, 'turf-turned.heic'));
    expect([turned.width, turned.height]).toEqual([64, 96]);
    expect(await inspectPhoto(path.join(PICTURES, 'turf-turned.heic'))).toMatchObject({ width: 64, height: 96 });
    // 270 degrees anticlockwise is 90 clockwise: the bottom left corner, (60, 136, 50), comes to the top left.
    [60, 136, 50].forEach((code, i) => expectClose(`channel ${i}`, turned.pixels.data[i], code, 4));
    const withExif = await decodePhoto(path.join(PICTURES, 'turf-with-exif.heic'));
    expect([withExif.width, withExif.height]).toEqual([96, 64]);
  });

  test('16 bits a channel score as 8 do within 0.001', async () => {
    const wide = await encode().toColourspace('rgb16').png().toBuffer();
    expect((await sharp(wide).metadata()).depth).toBe('ushort');
    expectClose('DGCI', dgciOf((await decodePhoto(wide)).pixels), TURF_DGCI, 0.001);
  });

  test('CMYK comes back as turf of about the same colour', async () => {
    const cmyk = await encode().toColourspace('cmyk').withIccProfile('cmyk').jpeg({ quality: 95 }).toBuffer();
    expect((await sharp(cmyk).metadata()).space).toBe('cmyk');
    const { pixels, colourSource } = await decodePhoto(cmyk);
    expect(colourSource).toBe('from-cmyk');
    expect(pixels.data).toHaveLength(96 * 64 * 3);
    // Ink profiles are coarse and their way back differs by program: for the first pixel, (60, 105, 40), Pillow with
    // lcms 2.14 gives (59, 99, 42) by perceptual and (68, 104, 56) by relative intent. 20 codes are allowed.
    [60, 105, 40].forEach((code, i) => expectClose(`channel ${i}`, pixels.data[i], code, 20));
  });

  test('grey comes back as equal R, G and B', async () => {
    const { pixels } = await decodePhoto(await encode().greyscale().png().toBuffer());
    expect(pixels.data).toHaveLength(96 * 64 * 3);
    expect([pixels.data[0], pixels.data[1]]).toEqual([pixels.data[1], pixels.data[2]]);
  });

  test('what is transparent is not turf', async () => {
    const rgba = new Uint8Array(96 * 64 * 4);
    for (let i = 0; i < 96 * 64; i++) rgba.set([60, 100, 40, i % 96 < 48 ? 255 : 0], i * 4);
    const { pixels } = await decodePhoto(
      await sharp(rgba, { raw: { width: 96, height: 64, channels: 4 } })
        .png()
        .toBuffer(),
    );
    const [reading] = measurePlots(pixels, [{ id: 'all', polygon: wholePhoto(96, 64) }]);
    expect(reading?.turfShare).toBe(0.5);
  });

  test('of a TIFF with several pages the first is taken', async () => {
    const strip = pictureOf(96, 128, (x, y) => (y < 64 ? [60, 100, 40] : [200, 30, 30]));
    const pages = await sharp(strip.data, { raw: { width: 96, height: 128, channels: 3, pageHeight: 64 } })
      .tiff({ compression: 'lzw' })
      .toBuffer();
    expect((await sharp(pages).metadata()).pages).toBe(2);
    const { pixels, height } = await decodePhoto(pages);
    expect(height).toBe(64);
    expect(Array.from(pixels.data.subarray(0, 3))).toEqual([60, 100, 40]);
  });
});

function pngChunk(type: string, data: Uint8Array): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const frame = Buffer.alloc(8 + body.length);
  frame.writeUInt32BE(data.length, 0);
  body.copy(frame, 4);
  frame.writeUInt32BE(crc32(body), 4 + body.length);
  return frame;
}

/** A PNG that says it is width x height, with next to no data behind it. */
function pngOfSize(width: number, height: number): Uint8Array {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    pngChunk('IHDR', header),
    pngChunk('IDAT', deflateSync(Buffer.alloc(1000))),
    pngChunk('IEND', Buffer.alloc(0)),
  ]);
}

describe('refusals, each one sentence', () => {
  test('a PNG of 20,000 by 20,000 is refused by its header', async () => {
    const refusal = await refusalOf(pngOfSize(20_000, 20_000));
    expect(refusal.code).toBe('too-many-pixels');
    expect(refusal.message).toBe('Expected a photo of at most 100 megapixels, got 20000 × 20000 (400 megapixels).');
  });

  test('text named .jpg, an empty file, a PDF, a GIF and a video are named for what they are', async () => {
    const cases: [string | Uint8Array, RegExp][] = [
      [new TextEncoder().encode('this is no photo'), /got text\.$/],
      [new Uint8Array(0), /got an empty file\.$/],
      [new TextEncoder().encode('%PDF-1.7 ...'), /got a PDF\.$/],
      [await encode().gif().toBuffer(), /got a GIF\.$/],
      [Uint8Array.of(0, 0, 0, 16, 0x66, 0x74, 0x79, 0x70, 0x69, 0x73, 0x6f, 0x6d, 0, 0, 0, 0), /a video/],
      ['/nowhere/at/all.jpg', /found none that can be read/],
    ];
    for (const [source, words] of cases) expect((await refusalOf(source)).message).toMatch(words);
  });

  test.each([0.3, 0.6, 0.9, 0.99])('a file cut at %f of its length is refused, in every kind', async (share) => {
    const noisy = pictureOf(256, 192, (x, y) => [
      (x * 7919 + y * 104729) % 251,
      (x * 31 + y * 17) % 253,
      (x * y) % 255,
    ]);
    for (const bytes of [
      await encode(noisy).jpeg().toBuffer(),
      await encode(noisy).jpeg({ progressive: true }).toBuffer(),
      await encode(noisy).png().toBuffer(),
      await encode(noisy).webp().toBuffer(),
      await encode(noisy).tiff({ compression: 'lzw' }).toBuffer(),
      await encode(noisy).avif().toBuffer(),
    ]) {
      const refusal = await refusalOf(bytes.subarray(0, Math.floor(bytes.length * share)));
      expect(['truncated', 'unreadable']).toContain(refusal.code);
      expect(refusal.message).toMatch(
        /^Expected a (whole|readable) \w+ photo, got one that is (cut off before its end, or whose header claims more than it holds|damaged)\.$/,
      );
    }
  });

  test('a HEIC file cut short is refused', async () => {
    const bytes = await readFile(path.join(PICTURES, 'turf-srgb.heic'));
    for (const share of [0.2, 0.6, 0.9])
      expect((await refusalOf(bytes.subarray(0, Math.floor(bytes.length * share)))).code).toBe('unreadable');
  });

  test('an animated WebP is refused with its number of frames', async () => {
    const frames = pictureOf(64, 128, (x, y) => (y < 64 ? [60, 100, 40] : [200, 30, 30]));
    const bytes = await sharp(frames.data, { raw: { width: 64, height: 128, channels: 3, pageHeight: 64 } })
      .webp({ delay: [100, 100] })
      .toBuffer();
    expect((await refusalOf(bytes)).message).toBe('Expected a still photo, got an animated WebP with 2 frames.');
  });

  test('an icon is refused', async () =>
    expect(
      (
        await refusalOf(
          await encode(pictureOf(4, 4, () => [1, 2, 3]))
            .png()
            .toBuffer(),
        )
      ).code,
    ).toBe('too-small'));
});
