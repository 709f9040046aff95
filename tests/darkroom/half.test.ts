import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodePhoto, openingCost } from '@/lib/darkroom/decode';
import { scoreHere } from '@/lib/darkroom/score';
import { drawLawnPhoto } from '@/lib/demo/lawn-renderer';
import { demoScenario } from '@/lib/demo/scenario';
import { halved, HALVED_ABOVE_PIXELS, scaled, scaleFor } from '@/lib/photo/measure/scale';
import { median } from '@/lib/stats/describe';
import { seededRandom } from '@/lib/stats/random';

const folder = mkdtempSync(path.join(tmpdir(), 'half-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/**
 * What the study of real grass found: an index moves by 0.0008 in the median and 0.005 at most, a difference by 0.0003
 * and 0.004.
 */
const INDEX = { median: 0.0008, most: 0.005 };
const DIFFERENCE = { median: 0.0003, most: 0.004 };

describe('a drawn lawn photo above 8 megapixels', () => {
  const times = 3400 / 1600;
  let file: string;
  let hard: string;
  let plots: { id: string; polygon: [number, number][] }[];

  beforeAll(async () => {
    const scenario = demoScenario();
    const photo = scenario.photos[4]!;
    const pixels = drawLawnPhoto(
      { ...photo, widthPx: photo.widthPx * times, heightPx: photo.heightPx * times },
      scenario.strips,
    );
    file = path.join(folder, 'lawn.jpg');
    // A lens and a mosaic of colour filters leave no detail of a single pixel, as the drawing has.
    const picture = sharp(pixels.data, { raw: { width: pixels.width, height: pixels.height, channels: 3 } });
    hard = path.join(folder, 'hard.jpg');
    writeFileSync(hard, await picture.clone().jpeg({ quality: 92 }).toBuffer());
    const soft = await picture.blur(0.7).jpeg({ quality: 92 }).toBuffer();
    writeFileSync(file, soft);
    plots = Object.entries(photo.plotCorners).map(([id, corners]) => ({
      id,
      polygon: corners.map(([x, y]): [number, number] => [(x + 0.5) * times - 0.5, (y + 0.5) * times - 0.5]),
    }));
  }, 240_000);

  test('reads at half its size as at its full size, within what the study of real grass found', async () => {
    const [full, half] = [await scoreHere({ path: file, plots, scale: 1 }), await scoreHere({ path: file, plots })];
    expect([full.scale, half.scale, half.width, half.readings[0]?.parameters.scale, half.readings[0]?.pixels]).toEqual([
      1,
      2,
      3400,
      2,
      expect.closeTo((full.readings[0]?.pixels ?? 0) / 4, -3),
    ]);
    const moved = full.readings.map(
      (reading, k) => (half.readings[k]?.greenness?.dgci ?? NaN) - (reading.greenness?.dgci ?? NaN),
    );
    const between = moved.slice(1).map((one) => Math.abs(one - (moved[0] as number)));
    expect(median(moved.map(Math.abs))).toBeLessThanOrEqual(INDEX.median);
    expect(Math.max(...moved.map(Math.abs))).toBeLessThanOrEqual(INDEX.most);
    expect(median(between)).toBeLessThanOrEqual(DIFFERENCE.median);
    expect(Math.max(...between)).toBeLessThanOrEqual(DIFFERENCE.most);
    // The interval rests on blocks of ground, not on pixels.
    full.readings.forEach((reading, k) => expect(half.readings[k]?.ci95?.blocks).toBe(reading.ci95?.blocks));
    expect(half.cautions.map(({ code }) => code)).toEqual(full.cautions.map(({ code }) => code));
  });

  test('even with more detail in each pixel than a camera gives, no index moves by more than 0.005', async () => {
    const [full, half] = [await scoreHere({ path: hard, plots, scale: 1 }), await scoreHere({ path: hard, plots })];
    expect(
      Math.max(
        ...full.readings.map((reading, k) =>
          Math.abs((half.readings[k]?.greenness?.dgci ?? NaN) - (reading.greenness?.dgci ?? NaN)),
        ),
      ),
    ).toBeLessThanOrEqual(INDEX.most);
  });
});

describe('half size', () => {
  const [width, height] = [37, 23];
  const random = seededRandom('half');
  const data = Uint8Array.from({ length: width * height * 3 }, () => 60 + random.below(120));
  const raw = { raw: { width, height, channels: 3 as const } };

  test('each pixel is the mean of the four it was, and an odd end falls away', () => {
    const half = halved({ width, height, data });
    expect([half.width, half.height]).toEqual([18, 11]);
    for (let y = 0; y < 11; y++) {
      for (let x = 0; x < 18; x++) {
        for (let c = 0; c < 3; c++) {
          const codes = [0, 1].flatMap((dy) =>
            [0, 1].map((dx) => data[((2 * y + dy) * width + 2 * x + dx) * 3 + c] as number),
          );
          expect(
            Math.abs((half.data[(y * 18 + x) * 3 + c] as number) - codes.reduce((a, b) => a + b) / 4),
          ).toBeLessThanOrEqual(0.5);
        }
      }
    }
  });

  test('a JPEG halved by its decoder, turned or not, is the same picture as one halved afterwards; other kinds are halved alike', async () => {
    // Smooth, so that the two ways of averaging agree but for rounding and the JPEG's own loss.
    const smooth = await sharp(Buffer.from(data), raw).blur(4).resize(160, 102).raw().toBuffer();
    const picture = sharp(smooth, { raw: { width: 160, height: 102, channels: 3 } });
    for (const orientation of [1, 6]) {
      const [jpeg, png] = [path.join(folder, `${orientation}.jpg`), path.join(folder, `${orientation}.png`)];
      await picture
        .clone()
        .withMetadata({ orientation })
        .jpeg({ quality: 98, chromaSubsampling: '4:4:4' })
        .toFile(jpeg);
      await picture.clone().withMetadata({ orientation }).png().toFile(png);
      const [whole, half, other] = [
        await decodePhoto(jpeg),
        await decodePhoto(jpeg, { scale: 2 }),
        await decodePhoto(png, { scale: 2 }),
      ];
      expect([half.width, half.height]).toEqual([whole.width, whole.height]);
      const after = halved(whole.pixels);
      for (const one of [half, other]) {
        expect([one.pixels.width, one.pixels.height, one.scale]).toEqual([after.width, after.height, 2]);
        let most = 0;
        after.data.forEach((code, at) => (most = Math.max(most, Math.abs(code - (one.pixels.data[at] as number)))));
        expect(most).toBeLessThanOrEqual(6);
      }
    }
  });

  test('more than 8 megapixels are halved, 8 are not; an outline follows by pixel centres', () => {
    expect([scaleFor({ width: 4000, height: 2000 }), scaleFor({ width: 4001, height: 2000 })]).toEqual([1, 2]);
    expect(HALVED_ABOVE_PIXELS).toBe(8e6);
    // The first two pixels, centres 0 and 1, become pixel 0: its centre lies between them.
    expect(
      scaled(
        [
          [0.5, 0.5],
          [-0.5, 3.5],
        ],
        2,
      ),
    ).toEqual([
      [0, 0],
      [-0.5, 1.5],
    ]);
  });

  test('opening at half size asks for a quarter of the room where the decoder makes no more', async () => {
    const jpeg = path.join(folder, 'room.jpg');
    await sharp(Buffer.from(data), raw).resize(400, 300).jpeg().toFile(jpeg);
    const [whole, half] = [await openingCost(jpeg), await openingCost(jpeg, 2)];
    expect([half.openingBytes, half.heldBytes]).toEqual([whole.openingBytes / 4, whole.heldBytes / 4]);
  });

  test('a cut-off JPEG is refused at half size too', async () => {
    const cut = path.join(folder, 'cut.jpg');
    const bytes = await sharp(Buffer.from(data), raw).resize(800, 600).jpeg().toBuffer();
    writeFileSync(cut, bytes.subarray(0, Math.floor(bytes.length / 2)));
    await expect(decodePhoto(cut, { scale: 2 })).rejects.toThrow(/cut off before its end/);
  });
});
