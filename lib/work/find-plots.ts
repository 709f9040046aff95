import 'server-only';
import { decodePhoto } from '@/lib/darkroom/decode';
import { focalOf } from '@/lib/darkroom/exif';
import { registerPair } from '@/lib/lineup/register';
import { agreeOrDoubt } from '@/lib/photo/agree';
import { composeHomographies, applyHomography, type Homography } from '@/lib/photo/homography';
import { fitHomography } from '@/lib/photo/homography-fit';
import type { Pixels, Point, Polygon } from '@/lib/photo/pixels';

/** An earlier photo of the viewpoint and where its plots lie. */
export interface KnownPhoto {
  readonly path: string;
  /** How its camera was held, where the phone's sensor told. */
  readonly tilt?: { readonly pitchDeg: number; readonly rollDeg: number | null };
  readonly plots: readonly { readonly id: string; readonly corners: Polygon }[];
}

export interface FindRequest {
  readonly after: string;
  readonly last: KnownPhoto;
  /** The viewpoint's reference photo, when it is another than the last. */
  readonly reference?: KnownPhoto;
}

export interface FoundPlots {
  /** Sure enough to count at once; else the corners are a best guess to be looked at. */
  readonly sure: boolean;
  /** 0..1, of the registration that gave the corners; 0.5 is the limit. */
  readonly confidence: number;
  readonly corners: Readonly<Record<string, Point[]>>;
}

/**
 * Finds the plots of a viewpoint in a new photo: by way of its last photo, and straight from its reference photo, so that
 * small errors can't add up from photo to photo. The two ways must end at the same place. Runs on the comparing thread.
 */
export async function findPlots({ after, last, reference }: FindRequest): Promise<FoundPlots> {
  const { pixels } = await decodePhoto(after);
  const later: Later = { pixels, focal: await focalOf(after, pixels) };
  const fromLast = await register(last, later);
  const carried = (map: Homography, known: KnownPhoto) => Object.fromEntries(known.plots.map((plot) => [plot.id, plot.corners.map((corner) => applyHomography(map, corner))]));
  const simple: FoundPlots = { sure: fromLast.status === 'ok', confidence: fromLast.confidence, corners: carried(fromLast.homography, last) };
  if (!reference) return simple;
  const shared = last.plots.flatMap((plot) => {
    const other = reference.plots.find((candidate) => candidate.id === plot.id && candidate.corners.length === plot.corners.length);
    return other ? [{ reference: other.corners, last: plot.corners }] : [];
  });
  const between = shared.length === 0 ? null : fitHomography(shared.flatMap((plot) => [...plot.reference]), shared.flatMap((plot) => [...plot.last]));
  if (between === null) return simple;
  const direct = await register(reference, later);
  const agreement = agreeOrDoubt(
    { fromReference: direct.homography, accepted: direct.status === 'ok' },
    { fromReference: composeHomographies(fromLast.homography, between), accepted: fromLast.status === 'ok' },
    shared.map((plot) => plot.reference),
    Math.hypot(pixels.width, pixels.height),
  );
  const used = direct.status === 'ok' || fromLast.status !== 'ok' ? direct : fromLast;
  const known = { ...last, plots: last.plots.filter((plot) => !reference.plots.some((other) => other.id === plot.id)) };
  return {
    sure: agreement.verdict !== 'doubt',
    confidence: used.confidence,
    corners: { ...carried(fromLast.homography, known), ...carried(agreement.fromReference, reference) },
  };
}

interface Later {
  readonly pixels: Pixels;
  readonly focal: number | undefined;
}

async function register(known: KnownPhoto, after: Later) {
  const { pixels } = await decodePhoto(known.path);
  return registerPair(pixels, after.pixels, {
    plotCornersBefore: known.plots.map((plot) => plot.corners),
    tiltBefore: known.tilt,
    focal: [await focalOf(known.path, pixels), after.focal],
  });
}
