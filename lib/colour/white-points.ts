/** Tristimulus values, Y of the perfect white = 1 (2-degree observer). */
export interface Xyz {
  readonly X: number;
  readonly Y: number;
  readonly Z: number;
}

/** XYZ with Y = 1 from a chromaticity. */
function fromXy(x: number, y: number): Xyz {
  return { X: x / y, Y: 1, Z: (1 - x - y) / y };
}

/** Daylight 6504 K, chromaticity as in IEC 61966-2-1 (x 0.3127, y 0.3290). */
export const D65: Xyz = fromXy(0.3127, 0.329);

/**
 * Daylight 5003 K, chromaticity as in ISO 12647-2 (x 0.3457, y 0.3585); the white of colour charts' tables and of ICC
 * profiles.
 */
export const D50: Xyz = fromXy(0.3457, 0.3585);
