import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { printOf } from '@/lib/darkroom/prints';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { listLandmarks, nearestOutlinedPhotoId, type Landmark } from '@/lib/diary/landmarks';
import { listOutlines, type Outline } from '@/lib/diary/outlines';
import { findPhoto, type Photo } from '@/lib/diary/photos';
import { dataFolder } from '@/lib/forms/environment';
import { DOUBT_OF_COPY, DOUBT_OF_LINING_UP, type GuessDoubt } from '@/lib/photo/ground/follow-taps';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import type { Point } from '@/lib/photo/raster/pixels';
import { strikingPoints } from '@/lib/photo/marks/striking';
import { findLasting } from './comparer';

/** A thing to be found again: where an earlier photo shows it, and where it is thought to be in the new one. */
export interface AskedThing {
  /** Null for a striking point that nobody has named. */
  landmarkId: string | null;
  name: string;
  from: { photoId: string; widthPx: number; heightPx: number; takenAt: Date; at: Point };
  /** Where the ground's guess puts it: what taps bend. */
  guess: Point;
  /** Where the two photos themselves show it, when the camera's move found it in both. */
  seen?: Point;
  /** What a person said of it in this photo before: its place, or null when it isn't there. */
  said?: Point | null;
}

/** What to ask of a photo whose plots could not be found surely. */
export interface LandmarkQuestion {
  things: AskedThing[];
  /** Where the plots are thought to be. */
  plots: { plotId: string; corners: Point[] }[];
  doubt: GuessDoubt;
}

/** How many things are held ready: four are asked for, the others stand in for what is not in the photo. */
const READY = 8;
/** Striking places looked at for each that is asked for: leaves and toys move, and fall out. */
const LOOKED_AT = 4;
/**
 * A guess that lining up gave less confidence than this may be of other ground: on a garden's four dates it was 4 to 8
 * % off.
 */
const WORTH_BENDING = 0.1;
/** Two things turn and size the outlines; with fewer it is better to draw. */
const FEWEST = 2;

const fourCornered = (outlines: readonly Outline[]) => outlines.filter((outline) => outline.corners.length === 4);

/**
 * What a person can be asked for so that the outlines of an earlier photo of the viewpoint follow: landmarks named
 * before, else striking places near its plots. Null when the viewpoint has no outlined photo, or nothing to go by.
 */
export async function askLandmarks(photo: Photo, outlines: readonly Outline[]): Promise<LandmarkQuestion | null> {
  const earlierId = photo.viewpointId ? await nearestOutlinedPhotoId(photo.viewpointId, photo.takenAt, photo.id) : null;
  const earlier = earlierId ? await findPhoto(earlierId) : null;
  if (!photo.viewpointId || !earlier) return null;
  const known = fourCornered(await listOutlines(earlier.id)).filter((outline) => outline.accepted);
  if (known.length === 0) return null;
  const guesses = fourCornered(outlines).filter((outline) => !outline.accepted);
  const guessed = groundMap(known, guesses);
  const toHere: Homography = guessed ?? [
    photo.widthPx / earlier.widthPx,
    0,
    0,
    0,
    photo.heightPx / earlier.heightPx,
    0,
    0,
    0,
    1,
  ];
  const foundByPhotos =
    guessed !== null && guesses.some((outline) => outline.confidence !== null && outline.confidence >= WORTH_BENDING);
  const named = (
    await Promise.all(
      (await listLandmarks(photo.viewpointId)).map((landmark) => placed(landmark, photo, earlier, known)),
    )
  ).flatMap((one) => one ?? []);
  const things: AskedThing[] = named.map(({ landmark, inEarlier, from, said }) => ({
    landmarkId: landmark.id,
    name: landmark.name,
    from,
    guess: applyHomography(toHere, inEarlier),
    ...(said === undefined ? {} : { said }),
  }));
  if (things.length < READY) {
    const scale = { widthPx: earlier.widthPx, heightPx: earlier.heightPx, takenAt: earlier.takenAt };
    const places = await placesToAskFor(
      earlier,
      photo,
      known,
      named.map((one) => one.inEarlier),
      READY - things.length,
    );
    for (const { at, seen } of places)
      things.push({
        landmarkId: null,
        name: '',
        from: { photoId: earlier.id, ...scale, at },
        guess: applyHomography(toHere, at),
        ...(seen ? { seen } : {}),
      });
  }
  if (things.length < FEWEST) return null;
  // What lies outside the picture by the guess comes last, and what a person already answered first.
  const inside = ({ guess, seen = guess }: AskedThing) =>
    seen[0] > 0 && seen[1] > 0 && seen[0] < photo.widthPx && seen[1] < photo.heightPx;
  things.sort(
    (a, b) => Number(b.said !== undefined) - Number(a.said !== undefined) || Number(inside(b)) - Number(inside(a)),
  );
  return {
    things,
    plots: known.map((outline) => ({
      plotId: outline.plotId,
      corners:
        guesses.find((guess) => guess.plotId === outline.plotId)?.corners ??
        outline.corners.map((corner) => applyHomography(toHere, corner)),
    })),
    doubt: foundByPhotos ? DOUBT_OF_LINING_UP : DOUBT_OF_COPY,
  };
}

