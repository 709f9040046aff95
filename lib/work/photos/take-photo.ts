import 'server-only';
import { decodePhoto, openingBytes } from '@/lib/darkroom/decode';
import { inDecodeRoom } from '@/lib/darkroom/decode-room';
import { readExif } from '@/lib/darkroom/exif';
import { BucketTrouble } from '@/lib/darkroom/bucket';
import { discardPhoto, keepOriginal } from '@/lib/darkroom/originals';
import { makePrints } from '@/lib/darkroom/prints';
import { PhotoRefused } from '@/lib/darkroom/refused';
import { letRunOut, ShelfTrouble, shelfTroubleFor, storeUpload, type StoredPhoto } from '@/lib/darkroom/shelf';
import { DiaryTrouble, EntryThere } from '@/lib/diary/client';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { createPhoto, findPhotoBySha256, updatePhoto, type TakenAtBasis } from '@/lib/diary/photos';
import { viewpointNamed } from '@/lib/diary/viewpoints';
import { dataFolder } from '@/lib/forms/environment';
import { isPhotoDate, resolveTakenAt } from '@/lib/photo/taken-at';
import type { Tilt } from '@/lib/photo/ground/tilt';
import { localOfInstant, offsetMinutesAt } from '../diary/lawn-time';
import { isToCome } from '../diary/not-yet';

export type TakePhotoResult =
  | { ok: true; photoId: string; message: string }
  | { ok: false; status: 400 | 404 | 507; message: string };

export interface Arrival {
  lawnId: string;
  fileName: string;
  viewpointName: string;
  /** When the file was last changed on the sender's side: used only when the photo itself tells no time. */
  modified: Date | undefined;
  /** The phone's clock at the shutter: used before `modified` when the photo itself tells no time. */
  taken?: { instant: Date; offsetMinutes: number } | undefined;
  /** How the phone was held at the shutter, where it told. */
  tilt?: Tilt | undefined;
  now: Date;
}

/**
 * Takes one photo in: keeps its bytes, reads when and how it was taken, puts it to its viewpoint. Reading it
 * (worked-out.ts) comes after.
 */
export async function takePhoto(
  source: ReadableStream<Uint8Array> | AsyncIterable<Uint8Array>,
  arrival: Arrival,
): Promise<TakePhotoResult> {
  const lawn = await findLawn(arrival.lawnId);
  if (!lawn) {
    await letRunOut(source);
    return {
      ok: false,
      status: 404,
      message: 'Lawn: expected a lawn of this diary, got one that is not there any more.',
    };
  }
  let stored: StoredPhoto;
  try {
    stored = await storeUpload(dataFolder(), source, {
      // Decoding it whole proves that it can be measured, and its prints are made while the pixels are at hand.
      verify: async (temporaryPath, _facts, sha256) =>
        inDecodeRoom(await openingBytes(temporaryPath), async () =>
          makePrints(dataFolder(), sha256, (await decodePhoto(temporaryPath)).pixels),
        ),
    });
  } catch (error) {
    return answerFor(error);
  }

  const before = await alreadyThere(stored.sha256);
  if (before) return before;
  try {
    // No row names a photo that the store, where there is one, doesn't have.
    await keepOriginal(dataFolder(), stored);
    return await enterPhoto(lawn, stored, arrival);
  } catch (error) {
    // The same file sent twice at once: the other was entered first.
    const there = error instanceof EntryThere ? await alreadyThere(stored.sha256) : null;
    if (there) return there;
    if (!stored.existed && !(await findPhotoBySha256(stored.sha256)))
      await discardPhoto(dataFolder(), stored.sha256, stored.kind).catch(() => undefined);
    return answerFor(error);
  }
}

async function alreadyThere(sha256: string): Promise<TakePhotoResult | null> {
  const photo = await findPhotoBySha256(sha256);
  if (!photo) return null;
  if (photo.binned) await updatePhoto(photo.id, { deletedAt: null });
  return {
    ok: true,
    photoId: photo.id,
    message: photo.binned ? 'Was in the bin; taken out again.' : 'Already in the diary: the same file counts once.',
  };
}

