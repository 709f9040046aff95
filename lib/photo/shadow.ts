import { components, opened, closed } from './components';
import { medianInPlace } from './median';
import { smoothKept } from './smooth';
import { channelOf, type GroundRaster } from './rectify';

/** How a hard shadow was looked for; the numbers are those of the study on rendered scenes (see DEVELOPERS.md). */
export const SHADOW = {
  version: 'shadow-1',
  /** The shaded part must be darker by this much in ln G (medians of both parts)... */
  minDarker: 0.6,
  /** ...and bluer by this much in ln(B/G): skylight is bluer than sunlight. Mowing stripes reach 0.35. */
  minBluer: 0.45,
  /** Smaller parts than this of all plots together are not called a shadow. */
  minShare: 0.02,
  /** Islands below this share of their plot are not shade (a dark mark is not a shadow). */
  minIsland: 0.05,
  /** ...and each island lies at least this share of the whole gap below the lit part of its plot. */
  islandDepth: 0.6,
  /** Smoothing before the cut, as a share of the plot's side (root of its cells). */
  smoothing: 0.022,
} as const;

export interface Shadow {
  /** One mask a plot, 1 = in shade. */
  readonly shade: readonly Uint8Array[];
  /** Light and shade part at this value of shadeScore... */
  readonly cut: number;
  /** ...and are this far apart in ln G and ln(B/G). */
  readonly darker: number;
  readonly bluer: number;
  /** Shaded turf times this, a channel, is about what it would be in the sun. */
  readonly relight: readonly [number, number, number];
}

/**
 * Is part of the plots in a hard shadow (of a tree, a fence, a roof)? Cuts all plots together by Otsu's threshold on
 * ln G - ln(B/G)/2, since shade is darker and bluer, and believes the cut only when both parts lie far enough apart.
 * Returns null when there is no hard shadow edge: all lit, all shaded, or softly uneven.
 */
export function findShadow(plots: readonly GroundRaster[]): Shadow | null {
  const channels = plots.map((plot) => logChannels(plot));
  const pooled: number[] = [];
  for (const { u } of channels) for (let i = 0; i < u.length; i += 3) if (Number.isFinite(u[i]!)) pooled.push(u[i]!);
  if (pooled.length < 100) return null;
  const cut = otsu(pooled);
  const dark = { g: [] as number[], bg: [] as number[] };
  const lit = { g: [] as number[], bg: [] as number[] };
  for (const { u, g, bg } of channels) {
    for (let i = 0; i < u.length; i += 3) {
      if (!Number.isFinite(u[i]!)) continue;
      const side = u[i]! < cut ? dark : lit;
      side.g.push(g[i]!);
      side.bg.push(bg[i]!);
    }
  }
  const share = dark.g.length / pooled.length;
  if (Math.min(share, 1 - share) < SHADOW.minShare) return null;
  const darker = medianOf(lit.g) - medianOf(dark.g);
  const bluer = medianOf(dark.bg) - medianOf(lit.bg);
  if (darker < SHADOW.minDarker || bluer < SHADOW.minBluer) return null;
  const gap = darker + 0.5 * bluer;
  const shade = plots.map((plot, k) => tidy(channels[k]!.u, cut, SHADOW.islandDepth * gap, plot));
  if (shade.every((mask) => !mask.includes(1))) return null;
  return { shade, cut, darker, bluer, relight: relightGains(plots, shade) };
}

/**
 * Sunlit over shaded turf, a channel: from plots that have both (the same turf on both sides), weighted by how much; where
 * none has, from all plots together.
 */
