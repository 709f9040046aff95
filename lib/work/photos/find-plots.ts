import 'server-only';
import { focalOf } from '@/lib/darkroom/exif';
import { photoAtHand } from '@/lib/darkroom/photos-at-hand';
import { registerPair } from '@/lib/lineup/register';
import { locateBy } from '@/lib/lineup/locate';
import { agreeOrDoubt, heldToPlace } from '@/lib/photo/ground/agree';
import { composeHomographies, applyHomography, invertHomography, type Homography } from '@/lib/photo/ground/homography';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import type { Pixels, Point, Polygon } from '@/lib/photo/raster/pixels';
import { placeMapOf, seenIn, sharedCorners, type PlaceSource } from './viewpoint-place';

/** An earlier photo of the viewpoint and where its plots lie. */
export interface KnownPhoto {
  readonly path: string;
  /** How its camera was held, where the phone's sensor told. */
  readonly tilt?: { readonly pitchDeg: number; readonly rollDeg: number | null };
  readonly plots: readonly { readonly id: string; readonly corners: Polygon }[];
}

export interface FindPlotsRequest {
  readonly after: string;
  readonly last: KnownPhoto;
  /** The viewpoint's reference photo, when it is another than the last. */
  readonly reference?: KnownPhoto;
  /** What the viewpoint's map is learned from, once two of its photos have outlines. */
  readonly place?: PlaceSource;
}

export interface FoundPlots {
  /** Sure enough to count at once; else the corners are a best guess to be looked at. */
  readonly sure: boolean;
  /** 0..1, of the registration that gave the corners; 0.5 is the limit. */
  readonly confidence: number;
  readonly corners: Readonly<Record<string, Point[]>>;
}

/**
 * Finds the plots of a viewpoint in a new photo: by way of its last photo, and straight from its reference photo, so
 * that small errors can't add up from photo to photo. The two ways must end at the same place, and where the
 * viewpoint's map of lasting points puts the ground. Runs on the comparing thread.
 */
export async function findPlots({ after, last, reference, place }: FindPlotsRequest): Promise<FoundPlots> {
  const { pixels } = await photoAtHand(after);
  const later: Later = { pixels, focal: await focalOf(after, pixels) };
  const fromLast = await register(last, later);
  const carried = (map: Homography, known: KnownPhoto) =>
    Object.fromEntries(
      known.plots.map((plot) => [plot.id, plot.corners.map((corner) => applyHomography(map, corner))]),
    );
  const simple: FoundPlots = {
    sure: fromLast.status === 'ok',
    confidence: fromLast.confidence,
    corners: carried(fromLast.homography, last),
  };
  if (!reference) return simple;
  const shared = sharedCorners(reference, last);
  const between = shared.reference.length === 0 ? null : fitHomography(shared.reference, shared.other);
  if (between === null) return simple;
  const direct = await register(reference, later);
  const ways = [
    { fromReference: direct.homography, accepted: direct.status === 'ok', confidence: direct.confidence },
    {
      fromReference: composeHomographies(fromLast.homography, between),
      accepted: fromLast.status === 'ok',
      confidence: fromLast.confidence,
    },
  ] as const;
  const diagonal = Math.hypot(pixels.width, pixels.height);
  const byPlace = place ? locateBy(await placeMapOf(place), await seenIn(after, pixels), shared.reference) : null;
  const agreement = heldToPlace(
    agreeOrDoubt(...ways, [shared.reference], diagonal),
    ways,
    byPlace,
    [shared.reference],
    diagonal,
  );
  const used = direct.status === 'ok' || fromLast.status !== 'ok' ? direct : fromLast;
  const onlyInLast = {
    ...last,
    plots: last.plots.filter((plot) => !reference.plots.some((other) => other.id === plot.id)),
  };
  const back = invertHomography(between);
  const byAgreed =
    fromLast.status === 'ok' || back === null
      ? fromLast.homography
      : composeHomographies(agreement.fromReference, back);
  const sure = agreement.verdict !== 'doubt';
  return {
    sure,
    // What the map confirmed stands at the limit.
    confidence: sure ? Math.max(0.5, used.confidence) : used.confidence,
    corners: { ...carried(byAgreed, onlyInLast), ...carried(agreement.fromReference, reference) },
  };
}

interface Later {
  readonly pixels: Pixels;
  readonly focal: number | undefined;
}

async function register(known: KnownPhoto, after: Later) {
  const { pixels } = await photoAtHand(known.path);
  return registerPair(pixels, after.pixels, {
    plotCornersBefore: known.plots.map((plot) => plot.corners),
    tiltBefore: known.tilt,
    focal: [await focalOf(known.path, pixels), after.focal],
  });
}
