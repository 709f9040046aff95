import 'server-only';
import { Prisma } from '@prisma/client';
import { personNow } from '@/lib/visit';
import { diary } from './client';
import { fewOfPlots } from './few-of-plots';
import { readRows } from './read-rows';
import { instant } from './sql';

export type TakenAtBasis = 'exif-offset' | 'lawn-time-zone' | 'gps-utc' | 'phone-clock' | 'typed' | 'upload';
export type MeasureState = 'waiting' | 'measured' | 'failed';

export interface KeptCaution {
  code: string;
  sentence: string;
  value?: number | null;
}

type Row = Prisma.PhotoGetPayload<object>;

/**
 * `cautions` are those of its readings and of its comparison; those of the moment are worked out
 * (lib/work/photos/photo-cautions.ts).
 */
export type Photo = Omit<
  Row,
  | 'deletedAt'
  | 'cautions'
  | 'comparisonCautions'
  | 'followsSprayId'
  | 'sunElevationDeg'
  | 'sunAzimuthDeg'
  | 'takenAtBasis'
  | 'measureState'
> & {
  cautions: KeptCaution[];
  takenAtBasis: TakenAtBasis;
  measureState: MeasureState;
};

function narrow(row: Row): Photo {
  const {
    deletedAt: _deletedAt,
    followsSprayId: _spray,
    sunElevationDeg: _up,
    sunAzimuthDeg: _round,
    cautions,
    comparisonCautions,
    takenAtBasis,
    measureState,
    ...rest
  } = row;
  return {
    ...rest,
    cautions: keptCautions({ cautions, comparisonCautions }),
    takenAtBasis: takenAtBasis as TakenAtBasis,
    measureState: measureState as MeasureState,
  };
}

/** A photo's cautions as they are kept: its readings' own, then its comparison's. */
export function keptCautions({
  cautions,
  comparisonCautions,
}: {
  cautions: unknown;
  comparisonCautions: unknown;
}): KeptCaution[] {
  return [...((cautions as KeptCaution[] | null) ?? []), ...((comparisonCautions as KeptCaution[] | null) ?? [])];
}

export type PhotoInput = Omit<Prisma.PhotoUncheckedCreateInput, 'id' | 'uploadedAt' | 'deletedAt'>;

/** @throws EntryThere when a photo with these bytes is in the diary already */
export async function createPhoto(input: PhotoInput): Promise<Photo> {
  return narrow(await diary().photo.create({ data: { byPersonId: personNow(), ...input } }));
}

export async function findPhoto(id: string): Promise<Photo | null> {
  const row = await diary().photo.findFirst({ where: { id, deletedAt: null } });
  return row ? narrow(row) : null;
}

/** The photo with these bytes, even one in the bin. */
export async function findPhotoBySha256(sha256: string): Promise<(Photo & { binned: boolean }) | null> {
  const row = await diary().photo.findUnique({ where: { sha256 } });
  return row ? { ...narrow(row), binned: row.deletedAt !== null } : null;
}

export async function updatePhoto(id: string, input: Prisma.PhotoUncheckedUpdateInput): Promise<Photo> {
  return narrow(await diary().photo.update({ where: { id }, data: input }));
}

/**
 * The condition that a plot is outlined in a photo. A plot in few photos leads to them; else photos are looked through
 * by time.
 */
async function showingPlot(
  plotId: string,
): Promise<{ id: { in: string[] } } | { outlines: { some: { plotId: string } } }> {
  const few = await fewOfPlots('photos', [plotId]);
  return few ? { id: { in: few } } : { outlines: { some: { plotId } } };
}

export interface PhotoListOptions {
  before?: Date;
  after?: Date;
  viewpointId?: string;
  plotId?: string;
  limit: number;
  oldestFirst?: boolean;
}

/** Photos of a lawn, newest first unless said otherwise: at most `limit`. */
export async function listPhotos(lawnId: string, options: PhotoListOptions): Promise<Photo[]> {
  const takenAt = {
    ...(options.before ? { lt: options.before } : {}),
    ...(options.after ? { gt: options.after } : {}),
  };
  const rows = await diary().photo.findMany({
    where: {
      lawnId,
      deletedAt: null,
      ...(options.before || options.after ? { takenAt } : {}),
      ...(options.viewpointId ? { viewpointId: options.viewpointId } : {}),
      ...(options.plotId ? await showingPlot(options.plotId) : {}),
    },
    orderBy: { takenAt: options.oldestFirst ? 'asc' : 'desc' },
    take: options.limit,
  });
  return rows.map(narrow);
}

/** Photos whose measuring was cut short: taken up again when the server starts. */
export async function waitingPhotos(): Promise<{ id: string; lawnId: string }[]> {
  return diary().photo.findMany({
    where: { measureState: 'waiting', deletedAt: null },
    select: { id: true, lawnId: true },
    orderBy: { takenAt: 'desc' },
  });
}

/**
 * When the photo was taken that is the `place`-th newest measured one (from 1) up to an instant; null when there are
 * fewer.
 */
export async function measuredPhotoAt(lawnId: string, upTo: Date, place: number): Promise<Date | null> {
  const row = await diary().photo.findFirst({
    where: { lawnId, deletedAt: null, takenAt: { lte: upTo }, readings: { some: {} } },
    orderBy: { takenAt: 'desc' },
    skip: place - 1,
    select: { takenAt: true },
  });
  return row?.takenAt ?? null;
}

/** The hashes of all photos, those in the bin included. */
export async function knownPhotoHashes(): Promise<Set<string>> {
  return new Set((await diary().photo.findMany({ select: { sha256: true } })).map((row) => row.sha256));
}

