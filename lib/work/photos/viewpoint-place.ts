import 'server-only';
import { mkdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { deserialize, serialize } from 'node:v8';
import { focalOf } from '@/lib/darkroom/exif';
import { photoAtHand } from '@/lib/darkroom/photos-at-hand';
import { findFeatures } from '@/lib/lineup/features';
import { learnFrom, mapOf, type Seen, type Taught } from '@/lib/lineup/locate';
import { PLACE_MAP_VERSION } from '@/lib/lineup/place-map';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import type { KnownPhoto } from './find-plots';

/** The photos a viewpoint's map is learned from, the reference first, then in the order they were taken. */
export interface PlaceSource {
  /** What every kept map's file name begins with. */
  readonly prefix: string;
  readonly reference: KnownPhoto;
  /** With a name for all up to it, so that a map learned from the first of them can be learned on. */
  readonly learned: readonly { readonly photo: KnownPhoto; readonly key: string }[];
}

export async function seenIn(file: string, pixels: Pixels): Promise<Seen> {
  return { features: findFeatures(pixels), focal: await focalOf(file, pixels) };
}

/** Corners of the plots outlined in both photos, pair by pair. */
export function sharedCorners(reference: KnownPhoto, other: KnownPhoto): { reference: Point[]; other: Point[] } {
  const both = reference.plots.flatMap((plot) => {
    const match = other.plots.find(
      (candidate) => candidate.id === plot.id && candidate.corners.length === plot.corners.length,
    );
    return match ? [{ reference: plot.corners, other: match.corners }] : [];
  });
  return { reference: both.flatMap((plot) => [...plot.reference]), other: both.flatMap((plot) => [...plot.other]) };
}

/**
 * The map learned from these photos. What was learned before is kept beside the reference photo's prints and taken up
 * again; it can be thrown away at any time and is then learned anew. Runs on the comparing thread.
 */
export async function placeMapOf({ prefix, reference, learned }: PlaceSource): Promise<Taught> {
  const fileOf = (count: number): string => `${prefix}${learned[count - 1]!.key}.bin`;
  let map: Taught | null = null;
  let known = learned.length;
  for (; known > 0 && !map; known--) map = await kept(fileOf(known));
  if (map) known++;
  const before = known;
  if (!map) {
    const { pixels } = await photoAtHand(reference.path);
    map = mapOf(await seenIn(reference.path, pixels));
  }
  for (; known < learned.length; known++) {
    const { photo } = learned[known]!;
    const shared = sharedCorners(reference, photo);
    const fromReference = shared.reference.length < 4 ? null : fitHomography(shared.reference, shared.other);
    if (!fromReference) continue;
    const { pixels } = await photoAtHand(photo.path);
    map = learnFrom(map, await seenIn(photo.path, pixels), fromReference, shared.reference);
  }
  if (before < learned.length) {
    await keep(fileOf(learned.length), map);
    // Nothing stays of a photo that was taken out meanwhile.
    if (!(await stat(reference.path).catch(() => null))) await rm(fileOf(learned.length), { force: true });
    if (before > 0) await rm(fileOf(before), { force: true });
  }
  return map;
}

async function kept(file: string): Promise<Taught | null> {
  try {
    const map = deserialize(await readFile(file)) as Taught;
    return map.map.version === PLACE_MAP_VERSION ? map : null;
  } catch {
    return null;
  }
}

/** Written beside, then moved: whoever reads sees all of it or nothing. A full disk loses only time. */
async function keep(file: string, map: Taught): Promise<void> {
  const part = `${file}.${process.pid}.part`;
  try {
    await mkdir(path.dirname(file), { recursive: true });
    await writeFile(part, serialize(map));
    await rename(part, file);
  } catch {
    await rm(part, { force: true });
  }
}
