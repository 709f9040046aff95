/**
 * Greenness indices of a colour. HSB here is the hexcone model (brightness = the largest channel), hue in degrees
 * 0 (red) .. 60 (yellow) .. 120 (green) .. 360, saturation and brightness 0..1.
 */
export interface Hsb {
  /** Degrees 0 <= h < 360, or null: a grey has no hue. */
  readonly hue: number | null;
  readonly saturation: number;
  readonly brightness: number;
}

/**
 * Hue, saturation and brightness of coded R, G, B (each 0..255).
 * @see Smith 1978, Color gamut transform pairs, SIGGRAPH 12(3):12-19, doi:10.1145/800248.807361
 * Example: rgbToHsb(60, 100, 40) is hue 100, saturation 0.6, brightness 0.39216.
 */
export function rgbToHsb(r: number, g: number, b: number): Hsb {
  const max = Math.max(r, g, b);
  const delta = max - Math.min(r, g, b);
  const brightness = max / 255;
  if (delta === 0) return { hue: null, saturation: 0, brightness };
  const sector = max === r ? (g - b) / delta + (g < b ? 6 : 0) : max === g ? (b - r) / delta + 2 : (r - g) / delta + 4;
  return { hue: 60 * sector, saturation: delta / max, brightness };
}

/** A dark-green colour index. 0 is pale yellow, 1 dark green; never clamped. */
export interface Dgci {
  readonly dgci: number;
  /** True outside 0..1 or when the hue lies outside 60..120, where the formula wasn't made to go. */
  readonly extrapolated: boolean;
}

/**
 * Dark green colour index, DGCI = [(H - 60)/60 + (1 - S) + (1 - B)] / 3; 0 .. 1 for hues of 60 to 120 degrees.
 * @see Karcher & Richardson 2003, Quantifying turfgrass color using digital image analysis, Crop Sci 43:943-951
 * @returns null for a grey, which has no hue
 */
export function darkGreenColourIndex({ hue, saturation, brightness }: Hsb): Dgci | null {
  if (hue === null) return null;
  const dgci = ((hue - 60) / 60 + (1 - saturation) + (1 - brightness)) / 3;
  return { dgci, extrapolated: dgci < 0 || dgci > 1 || hue < 60 || hue > 120 };
}

/**
 * Normalised green-red difference index (G - R)/(G + R), -1..1; null for a black.
 * @see Tucker 1979, Remote Sens Environ 8:127-150
 */
export function ngrdi(r: number, g: number): number | null {
  return ratio(g - r, g + r);
}

/**
 * Green leaf index (2G - R - B)/(2G + R + B), -1..1; null for a black.
 * @see Louhaichi et al. 2001, Geocarto Int 16:65-70
 */
export function gli(r: number, g: number, b: number): number | null {
  return ratio(2 * g - r - b, 2 * g + r + b);
}

/**
 * Excess green 2g - r - b on shares of R + G + B, -1..2; null for a black.
 * @see Woebbecke et al. 1995, Trans ASAE 38:259-269
 */
export function excessGreen(r: number, g: number, b: number): number | null {
  return ratio(2 * g - r - b, r + g + b);
}

/**
 * Visible atmospherically resistant index (G - R)/(G + R - B), without limits where the denominator nears zero.
 * @returns null where blue weighs as much as green and red together (denominator under a thousandth of G + R)
 * @see Gitelson et al. 2002, Remote Sens Environ 80:76-87
 */
export function vari(r: number, g: number, b: number): number | null {
  const denominator = g + r - b;
  return Math.abs(denominator) <= 1e-3 * (g + r) ? null : (g - r) / denominator;
}

function ratio(numerator: number, denominator: number): number | null {
  return denominator === 0 ? null : numerator / denominator;
}
