import path from 'node:path';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { readExif } from '@/lib/darkroom/exif';
import { pictureOf } from '../support/pictures';

const picture = pictureOf(16, 16, () => [60, 100, 40]);
const TAGS = {
  IFD0: { Make: 'Testmaker', Model: 'Model 1' },
  IFD2: {
    DateTimeOriginal: '2026:05:24 20:26:41',
    OffsetTimeOriginal: '-05:30',
    SubSecTimeOriginal: '25',
    ExposureTime: '1/250',
    FNumber: '18/10',
    ISOSpeedRatings: '64',
    FocalLength: '57/10',
  },
  IFD3: {
    GPSLatitudeRef: 'S',
    GPSLatitude: '33/1 52/1 0/1',
    GPSLongitudeRef: 'E',
    GPSLongitude: '151/1 12/1 36/1',
    GPSDateStamp: '2026:05:25',
    GPSTimeStamp: '1/1 56/1 40/1',
  },
};
const photo = (tags: object = TAGS) =>
  sharp(picture.data, { raw: { width: 16, height: 16, channels: 3 } }).withExif(tags as never);

describe('EXIF', () => {
  test('tells time, offset, camera and exposure, in JPEG, PNG, WebP and AVIF', async () => {
    for (const bytes of [
      await photo().jpeg().toBuffer(),
      await photo().png().toBuffer(),
      await photo().webp().toBuffer(),
      await photo().avif().toBuffer(),
    ]) {
      const exif = await readExif(bytes);
      expect(exif).toMatchObject({
        wallTime: '2026-05-24T20:26:41.250',
        offsetMinutes: -330,
        make: 'Testmaker',
        model: 'Model 1',
        exposureSeconds: 1 / 250,
        fNumber: 1.8,
        iso: 64,
        focalLengthMm: 5.7,
      });
      expect(exif.gpsTime).toEqual(new Date('2026-05-25T01:56:40Z'));
    }
  });

  test('tells it in HEIC too', async () => {
    const exif = await readExif(path.join(import.meta.dirname, '..', 'pictures', 'turf-with-exif.heic'));
    expect(exif).toMatchObject({
      wallTime: '2026-05-24T20:26:41.250',
      offsetMinutes: 120,
      make: 'Testmaker',
      orientation: 6,
    });
  });

  test('says that there is a place, but the place only when asked', async () => {
    const bytes = await photo().jpeg().toBuffer();
    const exif = await readExif(bytes);
    expect(exif.hasLocation).toBe(true);
    expect(JSON.stringify(exif)).not.toMatch(/33\.8|151\.2/);
    const { location } = await readExif(bytes, { withLocation: true });
    expect(location?.latitudeDeg).toBeCloseTo(-(33 + 52 / 60), 6);
    expect(location?.longitudeDeg).toBeCloseTo(151 + 12 / 60 + 36 / 3600, 6);
  });

  test('of a clock never set, or set to a day there is not, is no time', async () => {
    for (const DateTimeOriginal of [
      '0000:00:00 00:00:00',
      '    :  :     :  :  ',
      '2026:02:30 10:00:00',
      '2026:13:01 10:00:00',
      'yesterday',
    ]) {
      expect((await readExif(await photo({ IFD2: { DateTimeOriginal } }).jpeg().toBuffer())).wallTime).toBeNull();
    }
  });

  test('of an offset that is none is no offset', async () => {
    for (const OffsetTimeOriginal of ['   :  ', '+25:00', '+05:75', 'CET']) {
      const exif = await readExif(
        await photo({ IFD2: { DateTimeOriginal: '2026:05:24 20:26:41', OffsetTimeOriginal } })
          .jpeg()
          .toBuffer(),
      );
      expect(exif).toMatchObject({ wallTime: '2026-05-24T20:26:41.000', offsetMinutes: null });
    }
  });

  test('that isn’t there, or is damaged, gives nothing and no error', async () => {
    const plain = await readExif(
      await sharp(picture.data, { raw: { width: 16, height: 16, channels: 3 } })
        .jpeg()
        .toBuffer(),
    );
    expect(plain).toMatchObject({ wallTime: null, offsetMinutes: null, gpsTime: null, make: null, hasLocation: false });
    const damaged = Buffer.from(await photo().jpeg().toBuffer());
    damaged.fill(0xff, 40, 120);
    expect((await readExif(damaged)).wallTime).toBeNull();
    expect((await readExif(new TextEncoder().encode('no photo'))).make).toBeNull();
  });
});
