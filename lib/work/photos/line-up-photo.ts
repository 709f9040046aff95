import 'server-only';
import { originalOf } from '@/lib/darkroom/originals';
import { printPath } from '@/lib/darkroom/prints';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { replaceFoundOutlines } from '@/lib/diary/outlines';
import type { PhotoState } from '@/lib/diary/worked-out';
import { dataFolder } from '@/lib/forms/environment';
import { findPlotsByCardsIn, findPlotsOf } from './comparer';
import type { KnownPhoto } from './find-plots';
import type { GroundPlan } from './find-plots-by-cards';
import { PLOT_CARDS } from './measure-photo';
import type { PlaceSource } from './viewpoint-place';

export const fileOf = (photo: Pick<PhotoState, 'sha256' | 'kind'>): Promise<string> =>
  originalOf(dataFolder(), { sha256: photo.sha256, kind: photo.kind as PhotoKind });

async function knownPhoto(photo: PhotoState): Promise<KnownPhoto> {
  const plots = photo.outlines.filter(
    (outline) => outline.accepted && outline.corners.length === 4 && !outline.plotBinned,
  );
  const tilt =
    photo.cameraPitchDeg === null ? {} : { tilt: { pitchDeg: photo.cameraPitchDeg, rollDeg: photo.cameraRollDeg } };
  return {
    path: await fileOf(photo),
    ...tilt,
    plots: plots.map((outline) => ({ id: outline.plotId, corners: outline.corners })),
  };
}

async function placeOf(reference: PhotoState, learned: LineUpSource['learned']): Promise<{ place?: PlaceSource }> {
  if (learned.length === 0) return {};
  const lessons = await Promise.all(learned.map(async ({ photo, key }) => ({ photo: await knownPhoto(photo), key })));
  return {
    place: {
      prefix: printPath(dataFolder(), reference.sha256, 'place-'),
      reference: await knownPhoto(reference),
      learned: lessons,
    },
  };
}

/**
 * Finds plots by plot cards lying in the photo: exact, and no earlier photo is needed.
 * @returns false when the photo shows none
 */
export async function placeByCards(photo: PhotoState, plan: GroundPlan, key: string): Promise<boolean> {
  const found = await findPlotsByCardsIn({ path: await fileOf(photo), plan });
  if (!found) return false;
  const outlines = Object.entries(found.corners).map(([plotId, corners]) => ({
    plotId,
    corners,
    origin: 'cards' as const,
    confidence: found.confidence,
    accepted: true,
  }));
  await replaceFoundOutlines(photo.id, outlines, {
    key,
    seen: photo.outlinesKey,
    caution: { code: PLOT_CARDS, sentence: found.sentence },
  });
  return true;
}

/** The photos that a photo is lined up by. */
export interface LineUpSource {
  readonly last: PhotoState;
  /** The viewpoint's reference photo, when it is another than the last. */
  readonly reference: PhotoState | null;
  /** What the viewpoint's map is learned from beside the reference, with a name for all up to each. */
  readonly learned: readonly { readonly photo: PhotoState; readonly key: string }[];
}

/** Finds the viewpoint's plots in this photo. Sure: they count at once. Unsure: the best guess waits for a person. */
export async function lineUpPhoto(photo: PhotoState, source: LineUpSource, key: string): Promise<void> {
  const last = await knownPhoto(source.last);
  const answer = await findPlotsOf({
    after: await fileOf(photo),
    last,
    ...(source.reference
      ? { reference: await knownPhoto(source.reference), ...(await placeOf(source.reference, source.learned)) }
      : {}),
  });
  const found = 'found' in answer ? answer.found : null;
  const scaleX = photo.widthPx / source.last.widthPx;
  const scaleY = photo.heightPx / source.last.heightPx;
  await replaceFoundOutlines(
    photo.id,
    last.plots.map((plot) => ({
      plotId: plot.id,
      corners:
        found?.corners[plot.id] ??
        plot.corners.map(([x, y]) => [(x + 0.5) * scaleX - 0.5, (y + 0.5) * scaleY - 0.5] as const),
      origin: found?.sure ? 'lined-up' : 'copied',
      confidence: found?.confidence ?? null,
      accepted: found?.sure ?? false,
    })),
    { key, seen: photo.outlinesKey },
  );
}
