import type { Lab } from './cielab';

/** Lightness, chroma and hue of a CIELAB colour. */
export interface Lch {
  readonly L: number;
  /** Chroma, 0 (grey) and up. */
  readonly C: number;
  /** Hue angle in degrees, 0 <= h < 360 (0 reddish, 90 yellowish, 180 greenish), or null: a grey has none. */
  readonly h: number | null;
}

/**
 * Chroma below which a colour counts as grey: rounding alone moves the hue of a nearer grey through the whole circle.
 */
const GREY_CHROMA = 1e-6;

/** Chroma and hue of L*a*b*. @see CIE 015:2018, 8.2.1.2 */
export function labToLch({ L, a, b }: Lab): Lch {
  const C = Math.hypot(a, b);
  if (C < GREY_CHROMA) return { L, C: 0, h: null };
  const degrees = (Math.atan2(b, a) * 180) / Math.PI;
  const turned = degrees < 0 ? degrees + 360 : degrees;
  return { L, C, h: turned >= 360 ? 0 : turned };
}
