import { createHash } from 'node:crypto';
import { mkdtemp, readdir, readFile, rm, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import sharp from 'sharp';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { decodePhoto } from '@/lib/darkroom/decode';
import { greennessColour } from '@/lib/colour/greenness-scale';
import { greennessMapPrint, printOf } from '@/lib/darkroom/prints';
import { discardPhoto } from '@/lib/darkroom/originals';
import { clearOrphans, photoPath, storeUpload } from '@/lib/darkroom/shelf';
import { scorePhoto, stopScorers } from '@/lib/darkroom/scorer';
import { pictureOf } from '../support/pictures';

let folder: string;
let jpeg: Buffer;
const picture = pictureOf(400, 300, (x, y) => (x < 200 ? [60, 100 + (y % 20), 40] : [128, 128, 128]));

beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'shelf-'));
  jpeg = await sharp(picture.data, { raw: { width: 400, height: 300, channels: 3 } })
    .withExif({
      IFD0: { Make: 'Testmaker' },
      IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '51/1 30/1 0/1', GPSLongitudeRef: 'W', GPSLongitude: '0/1 7/1 0/1' },
    })
    .jpeg({ quality: 95 })
    .toBuffer();
});
afterEach(() => rm(folder, { recursive: true, force: true }));

async function filesIn(root: string): Promise<string[]> {
  const entries = await readdir(root, { recursive: true, withFileTypes: true });
  return entries
    .filter((entry) => entry.isFile())
    .map((entry) => path.relative(root, path.join(entry.parentPath, entry.name)));
}

/** A web stream of some bytes in small chunks, which may break off. */
function streamOf(bytes: Uint8Array, breakAt = Infinity): ReadableStream<Uint8Array> {
  let at = 0;
  return new ReadableStream({
    pull(controller) {
      if (at >= breakAt) controller.error(new Error('connection lost'));
      else if (at >= bytes.length) controller.close();
      else controller.enqueue(bytes.subarray(at, (at += 1000)));
    },
  });
}

describe('a photo on the shelf', () => {
  test('lies under the SHA-256 of its bytes, untouched', async () => {
    const stored = await storeUpload(folder, streamOf(jpeg));
    const sha256 = createHash('sha256').update(jpeg).digest('hex');
    expect(stored).toMatchObject({ sha256, bytes: jpeg.length, kind: 'jpeg', existed: false, width: 400, height: 300 });
    expect(await filesIn(folder)).toEqual([path.join('photos', sha256.slice(0, 2), `${sha256}.jpg`)]);
    expect(Buffer.compare(await readFile(stored.path), jpeg)).toBe(0);
  });

  test('sent twice, even at once, is one', async () => {
    const stored = await Promise.all([1, 2, 3].map(() => storeUpload(folder, streamOf(jpeg))));
    expect(new Set(stored.map(({ sha256 }) => sha256)).size).toBe(1);
    expect(await filesIn(folder)).toHaveLength(1);
    expect((await storeUpload(folder, streamOf(jpeg))).existed).toBe(true);
  });

  test('can be taken away', async () => {
    const { sha256, kind } = await storeUpload(folder, streamOf(jpeg));
    await discardPhoto(folder, sha256, kind);
    expect(await filesIn(folder)).toEqual([]);
  });
});

describe('a wrong upload leaves nothing behind', () => {
  // prettier-ignore
  test.each<[string, () => ReadableStream<Uint8Array>, object, RegExp]>([
    ['text named .jpg', () => streamOf(new TextEncoder().encode('hello')), {}, /got text/],
    ['nothing at all', () => streamOf(new Uint8Array(0)), {}, /an empty file/],
    ['one larger than allowed', () => streamOf(jpeg), { maxBytes: 2000 }, /at most 0 MB, got a larger file/],
    ['a connection that is lost', () => streamOf(jpeg, 3000), {}, /connection lost/],
    ['a truncated photo, when verified', () => streamOf(jpeg.subarray(0, jpeg.length / 2)), { verify: async (file: string) => void (await decodePhoto(file)) }, /cut off/],
  ])('%s', async (_, source, options, words) => {
    await expect(storeUpload(folder, source(), options)).rejects.toThrow(words);
    expect(await filesIn(folder)).toEqual([]);
  });

  test('a name that is no hash makes no path', () =>
    expect(() => photoPath(folder, '../../etc/passwd', 'jpeg')).toThrow(RangeError));
});

