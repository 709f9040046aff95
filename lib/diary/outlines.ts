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
