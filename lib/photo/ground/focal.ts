/** Diagonal of a 36 × 24 mm film frame, mm. */
const FILM_DIAGONAL_MM = Math.hypot(36, 24);

/**
 * Focal length over the long side of a photo, by the film-equivalent its file names; about 0.75 for a phone's main
 * camera.
 * @param equivalentMm focal length that gives the same diagonal angle of view on 36 × 24 mm film, as CIPA DCG-001 has
 *   it
 * @returns undefined where the file names none, or one no camera has (under 8 or over 400 mm)
 * @example focalOverLongSide(26, 4000, 3000) // 26 / 43.27 × 5000 / 4000 = 0.751
 */
export function focalOverLongSide(equivalentMm: number | null, width: number, height: number): number | undefined {
  if (equivalentMm === null || !(equivalentMm >= 8 && equivalentMm <= 400)) return undefined;
  return ((equivalentMm / FILM_DIAGONAL_MM) * Math.hypot(width, height)) / Math.max(width, height);
}