describe('orphans', () => {
  test('old ones leave the shelf, young ones and known ones stay', async () => {
    const known = await storeUpload(folder, streamOf(jpeg));
    const other = await storeUpload(
      folder,
      streamOf(
        await sharp(picture.data, { raw: { width: 400, height: 300, channels: 3 } })
          .png()
          .toBuffer(),
      ),
    );
    const part = path.join(folder, 'photos', 'tmp', 'upload.part');
    await writeFile(part, 'half');
    const long = new Date('2026-01-01T00:00:00Z');
    const isKnown = (sha256: string) => sha256 === known.sha256;
    expect(await clearOrphans(folder, isKnown, long)).toEqual([]);
    for (const file of [known.path, other.path, part]) await utimes(file, long, long);
    const cleared = await clearOrphans(folder, isKnown, new Date('2026-01-02T00:00:00Z'));
    expect([...cleared].sort()).toEqual([path.relative(folder, other.path), path.relative(folder, part)].sort());
    // A whole photo is set aside, not deleted: it may be the diary that is lost.
    expect((await filesIn(folder)).sort()).toEqual(
      [path.relative(folder, known.path), path.join('strays', path.basename(other.path))].sort(),
    );
  });
});

describe('prints', () => {
  test('are no larger than asked, upright, sRGB, without place or camera, and made once', async () => {
    const stored = await storeUpload(folder, streamOf(jpeg));
    expect((await sharp(jpeg).metadata()).exif).toBeDefined();
    const [one, two] = await Promise.all([printOf(folder, stored, 320), printOf(folder, stored, 320)]);
    expect(one).toBe(two);
    const metadata = await sharp(one).metadata();
    expect(metadata).toMatchObject({ format: 'jpeg', width: 320, height: 240, space: 'srgb' });
    expect([metadata.exif, metadata.icc, metadata.xmp]).toEqual([undefined, undefined, undefined]);
    expect((await sharp(await printOf(folder, stored, 960)).metadata()).width).toBe(400);
    expect((await filesIn(path.join(folder, 'prints'))).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  test('the greenness map is coloured over turf and clear elsewhere', async () => {
    const stored = await storeUpload(folder, streamOf(jpeg));
    const { data, info } = await sharp(await greennessMapPrint(folder, stored))
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect(info).toMatchObject({ width: 200, height: 150, channels: 4 });
    const alpha = (x: number, y: number) => data[(y * 200 + x) * 4 + 3];
    expect([alpha(50, 75), alpha(150, 75)]).toEqual([255, 0]);
    // Over a range that lies all above this turf, its colour is the pale end's.
    const low = await sharp(await greennessMapPrint(folder, stored, { from: 0.9, to: 1 }))
      .raw()
      .toBuffer();
    expect([...low.subarray((75 * 200 + 50) * 4, (75 * 200 + 50) * 4 + 3)]).toEqual([...greennessColour(0)]);
  });
});

describe('workers', () => {
  test('score as this thread does, make prints, and refuse in the same words', async () => {
    const stored = await storeUpload(folder, streamOf(jpeg));
    const { scoreHere } = await import('@/lib/darkroom/score');
    const request = {
      path: stored.path,
      plots: [
        {
          id: 'A',
          polygon: [
            [10, 10],
            [190, 10],
            [190, 290],
            [10, 290],
          ] as const,
        },
      ],
    };
    const [here, there] = await Promise.all([
      scoreHere(request),
      scorePhoto({ ...request, prints: { dataFolder: folder, sha256: stored.sha256 } }),
    ]);
    expect(there).toEqual(here);
    expect((await filesIn(path.join(folder, 'prints'))).length).toBe(3);
    await expect(scorePhoto({ path: '/nowhere.jpg', plots: [] })).rejects.toThrow(
      /^Expected a photo at '\/nowhere.jpg', found none/,
    );
    await stopScorers();
  });
});
