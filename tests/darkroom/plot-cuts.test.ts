import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import sharp from 'sharp';
import { afterAll, describe, expect, test } from 'vitest';
import { cutKey, cutPath, makeCuts, CUT_OUT_BYTES } from '@/lib/darkroom/plot-cuts';
import { printPath } from '@/lib/darkroom/prints';
import { seededRandom } from '@/lib/stats/random';
import { cutFrame } from '@/lib/photo/plot-cut';
import type { Point } from '@/lib/photo/raster/pixels';

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-cuts-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const photo = { sha256: 'ab'.repeat(32), kind: 'jpeg' as const };
/**
 * A plot seen straight from above, far edge on top: left quarter red near its near end, all else green; noise makes the
 * bytes many.
 */
async function print(noisy: boolean): Promise<void> {
  const [width, height] = [300, 600];
  const random = seededRandom(7);
  const data = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const near = x < 75 && y > 450;
      const noise = noisy ? Math.round(120 * (random.next() - 0.5)) : 0;
      [near ? 220 : 40, near ? 30 : 140, 40].forEach((value, c) => {
        data[(y * width + x) * 3 + c] = Math.min(255, Math.max(0, value + noise));
      });
    }
  const file = printPath(folder, photo.sha256, '1600.jpg');
  fs.mkdirSync(path.dirname(file), { recursive: true });
  fs.writeFileSync(
    file,
    await sharp(data, { raw: { width, height, channels: 3 } })
      .jpeg({ quality: 95 })
      .toBuffer(),
  );
}
const corners: Point[] = [
  [-0.5, -0.5],
  [299.5, -0.5],
  [299.5, 599.5],
  [-0.5, 599.5],
];
const plot = { corners, frame: cutFrame({ widthM: 1.5, lengthM: 3 }) };

describe('cut-outs of plots', () => {
  test('lie on their side, near end left and left side on top, and are made once', async () => {
    await print(false);
    await makeCuts({ dataFolder: folder, photo, photoWidthPx: 300, plots: [plot] });
    const file = cutPath(folder, photo, plot);
    const { data, info } = await sharp(file).raw().toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([346, 173]); // 346 × 173 = 59,858 of 60,000 pixels at 2 : 1
    const isRed = (x: number, y: number) => data[(y * info.width + x) * 3]! > data[(y * info.width + x) * 3 + 1]!;
    expect(isRed(20, 20)).toBe(true);
    for (const [x, y] of [
      [20, 150],
      [320, 20],
      [320, 150],
      [170, 80],
    ] as const)
      expect(isRed(x, y)).toBe(false);
    const made = fs.statSync(file).mtimeMs;
    await makeCuts({ dataFolder: folder, photo, photoWidthPx: 300, plots: [plot] });
    expect(fs.statSync(file).mtimeMs).toBe(made);
  });

  test('stay within 15 kB where the turf is all noise', async () => {
    fs.rmSync(cutPath(folder, photo, plot));
    await print(true);
    await makeCuts({ dataFolder: folder, photo, photoWidthPx: 300, plots: [plot] });
    expect(fs.statSync(cutPath(folder, photo, plot)).size).toBeLessThanOrEqual(CUT_OUT_BYTES);
  });

  test('another outline has another name, and corners in a line make none', async () => {
    const moved = { ...plot, corners: corners.map(([x, y]): Point => [x + 1, y]) };
    expect(cutKey(moved)).not.toBe(cutKey(plot));
    const flat = {
      ...plot,
      corners: [
        [0, 0],
        [1, 1],
        [2, 2],
        [3, 3],
      ] as Point[],
    };
    await makeCuts({ dataFolder: folder, photo, photoWidthPx: 300, plots: [flat] });
    expect(fs.existsSync(cutPath(folder, photo, flat))).toBe(false);
  });
});