/** The ground's map between two photos by the plots outlined in both; null without any. */
function groundMap(from: readonly Outline[], to: readonly Outline[]): Homography | null {
  const pairs = from.flatMap((outline) => {
    const other = to.find((candidate) => candidate.plotId === outline.plotId);
    return other ? [[outline.corners, other.corners] as const] : [];
  });
  return pairs.length === 0
    ? null
    : fitHomography(
        pairs.flatMap(([corners]) => corners),
        pairs.flatMap(([, corners]) => corners),
      );
}

/** Where a landmark lies in the earlier photo, and the photo nearest to now that shows it. */
async function placed(landmark: Landmark, photo: Photo, earlier: Photo, known: readonly Outline[]) {
  const said = landmark.sightings.find((sighting) => sighting.photoId === photo.id)?.at;
  const seen = [
    { photoId: landmark.photoId, at: landmark.at },
    ...landmark.sightings.flatMap(({ photoId, at }) => (at && photoId !== photo.id ? [{ photoId, at }] : [])),
  ];
  const direct = seen.find((one) => one.photoId === earlier.id);
  const shown = direct ?? seen.at(-1);
  const shows = shown ? await findPhoto(shown.photoId) : null;
  if (!shown || !shows || shows.id === photo.id) return null;
  const map = direct
    ? null
    : groundMap(
        fourCornered(await listOutlines(shows.id)).filter((outline) => outline.accepted),
        known,
      );
  if (!direct && !map) return null;
  return {
    landmark,
    inEarlier: map ? applyHomography(map, shown.at) : shown.at,
    from: { photoId: shows.id, widthPx: shows.widthPx, heightPx: shows.heightPx, takenAt: shows.takenAt, at: shown.at },
    said,
  };
}

/**
 * Striking places of the earlier photo; those first that the camera's move found in this photo too. Leaves, a toy that
 * was moved, a blotch of soil that has grown over have no lasting point by them, so they are only asked for when there
 * is nothing better.
 */
async function placesToAskFor(
  earlier: Photo,
  photo: Photo,
  outlines: readonly Outline[],
  apartFrom: readonly Point[],
  most: number,
): Promise<{ at: Point; seen: Point | null }[]> {
  const print = ({ sha256, kind }: Photo) => printOf(dataFolder(), { sha256, kind: kind as PhotoKind }, 960);
  const [before, after] = await Promise.all([print(earlier), print(photo)]);
  const { pixels } = await decodePhoto(before);
  const scale = pixels.width / earlier.widthPx;
  const small = ([x, y]: Point): Point => [(x + 0.5) * scale - 0.5, (y + 0.5) * scale - 0.5];
  const full = ([x, y]: Point, by: number): Point => [(x + 0.5) / by - 0.5, (y + 0.5) / by - 0.5];
  const plots = outlines.map((outline) => outline.corners.map(small));
  const looking = { apartFrom: apartFrom.map(small) };
  const wide = strikingPoints(pixels, plots, { ...looking, most: LOOKED_AT * most }).map(({ at }) => at);
  const seen = await findLasting({ before, after, places: wide });
  const lasting = wide.flatMap((at, k) => {
    const there = seen?.[k];
    return there ? [{ at, there }] : [];
  });
  const afterScale = Math.min(1, 960 / Math.max(photo.widthPx, photo.heightPx));
  const found = lasting.slice(0, most).map(({ at, there }) => ({ at: full(at, scale), seen: full(there, afterScale) }));
  if (found.length >= ENOUGH) return found;
  const rest = strikingPoints(pixels, plots, {
    apartFrom: [...looking.apartFrom, ...lasting.map(({ at }) => at)],
    most: most - found.length,
  });
  return [...found, ...rest.map(({ at }) => ({ at: full(at, scale), seen: null }))];
}

/** With so many lasting things nothing else is asked for. */
const ENOUGH = 4;
