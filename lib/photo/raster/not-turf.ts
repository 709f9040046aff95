import { closed, components, grow, maskWhere, opened } from './components';
import { featureOf } from '../marks/features';
import { medianAt, quantileInPlace } from '../measure/median';
import { outlineInPhoto, outlineOf, simplified } from '../marks/outline';
import { smoothKept } from '../marks/smooth';
import type { Homography } from '../ground/homography';
import type { Polygon } from './pixels';
import { channelOf, type GroundRaster } from '../ground/rectify';

/** How far from turf counts as something else; from our own trials on real photos, no published source. */
const NOT_TURF = {
  version: 'not-turf-1',
  /** Hue of green things in a*, b* direction, degrees; turf of any health and straw lie within. */
  hueFromDeg: 75,
  hueToDeg: 175,
  /** Least chroma over L* + 16: below is stone, soil, sky. */
  leastChroma: 0.1,
  /** A shrub's leaves are larger than blades: its brightness varies this many times more over a few centimetres... */
  textureRatio: 2.2,
  /** ...and its gaps are dark: its mean lies this much below the turf's in ln(L* + 16). */
  darker: 0.12,
  smoothing: 0.02,
  minShare: 0.01,
} as const;

export interface NotTurf {
  readonly polygon: Polygon;
  /** Share of the plot's raster, 0..1. */
  readonly share: number;
  readonly what: 'not-green' | 'shrub';
}

export interface NotTurfFound {
  readonly parts: readonly NotTurf[];
  /** 1 where the plot's raster is not turf. */
  readonly mask: Uint8Array;
  /** Share of the raster, 0..1. */
  readonly share: number;
  /** What to tell; null when all is turf. */
  readonly sentence: string | null;
}

/** Of a plot that wasn't looked at. */
export const NOTHING_FOUND: NotTurfFound = { parts: [], mask: new Uint8Array(0), share: 0, sentence: null };

/**
 * Parts of a plot's outline that are not turf: stone, soil and sky by colour, shrubs and beds by their coarse, dark
 * texture.
 * @param toPhoto from the plot's raster to the photo
 * @param shade 1 where a hard shadow lies: dark there, and at its edge, does not mean a shrub
 */
export function findNotTurf(plot: GroundRaster, toPhoto: Homography, shade: Uint8Array | null = null): NotTurfFound {
  const { width, height, linear, seen } = plot;
  const n = width * height;
  const side = Math.sqrt(n);
  const channels = [channelOf(linear, 0), channelOf(linear, 1), channelOf(linear, 2)] as const;
  const smooth = smoothKept(channels, seen, width, height, NOT_TURF.smoothing * side);
  const light = new Float32Array(n);
  const notGreen = new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    if (!seen[i]) continue;
    const [lightness, redGreen, yellowBlue] = featureOf(smooth[0]![i]!, smooth[1]![i]!, smooth[2]![i]!);
    light[i] = lightness;
    const hue = ((Math.atan2(yellowBlue, redGreen) * 180) / Math.PI + 360) % 360;
    if (Math.hypot(redGreen, yellowBlue) < NOT_TURF.leastChroma || hue < NOT_TURF.hueFromDeg || hue > NOT_TURF.hueToDeg)
      notGreen[i] = 1;
  }
  const texture = coarseTexture(channels[1], seen, width, height);
  const near = shade === null || !shade.includes(1) ? null : grow(shade, width, height, Math.round(0.06 * side));
  const shrub = shrubs(light, texture, notGreen, seen).map((v, i) => (v && !near?.[i] ? 1 : 0));
  const tidy = (mask: Uint8Array): Uint8Array =>
    opened(closed(mask, width, height, Math.round(0.02 * side)), width, height, Math.round(0.02 * side));
  const parts: NotTurf[] = [];
  const mask = new Uint8Array(n);
  for (const [what, found] of [
    ['not-green', notGreen],
    ['shrub', shrub],
  ] as const) {
    for (const cells of components(tidy(found), width, height)) {
      if (cells.length < NOT_TURF.minShare * n) continue;
      for (const i of cells) mask[i] = 1;
      parts.push({
        what,
        share: cells.length / n,
        polygon: outlineInPhoto(simplified(outlineOf(cells, width, height), 1), toPhoto),
      });
    }
  }
  const share = mask.reduce((sum, v) => sum + v, 0) / n;
  const sentence =
    share === 0
      ? null
      : `${(100 * share).toFixed(0)}% of this outline is not turf (${[...new Set(parts.map((p) => (p.what === 'shrub' ? 'shrubs or a bed' : 'stone, soil or sky')))].join(', ')}): draw it closer to the grass.`;
  return { parts, mask, share, sentence };
}

/** Variation of ln G over a leaf's breadth: thin at a shadow's edge, everywhere in a shrub. */
function coarseTexture(green: Float32Array, seen: Uint8Array, width: number, height: number): Float32Array {
  const side = Math.sqrt(width * height);
  const [fine, wide] = [0.006, 0.018].map((s) => smoothKept([green], seen, width, height, s * side)[0]!) as [
    Float32Array,
    Float32Array,
  ];
  const squares = new Float32Array(green.length);
  for (let i = 0; i < squares.length; i++)
    squares[i] = Math.min(1, Math.log(Math.max(fine[i]!, 1e-4) / Math.max(wide[i]!, 1e-4)) ** 2);
  const spread = smoothKept([squares], seen, width, height, 0.03 * side)[0]!;
  for (let i = 0; i < spread.length; i++) spread[i] = Math.sqrt(Math.max(0, spread[i]!));
  return spread;
}

/** The smoothest quarter of the outline stands for the turf: a shrub may fill most of it. */
function shrubs(light: Float32Array, texture: Float32Array, notGreen: Uint8Array, seen: Uint8Array): Uint8Array {
  const cells: number[] = [];
  for (let i = 0; i < seen.length; i += 5) if (seen[i] && !notGreen[i]) cells.push(i);
  if (cells.length < 100) return new Uint8Array(seen.length);
  const turfTexture = quantileInPlace(
    Float64Array.from(cells, (i) => texture[i]!),
    0.25,
  );
  const smoothest = cells.filter((i) => texture[i]! <= 1.3 * turfTexture);
  const turfLight = medianAt(light, smoothest);
  return maskWhere(
    seen.length,
    (i) =>
      seen[i] === 1 && texture[i]! > NOT_TURF.textureRatio * turfTexture && light[i]! < turfLight - NOT_TURF.darker,
  );
}
