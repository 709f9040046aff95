import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';
import { holdPhoto } from './hold-photo';
import { inParts } from './in-parts';

type Row = Prisma.ReadingGetPayload<object>;

/** What one plot measured in one photo (see the column notes in prisma/schema.prisma). */
export type Reading = Omit<Row, 'blocks' | 'parameters'>;

const withoutBlocks = { blocks: true, parameters: true } as const;

export type ReadingInput = Omit<Prisma.ReadingUncheckedCreateInput, 'id' | 'photoId' | 'createdAt'>;

/**
 * Puts a photo's readings in place of the earlier ones under the fingerprint of what they rest on, notes its cautions
 * and marks it measured: one transaction.
 */
export async function saveReadings(
  photoId: string,
  readings: readonly ReadingInput[],
  cautions: Prisma.InputJsonValue,
  key: string | null = null,
): Promise<void> {
  await diary().$transaction([
    holdPhoto(photoId),
    diary().reading.deleteMany({ where: { photoId } }),
    ...readings.map((reading) => diary().reading.create({ data: { photoId, ...reading } })),
    diary().photo.update({
      where: { id: photoId },
      data: { measureState: 'measured', measureMessage: null, cautions, readingsKey: key },
    }),
  ]);
}

/**
 * Notes why a photo's readings could not be made; where another process has made them meanwhile, they stand.
 * @param key the fingerprint of what was refused
 */
export async function keepFailure(photoId: string, message: string, key: string): Promise<void> {
  await diary().$transaction([
    diary().photo.updateMany({
      where: {
        id: photoId,
        OR: [{ measureState: { not: 'measured' } }, { readingsKey: null }, { readingsKey: { not: key } }],
      },
      data: { measureState: 'failed', measureMessage: message, readingsKey: key },
    }),
    diary().reading.deleteMany({ where: { photoId, photo: { measureState: 'failed' } } }),
  ]);
}

export async function readingsOfPhoto(photoId: string): Promise<Reading[]> {
  return diary().reading.findMany({ where: { photoId, plot: { deletedAt: null } }, omit: withoutBlocks });
}

/** Block sums of a photo's readings, for intervals of differences and the map. */
export async function blocksOfPhoto(photoId: string): Promise<{ plotId: string; blocks: unknown }[]> {
  return diary().reading.findMany({ where: { photoId }, select: { plotId: true, blocks: true } });
}

/** All readings of a lawn's plots between two instants, oldest first, with what a chart needs to doubt them. */
export async function readingsOfLawn(lawnId: string, from: Date, to: Date) {
  // By way of the photos: their index knows the lawn and the day, the readings' own only the plot.
  const photos = await diary().photo.findMany({
    where: { lawnId, deletedAt: null, takenAt: { gte: from, lte: to } },
    orderBy: { takenAt: 'asc' },
    select: { id: true },
  });
  return inParts(
    photos.map((photo) => photo.id),
    (photoIds) =>
      diary().reading.findMany({
        where: { photoId: { in: photoIds }, plot: { deletedAt: null } },
        omit: withoutBlocks,
        include: {
          plot: { select: { name: true, isCheck: true } },
          photo: { select: { viewpointId: true, fileName: true } },
        },
        orderBy: { takenAt: 'asc' },
      }),
  );
}

/** Readings of several photos at once, keyed by photo for a list page. */
export async function readingsOfPhotos(
  photoIds: readonly string[],
): Promise<Map<string, { plotName: string; isCheck: boolean; dgci: number | null }[]>> {
  const rows = await diary().reading.findMany({
    where: { photoId: { in: [...photoIds] }, plot: { deletedAt: null } },
    select: { photoId: true, dgci: true, plot: { select: { name: true, isCheck: true } } },
    orderBy: [{ plot: { isCheck: 'desc' } }, { plot: { name: 'asc' } }],
  });
  const byPhoto = new Map<string, { plotName: string; isCheck: boolean; dgci: number | null }[]>();
  for (const row of rows) {
    const list = byPhoto.get(row.photoId) ?? [];
    list.push({ plotName: row.plot.name, isCheck: row.plot.isCheck, dgci: row.dgci });
    byPhoto.set(row.photoId, list);
  }
  return byPhoto;
}
