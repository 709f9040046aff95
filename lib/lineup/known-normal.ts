import 'server-only';
import { homographyFrom4, invertHomography } from '@/lib/photo/ground/homography';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import type { Point, Polygon } from '@/lib/photo/raster/pixels';
import type { KnownNormal } from './ground';
import type { Sized } from './refine';

export interface NormalSources {
  readonly plotCornersBefore?: readonly Polygon[] | undefined;
  readonly plotMetresBefore?: readonly (Polygon | undefined)[] | undefined;
  readonly tiltBefore?: { readonly pitchDeg: number; readonly rollDeg: number | null } | undefined;
}

/**
 * Standard deviations, radians: a sensor's reading on a lawn that may slope; a horizon carried out from outlined
 * corners.
 */
const BY_TILT = 0.05;
const BY_METRES = 0.08;

/** Which way the ground lies in the earlier photo, from the phone's tilt or else from the plots' metres. */
export function knownNormal(from: NormalSources, focal: number, size: Sized): KnownNormal | undefined {
  const { tiltBefore } = from;
  if (tiltBefore && tiltBefore.rollDeg !== null) {
    return {
      pitch: (-tiltBefore.pitchDeg * Math.PI) / 180,
      roll: (tiltBefore.rollDeg * Math.PI) / 180,
      sd: BY_TILT,
      sure: true,
    };
  }
  const corners: Point[] = [];
  const metres: Point[] = [];
  from.plotCornersBefore?.forEach((plot, k) => {
    const ground = from.plotMetresBefore?.[k];
    if (ground?.length === 4 && plot.length === 4) {
      corners.push(...plot);
      metres.push(...ground);
    }
  });
  if (corners.length < 4) return undefined;
  return normalOf(metres, corners, focal, size);
}

/**
 * The ground's normal where the line at infinity of its metres is the horizon; all plots together when they share a
 * frame.
 */
function normalOf(
  metres: readonly Point[],
  corners: readonly Point[],
  focal: number,
  size: Sized,
): KnownNormal | undefined {
  const map =
    metres.length === 4
      ? homographyFrom4(metres, corners)
      : (fitHomography(metres, corners) ?? homographyFrom4(metres.slice(0, 4), corners.slice(0, 4)));
  const back = map && invertHomography(map);
  if (!back) return undefined;
  // The horizon in the photo is the last row of the inverse; the plane's normal is K' times it (Hartley & Zisserman
  // 2004, 8.16).
  const f = focal * Math.max(size.width, size.height);
  const [l0, l1, l2] = [back[6], back[7], back[8]];
  let n = [f * l0, f * l1, (l0 * (size.width - 1)) / 2 + (l1 * (size.height - 1)) / 2 + l2];
  const length = Math.hypot(...n);
  const [x, y] = corners[0]!;
  const sign = Math.sign(l0 * x + l1 * y + l2);
  n = n.map((v) => (sign * v) / length);
  const pitch = Math.asin(Math.max(-1, Math.min(1, n[2]!)));
  return Number.isFinite(pitch) ? { pitch, roll: Math.atan2(n[0]!, n[1]!), sd: BY_METRES, sure: true } : undefined;
}
