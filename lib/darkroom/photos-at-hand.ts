import 'server-only';
import { stat } from 'node:fs/promises';
import { decodePhoto, type DecodedPhoto } from './decode';

/**
 * Photos kept open (one that came in, the last before it and the reference of its viewpoint), and the most bytes of one
 * that is.
 */
const KEPT = 3;
const KEPT_BYTES = 60_000_000;

const atHand = new Map<string, Promise<DecodedPhoto>>();

/**
 * The same as `decodePhoto` of a file, but the photos this thread opened last are not opened again: a baseline is
 * compared with one photo after another, and a photo that was lined up is compared next. A file that was changed since
 * is opened anew.
 */
export async function photoAtHand(path: string): Promise<DecodedPhoto> {
  const { size, mtimeMs } = await stat(path).catch(() => ({ size: -1, mtimeMs: 0 }));
  const name = `${path} ${size} ${mtimeMs}`;
  const photo = atHand.get(name) ?? decodePhoto(path);
  // The one asked for last stands last.
  atHand.delete(name);
  atHand.set(name, photo);
  for (const oldest of atHand.keys()) {
    if (atHand.size <= KEPT) break;
    atHand.delete(oldest);
  }
  try {
    const opened = await photo;
    if (opened.pixels.data.length > KEPT_BYTES) atHand.delete(name);
    return opened;
  } catch (error) {
    atHand.delete(name);
    throw error;
  }
}
