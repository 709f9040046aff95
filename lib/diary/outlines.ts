import 'server-only';
import type { Prisma } from '@prisma/client';
import type { Point } from '@/lib/photo/pixels';
import { diary } from './client';

/** How an outline came to be: by hand, copied as a guess, by lining the photo up, by plot cards, or from corners known exactly. */
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
    corners: row.corners as unknown as Point[],
    origin: row.origin as OutlineOrigin,
    confidence: row.confidence,
    accepted: row.accepted,
  }));
}

/** Sets a photo's outlines to exactly these, and drops the readings of plots that are no longer outlined. Plots in the bin keep theirs. */
export async function replaceOutlines(photoId: string, outlines: readonly OutlineInput[]): Promise<void> {
  const kept = outlines.map((outline) => outline.plotId);
  await diary().$transaction([
    diary().outline.deleteMany({ where: { photoId, plotId: { notIn: kept }, plot: { deletedAt: null } } }),
    diary().reading.deleteMany({ where: { photoId, plotId: { notIn: kept }, plot: { deletedAt: null } } }),
    ...outlines.map((outline) => {
      const data = {
        corners: outline.corners as unknown as Prisma.InputJsonValue,
        origin: outline.origin,
        confidence: outline.confidence ?? null,
        accepted: outline.accepted,
      };
      return diary().outline.upsert({
        where: { photoId_plotId: { photoId, plotId: outline.plotId } },
        create: { photoId, plotId: outline.plotId, ...data },
        update: data,
      });
    }),
    diary().photo.update({ where: { id: photoId }, data: { measureState: 'waiting', measureMessage: null } }),
  ]);
}

/** How many outlined photos on each side are asked what is seen from a viewpoint. */
const PHOTOS_ASKED = 3;

/** Plots with accepted outlines in other photos of a viewpoint: those of the photo nearest in time first, each once. */
export async function plotsOutlinedFrom(viewpointId: string, takenAt: Date, exceptPhotoId: string): Promise<string[]> {
  const outlined = { viewpointId, deletedAt: null, id: { not: exceptPhotoId }, outlines: { some: { accepted: true } } };
  const select = {
    takenAt: true,
    outlines: { where: { accepted: true, plot: { deletedAt: null } }, select: { plotId: true }, orderBy: [{ plot: { isCheck: 'desc' } }, { plot: { name: 'asc' } }] },
  } satisfies Prisma.PhotoSelect;
  const [before, after] = await Promise.all([
    diary().photo.findMany({ where: { ...outlined, takenAt: { lte: takenAt } }, orderBy: { takenAt: 'desc' }, take: PHOTOS_ASKED, select }),
    diary().photo.findMany({ where: { ...outlined, takenAt: { gt: takenAt } }, orderBy: { takenAt: 'asc' }, take: PHOTOS_ASKED, select }),
  ]);
  const apart = (photo: { takenAt: Date }) => Math.abs(photo.takenAt.getTime() - takenAt.getTime());
  const nearestFirst = [...before, ...after].sort((a, b) => apart(a) - apart(b));
  return [...new Set(nearestFirst.flatMap((photo) => photo.outlines.map((outline) => outline.plotId)))];
}
