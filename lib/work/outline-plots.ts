import 'server-only';
import { findPhoto, updatePhoto } from '@/lib/diary/photos';
import { listPlots } from '@/lib/diary/plots';
import { listOutlines, replaceOutlines } from '@/lib/diary/outlines';
import { boardIds } from '@/lib/forms/photo-form';
import type { Point } from '@/lib/photo/pixels';
import { polygonArea } from '@/lib/photo/region';
import { measurePhoto } from './measure-photo';
import { compareWithBaseline } from './read-photo';

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
    if (!plot) return { ok: false, message: 'Outline: expected a plot of this lawn, got one that is not there any more.' };
    if (Math.abs(polygonArea(outline.corners)) < 100) {
      return { ok: false, message: `Outline of ${plot.name}: expected at least 100 pixels inside, got a line or a dot.` };
    }
  }
  const had = (await listOutlines(photoId)).length;
  await replaceOutlines(
    photoId,
    outlines.map((outline) => ({ plotId: outline.plotId, corners: outline.corners as Point[], origin, accepted: true })),
  );
  await updatePhoto(photoId, { greyCard: boardCorners(boardIds.greyCard) ?? [], chart: boardCorners(boardIds.chart) ?? [] });
  const measured = await measurePhoto(photoId);
  if (!measured.ok) return measured;
  await compareWithBaseline(photoId);
  if (outlines.length === 0) return { ok: true, message: had > 0 ? 'Outlines removed; nothing is measured in this photo.' : 'No plot is outlined in this photo, so nothing is measured.' };
  return { ok: true, message: `Measured ${outlines.length} ${outlines.length === 1 ? 'plot' : 'plots'}.` };
}