/** What can be said in a sentence is an answer; anything else stays an error. */
function answerFor(error: unknown): TakePhotoResult {
  const trouble = shelfTroubleFor(error);
  if (trouble instanceof PhotoRefused) return { ok: false, status: 400, message: trouble.message };
  if (trouble instanceof ShelfTrouble || trouble instanceof BucketTrouble)
    return { ok: false, status: 507, message: trouble.message };
  if (trouble instanceof DiaryTrouble) return { ok: false, status: 507, message: trouble.message };
  throw error;
}

async function enterPhoto(lawn: Lawn, stored: StoredPhoto, arrival: Arrival): Promise<TakePhotoResult> {
  const exif = await readExif(stored.path);
  const taken = resolveTakenAt(exif, lawn.timeZone);
  const can = (instant: Date | null | undefined): instant is Date =>
    instant !== null && instant !== undefined && isPhotoDate(instant, arrival.now);
  const own = can(taken.instant) && taken.basis !== 'none' ? taken.basis : null;
  const clock = own === null && can(arrival.taken?.instant) ? arrival.taken : undefined;
  const modified = can(arrival.modified) ? arrival.modified : undefined;
  const takenAtBasis: TakenAtBasis = own ?? (clock ? 'phone-clock' : 'upload');
  const takenAt = (own === null ? null : taken.instant) ?? clock?.instant ?? modified ?? arrival.now;
  const impossible =
    [taken.instant, arrival.taken?.instant, arrival.modified].find(
      (instant) => instant !== null && instant !== undefined && !can(instant),
    ) ?? null;
  const toCome = isToCome(takenAt, arrival.now) ? localOfInstant(takenAt, lawn.timeZone) : null;
  const viewpoint = arrival.viewpointName === '' ? null : await viewpointNamed(lawn.id, arrival.viewpointName);
  const photo = await createPhoto({
    lawnId: lawn.id,
    viewpointId: viewpoint?.id ?? null,
    sha256: stored.sha256,
    kind: stored.kind,
    fileName: arrival.fileName,
    bytes: stored.bytes,
    widthPx: stored.width,
    heightPx: stored.height,
    takenAt,
    takenAtOffsetMin:
      (own === null ? null : taken.offsetMinutes) ?? clock?.offsetMinutes ?? offsetMinutesAt(takenAt, lawn.timeZone),
    takenAtBasis,
    cameraMake: exif.make,
    cameraModel: exif.model,
    exposureS: exif.exposureSeconds,
    fNumber: exif.fNumber,
    iso: exif.iso,
    focalLengthMm: exif.focalLengthMm,
    cameraPitchDeg: arrival.tilt?.pitchDeg ?? null,
    cameraRollDeg: arrival.tilt?.rollDeg ?? null,
  });
  return {
    ok: true,
    photoId: photo.id,
    message:
      `${whenSentence(takenAtBasis, lawn.timeZone, impossible, toCome)} ${viewpoint ? '' : 'Name its viewpoint on its page, so that it can be compared.'}`.trim(),
  };
}

function whenSentence(basis: TakenAtBasis, timeZone: string, impossible: Date | null, toCome: string | null): string {
  if (impossible !== null)
    return `The photo came with the date ${dayOf(impossible)}, which was not taken: expected one from 1990 to tomorrow. Correct it on the photo’s page.`;
  if (toCome !== null)
    return `The photo’s clock says ${toCome.replace('T', ' ')}, which is still to come: correct it on the photo’s page.`;
  if (basis === 'lawn-time-zone') return `The camera wrote no time zone, so its clock was read as ${timeZone}.`;
  if (basis === 'upload')
    return 'The photo tells no date: the file’s own date was taken. Correct it on the photo’s page.';
  return 'Kept.';
}

const dayOf = (instant: Date) =>
  Number.isNaN(instant.getTime()) ? 'none at all' : instant.toISOString().replace(/^\+0*/, '').replace(/T.*/, '');
