import 'server-only';
import { findPhoto, updatePhoto } from '@/lib/diary/photos';
import { listPlots } from '@/lib/diary/plots';
import { listOutlines, replaceOutlines } from '@/lib/diary/outlines';
import { boardIds } from '@/lib/forms/photo-form';
import type { Point } from '@/lib/photo/raster/pixels';
import { polygonArea } from '@/lib/photo/raster/region';
import { workIsElsewhere } from '@/lib/diary/work-queue';
import { askRenewalOf } from './ask-renewal';
import { renewPhoto } from './worked-out';

/** Sets a photo's outlines as a person drew or accepted them, and measures them. */
export async function outlinePlots(
  photoId: string,
  drawn: readonly { plotId: string; corners: [number, number][] }[],
  origin: 'drawn' | 'surveyed' = 'drawn',
): Promise<{ ok: boolean; message: string }> {
  const photo = await findPhoto(photoId);
  if (!photo) return { ok: false, message: 'Photo: expected one of this diary, got one that is not there any more.' };
  const outlines = drawn.filter((outline) => outline.plotId !== boardIds.greyCard && outline.plotId !== boardIds.chart);
  const boardCorners = (id: string) => drawn.find((outline) => outline.plotId === id)?.corners;
  const plots = new Map((await listPlots(photo.lawnId)).map((plot) => [plot.id, plot]));
  for (const outline of outlines) {
    const plot = plots.get(outline.plotId);
    if (!plot)
      return { ok: false, message: 'Outline: expected a plot of this lawn, got one that is not there any more.' };
    if (Math.abs(polygonArea(outline.corners)) < 100) {
      return {
        ok: false,
        message: `Outline of ${plot.name}: expected at least 100 pixels inside, got a line or a dot.`,
      };
    }
  }
  const before = new Map((await listOutlines(photoId)).map((outline) => [outline.plotId, outline]));
  await replaceOutlines(
    photoId,
    outlines.map(({ plotId, corners }) => {
      // An outline that was left as it lay keeps what is known of how it came to be.
      const same = before.get(plotId);
      const kept = same?.accepted && JSON.stringify(same.corners) === JSON.stringify(corners);
      return {
        plotId,
        corners: corners as Point[],
        origin: kept ? same.origin : origin,
        confidence: kept ? same.confidence : null,
        accepted: true,
      };
    }),
  );
  await updatePhoto(photoId, {
    greyCard: boardCorners(boardIds.greyCard) ?? [],
    chart: boardCorners(boardIds.chart) ?? [],
  });
  // What went wrong is tried again when a person asks, though nothing has changed.
  if (photo.measureState === 'failed') await updatePhoto(photoId, { readingsKey: null });
  if (photo.cautions.some((caution) => caution.code === 'not-compared'))
    await updatePhoto(photoId, { comparisonKey: null });
  if (workIsElsewhere()) {
    await askRenewalOf(photoId);
    return {
      ok: true,
      message:
        outlines.length === 0
          ? 'Kept: nothing is outlined in this photo.'
          : `Kept ${outlines.length} ${outlines.length === 1 ? 'outline' : 'outlines'}; the photo is being read.`,
    };
  }
  const { renewed, failed } = await renewPhoto(photoId);
  if (failed !== null) return { ok: false, message: failed };
  if (outlines.length === 0)
    return {
      ok: true,
      message:
        before.size > 0
          ? 'Outlines removed; nothing is measured in this photo.'
          : 'No plot is outlined in this photo, so nothing is measured.',
    };
  if (!renewed) return { ok: true, message: 'Nothing has changed since this photo was measured.' };
  return { ok: true, message: `Measured ${outlines.length} ${outlines.length === 1 ? 'plot' : 'plots'}.` };
}