export async function countPhotos(lawnId: string): Promise<number> {
  return diary().photo.count({ where: { lawnId, deletedAt: null } });
}

/** Moves a photo to the bin; its file stays. */
export async function binPhoto(id: string, at: Date): Promise<void> {
  await diary().photo.update({ where: { id }, data: { deletedAt: at } });
}

/** A photo for a list, with the plots outlined in it. */
export type PhotoShown = Photo & { plotIds: string[] };

/**
 * Photos taken from one instant on and not after another (null: no end), oldest first, each with the plots whose
 * outlines count: at most `limit`.
 */
export async function photosBetween(
  lawnId: string,
  from: Date,
  until: Date | null,
  limit: number,
): Promise<PhotoShown[]> {
  const rows = await diary().photo.findMany({
    where: { lawnId, deletedAt: null, takenAt: { gte: from, ...(until ? { lte: until } : {}) } },
    orderBy: { takenAt: 'asc' },
    take: limit,
    include: { outlines: { where: { accepted: true, plot: { deletedAt: null } }, select: { plotId: true } } },
  });
  return rows.map(({ outlines, ...row }) => ({ ...narrow(row), plotIds: outlines.map((outline) => outline.plotId) }));
}

/**
 * When photos of a span were taken, both ends inside, from where, and which plots' outlines count in each, oldest
 * first: at most `limit`.
 */
export async function plotsPhotographed(
  lawnId: string,
  from: Date,
  until: Date,
  limit: number,
): Promise<{ id: string; takenAt: Date; viewpointId: string | null; plotIds: string[] }[]> {
  const shown = Prisma.sql`(
    SELECT "id", "takenAt", "viewpointId" FROM "Photo" WHERE "lawnId" = ${lawnId} AND "deletedAt" IS NULL AND "takenAt" >= ${instant(from)} AND "takenAt" <= ${instant(until)}
    ORDER BY "takenAt" ASC LIMIT ${Math.min(limit, MOST_ROWS)}) p`;
  const [photos, outlines] = await Promise.all([
    readRows<[string, string, string | null]>(['p."id"', 'p."takenAt"', 'p."viewpointId"'], shown),
    readRows<[string, string]>(
      ['o."photoId"', 'o."plotId"'],
      Prisma.sql`${shown} JOIN "Outline" o ON o."photoId" = p."id" AND o."accepted" AND o."plotId" IN (SELECT "id" FROM "Plot" WHERE "deletedAt" IS NULL)`,
    ),
  ]);
  const found = new Map(
    photos.map(([id, takenAt, viewpointId]) => [
      id,
      { id, takenAt: new Date(takenAt), viewpointId, plotIds: [] as string[] },
    ]),
  );
  for (const [photoId, plotId] of outlines) found.get(photoId)?.plotIds.push(plotId);
  return [...found.values()].sort((a, b) => a.takenAt.getTime() - b.takenAt.getTime());
}

/** More rows than any diary has. */
const MOST_ROWS = 100_000_000;

export interface PhotoCorrection {
  /** Empty for none; made when there is none of this name. */
  readonly viewpointName: string;
  readonly note: string;
  /** When it was taken after all, and what hangs on that; null leaves it. */
  readonly moved: Pick<Photo, 'takenAt' | 'takenAtOffsetMin' | 'takenAtBasis'> | null;
  /** From when to when the patches it shows were seen, by its new time. */
  readonly seen?: readonly { readonly patchId: string; readonly from: Date; readonly to: Date }[];
}

/** Writes a correction, on the photo and on its readings alike: all of it or nothing. */
export async function correctPhotoFacts(
  photo: Pick<Photo, 'id' | 'lawnId'>,
  { viewpointName, note, moved, seen = [] }: PhotoCorrection,
): Promise<void> {
  await diary().$transaction(async (writing) => {
    const where = { lawnId: photo.lawnId, name: viewpointName };
    const viewpoint =
      viewpointName === ''
        ? null
        : await writing.viewpoint.upsert({ where: { lawnId_name: where }, create: where, update: { deletedAt: null } });
    await writing.photo.update({
      where: { id: photo.id },
      data: { viewpointId: viewpoint?.id ?? null, note, ...moved },
    });
    if (moved) await writing.reading.updateMany({ where: { photoId: photo.id }, data: { takenAt: moved.takenAt } });
    // Only patches that a person spoke of have a row.
    for (const { patchId, from, to } of seen)
      await writing.patch.updateMany({ where: { id: patchId }, data: { seenFrom: from, seenTo: to } });
  });
}

/** The photos before and after this one from the same viewpoint. */
export async function neighbours(
  viewpointId: string,
  takenAt: Date,
): Promise<{ earlier: string | null; later: string | null }> {
  const [earlier, later] = await Promise.all([
    diary().photo.findFirst({
      where: { viewpointId, deletedAt: null, takenAt: { lt: takenAt } },
      orderBy: { takenAt: 'desc' },
      select: { id: true },
    }),
    diary().photo.findFirst({
      where: { viewpointId, deletedAt: null, takenAt: { gt: takenAt } },
      orderBy: { takenAt: 'asc' },
      select: { id: true },
    }),
  ]);
  return { earlier: earlier?.id ?? null, later: later?.id ?? null };
}

/** When photos were taken in a span, oldest first. */
export async function photoMoments(lawnId: string, from: Date, to: Date): Promise<{ id: string; takenAt: Date }[]> {
  return diary().photo.findMany({
    where: { lawnId, deletedAt: null, takenAt: { gte: from, lt: to } },
    orderBy: { takenAt: 'asc' },
    select: { id: true, takenAt: true },
  });
}
