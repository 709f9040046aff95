import exifr from 'exifr';
import sharp from 'sharp';
import { expect, test } from 'vitest';
import { demoPhotos } from '@/lib/demo/demo-photos';
import { demoScenario } from '@/lib/demo/scenario';

test('the first drawn photo is a JPEG of its stated size with local time, offset, camera and exposure in EXIF', async () => {
  const scenario = demoScenario();
  const { value: first } = await demoPhotos(scenario).next();
  if (!first) throw new Error('no photo came');
  const { format, width, height } = await sharp(first.jpeg).metadata();
  expect({ format, width, height }).toEqual({ format: 'jpeg', width: 1600, height: 1200 });
  const exif = await exifr.parse(first.jpeg, { reviveValues: false });
  expect(exif).toMatchObject({
    DateTimeOriginal: '2026:04:13 11:05:12',
    OffsetTimeOriginal: '+02:00',
    Make: 'Demo',
    Model: 'Drawn lawn camera',
    ExposureTime: 1 / 800,
    FNumber: 1.8,
    ISO: 50,
  });
  expect(first.fileName).toBe('orchard-green-2026-04-13.jpg');
  expect(first.plotCorners).toEqual(scenario.photos[0]?.plotCorners);
});
