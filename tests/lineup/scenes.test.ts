import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { registerPair } from '@/lib/lineup/register';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';

/** Drawn photo pairs with known maps, kept beside the project; not part of it. */
const SCENES = path.resolve('..', 'shared', 'scenes');
const missing = !existsSync(SCENES);
if (missing) console.log(`skipped: no scenes at ${SCENES}`);

interface Truth {
  readonly size: readonly [number, number];
  readonly strips: readonly { readonly polygonBefore: Point[]; readonly polygonAfter: Point[] }[];
}

const truthOf = (scene: string): Truth =>
  JSON.parse(readFileSync(path.join(SCENES, scene, 'truth.json'), 'utf8')) as Truth;

async function load(scene: string, name: string): Promise<Pixels> {
  const { data, info } = await sharp(path.join(SCENES, scene, name))
    .rotate()
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  return {
    width: info.width,
    height: info.height,
    channels: 3,
    space: 'srgb',
    data: new Uint8Array(data.buffer, data.byteOffset, data.length),
  };
}

function cornerErrorsPercent(map: Homography, { size, strips }: Truth): number[] {
  return strips.flatMap((s) =>
    s.polygonBefore.map((p, i) => {
      const [x, y] = applyHomography(map, p);
      return (100 * Math.hypot(x - s.polygonAfter[i]![0], y - s.polygonAfter[i]![1])) / Math.hypot(...size);
    }),
  );
}

describe.skipIf(missing)('registerPair on drawn scenes with known maps', () => {
  it.each(['s01'])(
    'carries the strips of %s to half a percent of the diagonal',
    { timeout: 120_000 },
    async (scene) => {
      const truth = truthOf(scene);
      const found = registerPair(await load(scene, 'before.jpg'), await load(scene, 'after.jpg'), {
        plotCornersBefore: truth.strips.map((s) => s.polygonBefore),
      });
      expect(found.status).toBe('ok');
      expect(Math.max(...cornerErrorsPercent(found.homography, truth))).toBeLessThan(0.5);
    },
  );

  it('refuses the later photo of another lawn', { timeout: 120_000 }, async () => {
    const found = registerPair(await load('s03', 'before.jpg'), await load('s09', 'after.jpg'), {
      plotCornersBefore: truthOf('s03').strips.map((s) => s.polygonBefore),
    });
    expect(found.status).toBe('taps');
  });
});
