import 'server-only';
import { listOutlines } from '@/lib/diary/outlines';
import type { Photo } from '@/lib/diary/photos';
import type { Point } from '@/lib/photo/raster/pixels';
import { changesIn, type PlotChange } from './changes';
import { differencesToCheck, type PlotDifference } from './differences';
import { isNews, marksOfPhotos, type Mark } from './marks';

/** One plot in two photos: how it stood beside the check in each, and what changed by the one definition. */
export interface ComparedPlot {
  readonly plotId: string;
  readonly name: string;
  readonly isCheck: boolean;
  readonly before: PlotDifference | null;
  readonly after: PlotDifference | null;
  /** The later photo's change since its own baseline, which need not be the earlier photo. */
  readonly change: PlotChange | null;
}

export interface CompareView {
  readonly outlines: readonly { readonly plotId: string; readonly name: string; readonly corners: readonly Point[] }[];
  /** Of the later photo. */
  readonly marks: readonly Mark[];
  readonly plots: readonly ComparedPlot[];
  readonly pending: number;
}

/**
 * What is drawn over and stands under two photos: outlines and marks of the later one, readings of both. What isn't up
 * to date is left out.
 */
export async function compareView(lawnId: string, before: Photo, after: Photo): Promise<CompareView> {
  const [{ changes, pending }, outlines, earlier, marks] = await Promise.all([
    changesIn(lawnId, [before.id, after.id]),
    listOutlines(after.id),
    listOutlines(before.id),
    marksOfPhotos(lawnId, [after.id]),
  ]);
  const accepted = outlines.filter((outline) => outline.accepted);
  const check = accepted.find((outline) => outline.isCheck);
  const known = async (photoId: string, has: boolean) =>
    check && has && !pending.has(photoId)
      ? differencesToCheck(photoId, check.plotId)
      : new Map<string, PlotDifference>();
  const [was, is] = await Promise.all([
    known(
      before.id,
      earlier.some((outline) => outline.accepted && outline.plotId === check?.plotId),
    ),
    known(after.id, true),
  ]);
  return {
    outlines: accepted.map(({ plotId, plotName, corners }) => ({ plotId, name: plotName, corners })),
    marks: pending.has(after.id) ? [] : marks.filter(isNews),
    plots: accepted.map(({ plotId, plotName, isCheck }) => ({
      plotId,
      name: plotName,
      isCheck,
      before: was.get(plotId) ?? null,
      after: is.get(plotId) ?? null,
      change:
        changes.find(
          (change) =>
            change.photoId === after.id && change.plotId === plotId && change.sinceSpray && !change.isBaseline,
        ) ?? null,
    })),
    pending: pending.size,
  };
}
