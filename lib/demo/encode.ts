import 'server-only';
import sharp from 'sharp';
import type { Pixels } from '@/lib/photo/raster/pixels';
import type { DemoPhoto } from './scenario';

/** The drawn photo as a phone would save it: JPEG with its local time, offset from UTC, camera and exposure in EXIF. */
export async function encodeJpeg(pixels: Pixels, photo: DemoPhoto): Promise<Buffer> {
  const { width, height, channels, data } = pixels;
  const { make, model, exposureS, fNumber, iso, focalLengthMm } = photo.camera;
  const time = exifTime(photo.takenAtLocal);
  const offset = exifOffset(photo.utcOffsetMinutes);
  return sharp(data, { raw: { width, height, channels } })
    .jpeg({ quality: 90, chromaSubsampling: '4:4:4' })
    .withExif({
      IFD0: { Make: make, Model: model, Software: 'Swathbook demo', DateTime: time },
      IFD2: {
        DateTimeOriginal: time,
        DateTimeDigitized: time,
        OffsetTimeOriginal: offset,
        OffsetTime: offset,
        ExposureTime: `1/${Math.round(1 / exposureS)}`,
        FNumber: `${Math.round(fNumber * 10)}/10`,
        ISOSpeedRatings: String(iso),
        FocalLength: `${Math.round(focalLengthMm * 10)}/10`,
        ColorSpace: '1',
      },
    })
    .toBuffer();
}

/** `2026-04-13T11:05:12` as EXIF 2.32 writes it, `2026:04:13 11:05:12`. */
function exifTime(local: string): string {
  return local.replace(/^(\d+)-(\d+)-(\d+)T/, '$1:$2:$3 ');
}

function exifOffset(minutes: number): string {
  const size = Math.abs(minutes);
  return `${minutes < 0 ? '-' : '+'}${String(Math.floor(size / 60)).padStart(2, '0')}:${String(size % 60).padStart(2, '0')}`;
}
