import { mkdtemp, rm, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { photoAtHand } from '@/lib/darkroom/photos-at-hand';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'at-hand-'));
});
afterAll(() => rm(folder, { recursive: true }));

async function photo(name: string, green: number, stamp: number): Promise<string> {
  const file = path.join(folder, name);
  await writeFile(
    file,
    await sharp({ create: { width: 60, height: 40, channels: 3, background: { r: 10, g: green, b: 30 } } })
      .png()
      .toBuffer(),
  );
  await utimes(file, stamp, stamp);
  return file;
}

describe('photos at hand', () => {
  test('the last three opened are given again, an older one is opened anew', async () => {
    const [a, b, c, d] = [
      await photo('a.png', 80, 1),
      await photo('b.png', 90, 1),
      await photo('c.png', 99, 1),
      await photo('later.png', 70, 1),
    ];
    const first = await photoAtHand(a);
    expect((await photoAtHand(b)).pixels.data[1]).toBe(90);
    expect(await photoAtHand(a)).toBe(first);
    await photoAtHand(b);
    await photoAtHand(c);
    await photoAtHand(d);
    const again = await photoAtHand(a);
    expect(again).not.toBe(first);
    expect(again.pixels.data).toEqual(first.pixels.data);
  });

  test('a file that was changed is read as it is now', async () => {
    const file = await photo('d.png', 80, 1);
    expect((await photoAtHand(file)).pixels.data[1]).toBe(80);
    await photo('d.png', 120, 2);
    expect((await photoAtHand(file)).pixels.data[1]).toBe(120);
  });

  test('a file that can’t be opened is tried again', async () => {
    const file = path.join(folder, 'e.png');
    await expect(photoAtHand(file)).rejects.toThrow('Expected a photo at');
    await photo('e.png', 70, 3);
    expect((await photoAtHand(file)).pixels.data[1]).toBe(70);
  });
});
