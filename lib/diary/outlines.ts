import 'server-only';
import { pointsOf } from '@/lib/photo/raster/points';
import type { Prisma } from '@prisma/client';
import type { Point } from '@/lib/photo/raster/pixels';
import { diary } from './client';
import type { KeptCaution } from './photos';

/**
 * How an outline came to be: by hand, copied as a guess, by lining the photo up, by plot cards, or from corners known
 * exactly.
 */
export type OutlineOrigin = 'drawn' | 'copied' | 'lined-up' | 'cards' | 'surveyed';

export interface Outline {
  plotId: string;
  plotName: string;
  isCheck: boolean;
  corners: Point[];
  origin: OutlineOrigin;
  confidence: number | null;
  accepted: boolean;
}

export interface OutlineInput {
  plotId: string;
  corners: readonly Point[];
  origin: OutlineOrigin;
  confidence?: number | null;
  accepted: boolean;
}

/** The outlines in a photo, the check first. */
export async function listOutlines(photoId: string): Promise<Outline[]> {
  const rows = await diary().outline.findMany({
    where: { photoId, plot: { deletedAt: null } },
    include: { plot: { select: { name: true, isCheck: true } } },
    orderBy: [{ plot: { isCheck: 'desc' } }, { plot: { name: 'asc' } }],
  });
  return rows.map((row) => ({
    plotId: row.plotId,
    plotName: row.plot.name,
    isCheck: row.plot.isCheck,
    corners: pointsOf(row.corners),
    origin: row.origin as OutlineOrigin,
    confidence: row.confidence,
    accepted: row.accepted,
  }));
}

/**
 * Sets a photo's outlines to exactly these, as a person gave them: lining up leaves them alone from then on. Plots in
 * the bin keep theirs; readings follow by their fingerprint.
 */
export async function replaceOutlines(photoId: string, outlines: readonly OutlineInput[]): Promise<void> {
  await diary().$transaction((tx) => write(tx, photoId, outlines, BY_PERSON));
}

/**
 * Puts outlines that lining up found in place of those found before.
 * @param seen the fingerprint the photo's outlines had when the search began: when a person set them meanwhile, theirs
 *   stay
 * @returns false when they stayed
 */
export async function replaceFoundOutlines(
  photoId: string,
  outlines: readonly OutlineInput[],
  { key, seen, caution }: { key: string; seen: string | null; caution?: KeptCaution },
): Promise<boolean> {
  return diary().$transaction(async (tx) => {
    const mine = await tx.photo.updateMany({
      where: { id: photoId, outlinesKey: seen, outlines: { none: { origin: { in: ['drawn', 'surveyed'] } } } },
      data: { outlinesKey: key, ...(caution ? { cautions: [{ ...caution }] } : {}) },
    });
    if (mine.count === 0) return false;
    await write(tx, photoId, outlines, key);
    return true;
  });
}

/** What stands in the place of a fingerprint where a person set the outlines. */
export const BY_PERSON = 'person';

async function write(
  tx: Prisma.TransactionClient,
  photoId: string,
  outlines: readonly OutlineInput[],
  outlinesKey: string,
): Promise<void> {
  await tx.outline.deleteMany({
    where: { photoId, plotId: { notIn: outlines.map((outline) => outline.plotId) }, plot: { deletedAt: null } },
  });
  for (const outline of outlines) {
    const data = {
      corners: outline.corners.map(([x, y]) => [x, y]),
      origin: outline.origin,
      confidence: outline.confidence ?? null,
      accepted: outline.accepted,
    };
    await tx.outline.upsert({
      where: { photoId_plotId: { photoId, plotId: outline.plotId } },
      create: { photoId, plotId: outline.plotId, ...data },
      update: data,
    });
  }
  await tx.photo.update({ where: { id: photoId }, data: { outlinesKey } });
}

/** How many outlined photos on each side are asked what is seen from a viewpoint. */
const PHOTOS_ASKED = 3;

/** Plots with accepted outlines in other photos of a viewpoint: those of the photo nearest in time first, each once. */
export async function plotsOutlinedFrom(viewpointId: string, takenAt: Date, exceptPhotoId: string): Promise<string[]> {
  const outlined = { viewpointId, deletedAt: null, id: { not: exceptPhotoId }, outlines: { some: { accepted: true } } };
  const select = {
    takenAt: true,
    outlines: {
      where: { accepted: true, plot: { deletedAt: null } },
      select: { plotId: true },
      orderBy: [{ plot: { isCheck: 'desc' } }, { plot: { name: 'asc' } }],
    },
  } satisfies Prisma.PhotoSelect;
  const [before, after] = await Promise.all([
    diary().photo.findMany({
      where: { ...outlined, takenAt: { lte: takenAt } },
      orderBy: { takenAt: 'desc' },
      take: PHOTOS_ASKED,
      select,
    }),
    diary().photo.findMany({
      where: { ...outlined, takenAt: { gt: takenAt } },
      orderBy: { takenAt: 'asc' },
      take: PHOTOS_ASKED,
      select,
    }),
  ]);
  const apart = (photo: { takenAt: Date }) => Math.abs(photo.takenAt.getTime() - takenAt.getTime());
  const nearestFirst = [...before, ...after].sort((a, b) => apart(a) - apart(b));
  return [...new Set(nearestFirst.flatMap((photo) => photo.outlines.map((outline) => outline.plotId)))];
}
