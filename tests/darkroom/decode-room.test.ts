import { availableParallelism } from 'node:os';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { coresForPhotos, leaveACoreToPages } from '@/lib/darkroom/cores';
import { decodePhoto, inspectPhoto, openingBytes } from '@/lib/darkroom/decode';
import { inDecodeRoom, ONE_PHOTO_BYTES } from '@/lib/darkroom/decode-room';
import { pictureOf } from '../support/pictures';

const plain = (width: number, height: number) =>
  sharp({ create: { width, height, channels: 3, background: '#507832' } });
const sentence = (work: Promise<unknown>) =>
  work.then(
    () => null,
    (error: Error) => error.message,
  );

test('no more is opened at once than there is room for, in the order of coming, and everybody’s turn comes', async () => {
  let [held, most] = [0, 0];
  const order: number[] = [];
  await Promise.all(
    Array.from({ length: 40 }, (_, index) => {
      const bytes = [50, 200, 410, 590][index % 4] as number;
      return inDecodeRoom(bytes * 1_000_000, async () => {
        order.push(index);
        held += bytes;
        most = Math.max(most, held);
        await new Promise((resolve) => setTimeout(resolve, 1 + (index % 3)));
        held -= bytes;
      });
    }),
  );
  expect(order).toEqual(order.toSorted((a, b) => a - b));
  expect(order.length).toBe(40);
  expect(most).toBeLessThanOrEqual(600);
});

test('what throws leaves its room, and what would never fit is refused before it is opened', async () => {
  for (let i = 0; i < 5; i++)
    await expect(inDecodeRoom(ONE_PHOTO_BYTES, () => Promise.reject(new Error('off')))).rejects.toThrow('off');
  expect(await inDecodeRoom(ONE_PHOTO_BYTES, async () => 'room again')).toBe('room again');
  expect(await sentence(inDecodeRoom(ONE_PHOTO_BYTES + 1, async () => 'never'))).toMatch(
    /^Expected a photo that takes at most 600 MB to open, got one that takes 601 MB/,
  );
});

describe('what opening holds', () => {
  test('is told from the header: three bytes a pixel, more where the decoder must hold the whole', async () => {
    const pixels = 1200 * 800;
    const jpeg = await plain(1200, 800).jpeg().toBuffer();
    expect(await openingBytes(jpeg)).toBe(pixels * 3.2);
    expect(await openingBytes(await plain(1200, 800).jpeg({ progressive: true }).toBuffer())).toBe(pixels * 9.2);
    expect(await openingBytes(await plain(1200, 800).withMetadata({ orientation: 6 }).jpeg().toBuffer())).toBe(
      pixels * 6.2,
    );
  });
});

describe('sides and shapes', () => {
  test('a strip of 100,000 × 1,000 and one of 30,000 × 100 are refused from their header', async () => {
    expect(await sentence(inspectPhoto(await plain(100_000, 200).png().toBuffer()))).toMatch(
      /^Expected a photo of at most 30000 pixels on a side .*, got 100000 × 200\.$/,
    );
    expect(await sentence(inspectPhoto(await plain(30_000, 100).png().toBuffer()))).toMatch(
      /at most 20 times as long as wide, got 30000 × 100\.$/,
    );
  });
});

describe('a JPEG', () => {
  const turf = () =>
    sharp(
      Buffer.from(pictureOf(320, 240, (x, y) => [70 + ((x * 7 + y * 3) % 23), 110 + ((x * 5 + y * 11) % 29), 45]).data),
      { raw: { width: 320, height: 240, channels: 3 } },
    )
      .jpeg()
      .toBuffer();
  test('whose header claims more rows than it holds is refused', async () => {
    const bytes = await turf();
    const frame = bytes.indexOf(Buffer.from([0xff, 0xc0]));
    bytes.writeUInt16BE(2400, frame + 5); // ITU-T T.81 B.2.2: Y, the number of lines
    expect(await sentence(decodePhoto(bytes))).toBe(
      'Expected a whole JPEG photo, got one that is cut off before its end, or whose header claims more than it holds.',
    );
  });
  test('with stray bytes after its end is taken', async () => {
    expect((await decodePhoto(Buffer.concat([await turf(), Buffer.from('stray bytes')]))).width).toBe(320);
  });
});

test('a process that serves pages leaves one processor to them, and always works on one photo', async () => {
  const shared = globalThis as { swathbookServesPages?: boolean };
  const all = coresForPhotos();
  expect(all).toBe(availableParallelism());
  leaveACoreToPages();
  try {
    expect(coresForPhotos()).toBe(Math.max(1, all - 1));
    let [open, most] = [0, 0];
    await Promise.all(
      Array.from({ length: 8 }, () =>
        inDecodeRoom(1000, async () => {
          most = Math.max(most, ++open);
          await new Promise((resolve) => setTimeout(resolve, 2));
          open -= 1;
        }),
      ),
    );
    expect(most).toBe(Math.max(1, all - 1));
  } finally {
    delete shared.swathbookServesPages;
  }
});
