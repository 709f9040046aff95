import 'server-only';
import { readFile } from 'node:fs/promises';
import { abovePixels, abovePrint } from '@/lib/darkroom/above';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto } from '@/lib/diary/photos';
import { findPlot, type Plot } from '@/lib/diary/plots';
import { dataFolder } from '@/lib/forms/environment';

/**
 * One plot of a photo from straight above, as JPEG bytes; null when the photo has no accepted four-cornered outline of
 * it.
 */
export async function plotFromAbove(photoId: string, plotId: string): Promise<Uint8Array | null> {
  const [photo, plot, outlines] = await Promise.all([findPhoto(photoId), findPlot(plotId), listOutlines(photoId)]);
  const outline = outlines.find(
    (candidate) => candidate.plotId === plotId && candidate.accepted && candidate.corners.length === 4,
  );
  if (!photo || !plot || !outline) return null;
  return readFile(
    await abovePrint(
      dataFolder(),
      { sha256: photo.sha256, kind: photo.kind as PhotoKind },
      photo.widthPx,
      outline.corners,
      groundSize(plot),
    ),
  );
}

function groundSize(plot: Pick<Plot, 'polygonM'>): { widthM: number; lengthM: number } | null {
  const xs = plot.polygonM?.map(([x]) => x) ?? [];
  const ys = plot.polygonM?.map(([, y]) => y) ?? [];
  return xs.length === 4
    ? { widthM: Math.max(...xs) - Math.min(...xs), lengthM: Math.max(...ys) - Math.min(...ys) }
    : null;
}

/** How large the pictures of a plot from above are, pixels: room is kept for them before they come. */
export const sizeFromAbove = (plot: Pick<Plot, 'polygonM'>): { width: number; height: number } =>
  abovePixels(groundSize(plot));