function relightGains(plots: readonly GroundRaster[], shade: readonly Uint8Array[]): readonly [number, number, number] {
  const logs = [0, 0, 0];
  let weight = 0;
  const pooled = { lit: [0, 1, 2].map((): number[] => []), dark: [0, 1, 2].map((): number[] => []) };
  plots.forEach((plot, k) => {
    const own = { lit: [0, 1, 2].map((): number[] => []), dark: [0, 1, 2].map((): number[] => []) };
    for (let i = 0; i < plot.seen.length; i += 3) {
      if (!plot.seen[i]) continue;
      const side = shade[k]![i] ? 'dark' : 'lit';
      for (let c = 0; c < 3; c++) {
        own[side][c]!.push(plot.linear[i * 3 + c]!);
        pooled[side][c]!.push(plot.linear[i * 3 + c]!);
      }
    }
    const both = Math.min(own.lit[0]!.length, own.dark[0]!.length);
    if (both < 0.05 * (own.lit[0]!.length + own.dark[0]!.length)) return;
    for (let c = 0; c < 3; c++) logs[c]! += both * Math.log(medianOf(own.lit[c]!) / Math.max(medianOf(own.dark[c]!), 1e-5));
    weight += both;
  });
  return [0, 1, 2].map((c) =>
    weight > 0 ? Math.exp(logs[c]! / weight) : medianOf(pooled.lit[c]!) / Math.max(medianOf(pooled.dark[c]!), 1e-5),
  ) as unknown as readonly [number, number, number];
}

/** ln G - ln(B/G)/2 of a linear colour: low in the shade. */
export function shadeScore(green: number, blue: number): number {
  const g = Math.log(Math.max(green, 1e-4));
  return 1.5 * g - 0.5 * Math.log(Math.max(blue, 1e-4));
}

function logChannels(plot: GroundRaster): { u: Float32Array; g: Float32Array; bg: Float32Array } {
  const { width, height, linear, seen } = plot;
  const sigma = SHADOW.smoothing * Math.sqrt(width * height);
  const [green, blue] = smoothKept([channelOf(linear, 1), channelOf(linear, 2)], seen, width, height, sigma);
  const [u, g, bg] = [new Float32Array(seen.length).fill(NaN), new Float32Array(seen.length).fill(NaN), new Float32Array(seen.length).fill(NaN)];
  for (let i = 0; i < seen.length; i++) {
    if (!seen[i]) continue;
    g[i] = Math.log(Math.max(green![i]!, 1e-4));
    bg[i] = Math.log(Math.max(blue![i]!, 1e-4)) - g[i]!;
    u[i] = g[i]! - 0.5 * bg[i]!;
  }
  return { u, g, bg };
}

function tidy(u: Float32Array, cut: number, depth: number, plot: GroundRaster): Uint8Array {
  const { width, height, seen } = plot;
  const radius = Math.max(1, Math.round(0.008 * Math.sqrt(width * height)));
  let shade: Uint8Array = Uint8Array.from(u, (v) => (v < cut ? 1 : 0));
  shade = closed(opened(shade, width, height, radius), width, height, radius);
  const least = SHADOW.minIsland * width * height;
  const lit = medianOf([...u].filter((v, i) => Number.isFinite(v) && !shade[i]));
  for (const island of components(shade, width, height)) {
    const deep = !(lit - medianOf(Array.from(island, (i) => u[i]!)) < depth);
    if (island.length < least || !deep) for (const i of island) shade[i] = 0;
  }
  const holes = Uint8Array.from(shade, (v, i) => (v || !seen[i] ? 0 : 1));
  for (const hole of components(holes, width, height)) if (hole.length < least) for (const i of hole) shade[i] = 1;
  return shade;
}

/** Otsu's threshold (1979, IEEE Trans. SMC 9:62) over 64 bins between the 1st and 99th percentile. */
function otsu(values: readonly number[]): number {
  const sorted = Float64Array.from(values).sort();
  const low = sorted[Math.floor(0.01 * (sorted.length - 1))]!;
  const high = sorted[Math.floor(0.99 * (sorted.length - 1))]!;
  const bins = 64;
  const counts = new Float64Array(bins);
  for (const v of values) if (v >= low && v <= high) counts[Math.min(bins - 1, Math.floor(((v - low) / (high - low || 1)) * bins))]!++;
  const total = counts.reduce((a, b) => a + b, 0);
  const mean = counts.reduce((a, n, k) => a + n * k, 0) / total;
  let below = 0;
  let belowSum = 0;
  let best = -1;
  let at = 0;
  for (let k = 0; k < bins - 1; k++) {
    below += counts[k]! / total;
    belowSum += (counts[k]! * k) / total;
    const between = (mean * below - belowSum) ** 2 / (below * (1 - below) + 1e-9);
    if (between > best) {
      best = between;
      at = k;
    }
  }
  return low + ((at + 1) / bins) * (high - low);
}

function medianOf(values: readonly number[]): number {
  return medianInPlace(Float64Array.from(values));
}
