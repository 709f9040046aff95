import 'server-only';
import { photoPath } from '@/lib/darkroom/shelf';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { replaceFoundOutlines } from '@/lib/diary/outlines';
import type { PhotoState } from '@/lib/diary/worked-out';
import { dataFolder } from '@/lib/forms/environment';
import { findPlotsOf } from './comparer';
import type { KnownPhoto } from './find-plots';

export const fileOf = (photo: Pick<PhotoState, 'sha256' | 'kind'>): string => photoPath(dataFolder(), photo.sha256, photo.kind as PhotoKind);

function knownPhoto(photo: PhotoState): KnownPhoto {
  const plots = photo.outlines.filter((outline) => outline.accepted && outline.corners.length === 4 && !outline.plotBinned);
  return { path: fileOf(photo), plots: plots.map((outline) => ({ id: outline.plotId, corners: outline.corners })) };
}

/** Finds the viewpoint's plots in this photo. Sure: they count at once. Unsure: the best guess waits for a person. */
export async function lineUpPhoto(photo: PhotoState, source: { last: PhotoState; reference: PhotoState | null }, key: string): Promise<void> {
  const last = knownPhoto(source.last);
  const answer = await findPlotsOf({ after: fileOf(photo), last, ...(source.reference ? { reference: knownPhoto(source.reference) } : {}) });
  const found = 'found' in answer ? answer.found : null;
  const scaleX = photo.widthPx / source.last.widthPx;
  const scaleY = photo.heightPx / source.last.heightPx;
  await replaceFoundOutlines(
    photo.id,
    last.plots.map((plot) => ({
      plotId: plot.id,
      corners: found?.corners[plot.id] ?? plot.corners.map(([x, y]) => [(x + 0.5) * scaleX - 0.5, (y + 0.5) * scaleY - 0.5] as const),
      origin: found?.sure ? 'lined-up' : 'copied',
      confidence: found?.confidence ?? null,
      accepted: found?.sure ?? false,
    })),
    { key, seen: photo.outlinesKey },
  );
}
