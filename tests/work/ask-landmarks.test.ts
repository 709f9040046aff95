import { Readable } from 'node:stream';
import sharp from 'sharp';
import { afterAll, describe, expect, test } from 'vitest';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto, type Photo } from '@/lib/diary/photos';
import { createPlot } from '@/lib/diary/plots';
import type { Lawn } from '@/lib/diary/lawns';
import { applyHomography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { askLandmarks } from '@/lib/work/photos/ask-landmarks';
import { stopComparer } from '@/lib/work/photos/comparer';
import { outlinePlots } from '@/lib/work/photos/outline-plots';
import { takePhoto } from '@/lib/work/photos/take-photo';
import { drawYard, groundBetween, groundMap, type Stand } from '../lineup/draw-yard';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();
afterAll(stopComparer);

const [W, H] = [960, 720];
const FIRST: Stand = { x: 0.2, height: 1.6, z: 0, pan: 2, pitch: 14, roll: 0.5 };
const SECOND: Stand = { x: 0.7, height: 1.7, z: 0.5, pan: -4, pitch: 17, roll: -1.5 };
const onGround = (x: number, z: number): Point => applyHomography(groundMap(FIRST, W, H), [x, z]);

async function send(lawn: Lawn, pixels: Pixels, at: string): Promise<Photo> {
  const bytes = await sharp(Buffer.from(pixels.data), {
    raw: { width: pixels.width, height: pixels.height, channels: 3 },
  })
    .jpeg({ quality: 92 })
    .toBuffer();
  const taken = await takePhoto(Readable.toWeb(Readable.from([bytes])) as ReadableStream<Uint8Array>, {
    lawnId: lawn.id,
    fileName: `${at}.jpg`,
    viewpointName: 'gate',
    modified: undefined,
    now: new Date('2026-06-01T10:00:00Z'),
    taken: { instant: new Date(at), offsetMinutes: 0 },
  });
  if (!taken.ok) throw new Error(taken.message);
  return (await findPhoto(taken.photoId))!;
}

describe('what a person is asked to find', { timeout: 120_000 }, () => {
  test('are first the things that the two photos themselves show again, each with its place in the new photo', async () => {
    const lawn = await testLawn({ timeZone: 'UTC' });
    const plot = await createPlot(lawn.id, {
      name: 'K',
      isCheck: true,
      polygonM: null,
      areaM2: 4,
      note: '',
    });
    const earlier = await send(lawn, drawYard(W, H, { place: 3, day: 1, turf: 0 }, FIRST), '2026-05-01T10:00:00Z');
    await outlinePlots(earlier.id, [
      {
        plotId: plot.id,
        corners: [
          [-0.6, 5],
          [0.9, 5],
          [0.9, 2.6],
          [-0.6, 2.6],
        ].map(([x, z]) => [...onGround(x!, z!)] as [number, number]),
      },
    ]);
    const later = await send(
      lawn,
      drawYard(W, H, { place: 3, day: 2, light: 0.8, turf: 0 }, SECOND),
      '2026-05-15T10:00:00Z',
    );
    const asking = (await askLandmarks(later, await listOutlines(later.id)))!;
    const seen = asking.things.filter((thing) => thing.seen);
    expect(seen.length).toBeGreaterThanOrEqual(2);
    expect(asking.things.slice(0, seen.length)).toEqual(seen);
    // They stand on the ground, at the fence's foot: where the ground's own map puts them is known.
    const truth = groundBetween(FIRST, SECOND, W, H);
    for (const { from, seen: [x, y] = [NaN, NaN] } of seen) {
      const [u, v] = applyHomography(truth, from.at);
      expect(Math.hypot(x - u, y - v)).toBeLessThan(0.01 * Math.hypot(W, H));
    }
  });
});
