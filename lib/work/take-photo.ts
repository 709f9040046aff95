import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { readExif } from '@/lib/darkroom/exif';
import { makePrints } from '@/lib/darkroom/prints';
import { PhotoRefused } from '@/lib/darkroom/refused';
import { discardPhoto, ShelfTrouble, shelfTroubleFor, storeUpload, type StoredPhoto } from '@/lib/darkroom/shelf';
import { DiaryTrouble } from '@/lib/diary/client';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { createPhoto, findPhotoBySha256, updatePhoto, type TakenAtBasis } from '@/lib/diary/photos';
import { setReferencePhoto, viewpointNamed } from '@/lib/diary/viewpoints';
import { dataFolder } from '@/lib/forms/environment';
import type { Pixels } from '@/lib/photo/pixels';
import { resolveTakenAt } from '@/lib/photo/taken-at';
import type { Tilt } from '@/lib/photo/tilt';
import { offsetMinutesAt } from './lawn-time';
import { photoMoment } from './photo-moment';

export type TakePhotoResult = { ok: true; photoId: string; message: string } | { ok: false; status: 400 | 404 | 507; message: string };

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

/** Takes one photo in: keeps its bytes, reads when and how it was taken, puts it to its viewpoint and spray. Reading it (read-photo.ts) comes after. */
export async function takePhoto(source: ReadableStream<Uint8Array> | AsyncIterable<Uint8Array>, arrival: Arrival): Promise<TakePhotoResult> {
  const lawn = await findLawn(arrival.lawnId);
  if (!lawn) return { ok: false, status: 404, message: 'Lawn: expected a lawn of this diary, got one that is not there any more.' };
  let stored: StoredPhoto;
  let pixels: Pixels | undefined;
  try {
    stored = await storeUpload(dataFolder(), source, {
      // Decoding it whole proves that it can be measured, and its prints are made while the pixels are at hand.
      verify: async (temporaryPath) => {
        ({ pixels } = await decodePhoto(temporaryPath));
      },
    });
  } catch (error) {
    return answerFor(error);
  }

  const before = await findPhotoBySha256(stored.sha256);
  if (before) {
    if (before.binned) await updatePhoto(before.id, { deletedAt: null });
    return { ok: true, photoId: before.id, message: before.binned ? 'Was in the bin; taken out again.' : 'Already in the diary: the same file counts once.' };
  }
  try {
    if (pixels) await makePrints(dataFolder(), stored.sha256, pixels);
    return await enterPhoto(lawn, stored, arrival);
  } catch (error) {
    if (!stored.existed && !(await findPhotoBySha256(stored.sha256))) await discardPhoto(dataFolder(), stored.sha256, stored.kind);
    return answerFor(error);
  }
}

/** What can be said in a sentence is an answer; anything else stays an error. */
function answerFor(error: unknown): TakePhotoResult {
  const trouble = shelfTroubleFor(error);
  if (trouble instanceof PhotoRefused) return { ok: false, status: 400, message: trouble.message };
  if (trouble instanceof ShelfTrouble) return { ok: false, status: 507, message: trouble.message };
  if (trouble instanceof DiaryTrouble) return { ok: false, status: 507, message: trouble.message };
  throw error;
}

async function enterPhoto(lawn: Lawn, stored: StoredPhoto, arrival: Arrival): Promise<TakePhotoResult> {
  const exif = await readExif(stored.path);
  const taken = resolveTakenAt(exif, lawn.timeZone);
  const takenAt = taken.instant ?? arrival.taken?.instant ?? arrival.modified ?? arrival.now;
  const takenAtBasis: TakenAtBasis = taken.instant !== null && taken.basis !== 'none' ? taken.basis : arrival.taken ? 'phone-clock' : 'upload';
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
    takenAtOffsetMin: taken.offsetMinutes ?? (takenAtBasis === 'phone-clock' ? arrival.taken?.offsetMinutes : undefined) ?? offsetMinutesAt(takenAt, lawn.timeZone),
    takenAtBasis,
    cameraMake: exif.make,
    cameraModel: exif.model,
    exposureS: exif.exposureSeconds,
    fNumber: exif.fNumber,
    iso: exif.iso,
    focalLengthMm: exif.focalLengthMm,
    cameraPitchDeg: arrival.tilt?.pitchDeg ?? null,
    cameraRollDeg: arrival.tilt?.rollDeg ?? null,
    ...(await photoMoment(lawn, takenAt)),
  });
  if (viewpoint && viewpoint.referencePhotoId === null) await setReferencePhoto(viewpoint.id, photo.id);
  return { ok: true, photoId: photo.id, message: `${whenSentence(takenAtBasis, lawn.timeZone)} ${viewpoint ? '' : 'Name its viewpoint on its page, so that it can be compared.'}`.trim() };
}

function whenSentence(basis: TakenAtBasis, timeZone: string): string {
  if (basis === 'lawn-time-zone') return `The camera wrote no time zone, so its clock was read as ${timeZone}.`;
  if (basis === 'upload') return 'The photo tells no date: the file’s own date was taken. Correct it on the photo’s page.';
  return 'Kept.';
}
