import 'server-only';
import exifr from 'exifr';
import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import { focalOverLongSide } from '../photo/ground/focal';
import type { CameraTime } from '../photo/taken-at';
import type { PhotoSource } from './decode';
import { readHeifExif } from './heif-boxes';
import { sniff, SNIFF_BYTES } from './sniff';

/** What a photo's EXIF block says, as far as the diary cares. Null where it says nothing, or nothing sensible. */
export interface PhotoExif extends CameraTime {
  readonly orientation: number | null;
  readonly make: string | null;
  readonly model: string | null;
  readonly exposureSeconds: number | null;
  readonly fNumber: number | null;
  readonly iso: number | null;
  readonly focalLengthMm: number | null;
  readonly focalLength35mm: number | null;
  /** Whether the file holds a place. The place itself only comes when asked for. */
  readonly hasLocation: boolean;
  readonly location?: { readonly latitudeDeg: number; readonly longitudeDeg: number };
}

type Tags = Record<string, unknown>;

/**
 * Reads a photo's EXIF. A file without EXIF, or with a damaged one, gives nulls: the photo itself may be fine.
 * @param options.withLocation also gives the place, degrees north and east
 * @see CIPA DC-008 (Exif 3.0): DateTimeOriginal, SubSecTimeOriginal, OffsetTimeOriginal, GPS tags
 */
export async function readExif(
  source: PhotoSource,
  { withLocation = false }: { withLocation?: boolean } = {},
): Promise<PhotoExif> {
  const tags = await readTags(source);
  const latitude = tags['latitude'];
  const longitude = tags['longitude'];
  const place =
    typeof latitude === 'number' &&
    typeof longitude === 'number' &&
    Math.abs(latitude) <= 90 &&
    Math.abs(longitude) <= 180
      ? { latitudeDeg: latitude, longitudeDeg: longitude }
      : null;
  const orientation = positive(tags['Orientation']);
  return {
    wallTime: wallTimeOf(
      tags['DateTimeOriginal'] ?? tags['CreateDate'],
      tags['SubSecTimeOriginal'] ?? tags['SubSecTime'],
    ),
    offsetMinutes: offsetOf(tags['OffsetTimeOriginal'] ?? tags['OffsetTimeDigitized'] ?? tags['OffsetTime']),
    gpsTime: gpsTimeOf(tags['GPSDateStamp'], tags['GPSTimeStamp']),
    orientation: orientation !== null && Number.isInteger(orientation) && orientation <= 8 ? orientation : null,
    make: words(tags['Make']),
    model: words(tags['Model']),
    exposureSeconds: positive(tags['ExposureTime']),
    fNumber: positive(tags['FNumber']),
    iso: positive(Array.isArray(tags['ISO']) ? tags['ISO'][0] : tags['ISO']),
    focalLengthMm: positive(tags['FocalLength']),
    focalLength35mm: positive(tags['FocalLengthIn35mmFormat']),
    hasLocation: place !== null,
    ...(withLocation && place !== null ? { location: place } : {}),
  };
}

/** Focal length over the long side of an upright photo of this size, where its file names one. */
export async function focalOf(
  source: PhotoSource,
  { width, height }: { readonly width: number; readonly height: number },
): Promise<number | undefined> {
  return focalOverLongSide((await readExif(source)).focalLength35mm, width, height);
}

async function readTags(source: PhotoSource): Promise<Tags> {
  const bytes = typeof source === 'string' ? await readFile(source) : source;
  const kind = sniff(bytes.subarray(0, SNIFF_BYTES));
  try {
    let block: Uint8Array = bytes;
    if (kind === 'webp' || kind === 'png') {
      // The reader of tags doesn't know WebP's box; sharp hands out the block, after six bytes 'Exif\0\0' that are not
      // TIFF.
      const { exif } = await sharp(bytes, { limitInputPixels: false }).metadata();
      if (exif === undefined) return {};
      block = exif.subarray(0, 4).toString('latin1') === 'Exif' ? exif.subarray(6) : exif;
    }
    if (kind === 'heic' || kind === 'avif') {
      const exif = readHeifExif(bytes);
      if (exif === null) return {};
      block = exif;
    }
    const tags: unknown = await exifr.parse(block, {
      tiff: true,
      exif: true,
      gps: true,
      reviveValues: false,
      translateValues: false,
    });
    return (tags ?? {}) as Tags;
  } catch {
    return {};
  }
}

/** 'YYYY:MM:DD HH:MM:SS' to 'YYYY-MM-DDTHH:MM:SS.sss'; null for a clock that was never set or a date there is not. */
function wallTimeOf(value: unknown, subSeconds: unknown): string | null {
  const found = /^(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)/.exec(words(value) ?? '');
  if (found === null) return null;
  const [, year, month, day, hour, minute, second] = found;
  const fraction = /^\d+/.exec(words(subSeconds) ?? '')?.[0] ?? '';
  const text = `${year}-${month}-${day}T${hour}:${minute}:${second}.${fraction.padEnd(3, '0').slice(0, 3)}`;
  const parsed = new Date(`${text}Z`);
  return Number.isNaN(parsed.getTime()) || parsed.toISOString() !== `${text}Z` ? null : text;
}

/** '+05:30' to 330. */
function offsetOf(value: unknown): number | null {
  const text = words(value) ?? '';
  if (text === 'Z') return 0;
  const found = /^([+-])(\d\d):(\d\d)$/.exec(text);
  if (found === null) return null;
  const minutes = Number(found[2]) * 60 + Number(found[3]);
  return Number(found[3]) < 60 && minutes <= 14 * 60 ? (found[1] === '-' ? -minutes : minutes) : null;
}

function gpsTimeOf(date: unknown, time: unknown): Date | null {
  const day = /^(\d{4}):(\d\d):(\d\d)$/.exec(words(date) ?? '');
  if (day === null || (!Array.isArray(time) && !(time instanceof Uint8Array))) return null;
  const [hour, minute, second] = Array.from(time as ArrayLike<unknown>, Number);
  if (hour === undefined || minute === undefined || second === undefined || !(hour < 24 && minute < 60 && second < 61))
    return null;
  const at = Date.UTC(Number(day[1]), Number(day[2]) - 1, Number(day[3]), hour, minute, 0, Math.round(second * 1000));
  return Number.isFinite(at) ? new Date(at) : null;
}

function words(value: unknown): string | null {
  if (typeof value !== 'string') return null;
  const text = value.replace(/\0/g, '').trim();
  return text === '' ? null : text;
}

function positive(value: unknown): number | null {
  return typeof value === 'number' && Number.isFinite(value) && value > 0 ? value : null;
}
