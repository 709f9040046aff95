import { vector3Of } from '../../colour/matrix';
import { closed, components, grow, maskWhere, opened } from '../raster/components';
import { channelOf, type GroundRaster } from '../ground/rectify';
import { featureOf } from '../marks/features';
import { medianAt, medianInPlace } from '../measure/median';
import { smoothKept } from '../marks/smooth';
import { firstAtLeast } from '../marks/first-at-least';

/**
 * How shade is looked for. Measured 2026-11 on hand-held photos of lawns: shade of trees and hedges, sharp and dappled,
 * lies 1.4 to 2.7 below the sunlit turf in ln G; sunlit or overcast turf split the same way (stripes, slopes, tall and
 * thin grass) at most 0.45. How blue it is tells nothing (-0.01 to 0.74 in ln(B/G): phones balance it away), but shaded
 * turf is never redder (-0.5 to -0.07 in ln(R/G)), where blackened turf is. Drawn shade of earlier studies lies at 0.8
 * to 1.1.
 */
export const SHADOW = {
  version: 'shade-2',
  /** Shaded turf is darker by at least this in ln G (medians of both parts)... */
  minDarker: 0.6,
  /**
   * ...and changes its colour no more than this, in ln(R/G) and ln(B/G): a blackened or scorched patch is redder, soil
   * too.
   */
  maxRedder: 0.1,
  maxLessBlue: 0.6,
  maxBluer: 2,
  /** Each plot's brighter turf (what this share of it lies below) is its own level, since plots may differ in colour; one darker
   * than the brightest plot by more than this lies wholly in the shade: a spray darkens by up to 0.6 with a phone's contrast. */
  upperShare: 0.8,
  wholePlotDarker: 0.8,
  /** The lit part must hang together: its spread (robust standard deviation of ln G) at most this share of the gap. */
  maxLitSpread: 0.34,
  /** Smaller parts than this of all plots together are not called shade. */
  minShare: 0.006,
  /** Islands below this share of their plot are not shade. */
  minIsland: 0.005,
  /** Lit holes below this share are flecks of sun within the shade. */
  minHole: 0.03,
  /** An island's middle lies at least this share of the whole gap below the lit part. */
  islandDepth: 0.55,
  /** Half-shade belongs to the shade it hangs on: down to this share of the gap, within `reach`. */
  halfShade: 0.22,
  halfShadeLeast: 0.2,
  /** Turf, in whatever light: hue of a*, b* in degrees (skylight on turf goes towards blue) and chroma over L* + 16. */
  hueFromDeg: 75,
  hueToDeg: 205,
  leastChroma: 0.08,
  /** Shade lies in levels where a crown's lies in a house's: looked for again in what is left lit, this often. */
  levels: 3,
  /** Looked for on rasters of about this many cells a side: shade's edges are hands wide. */
  side: 90,
  /**
   * Lengths as shares of the plot's side (root of its cells): smoothing before the cut, reach of half-shade, flecks
   * closed.
   */
  smoothing: 0.018,
  reach: 0.05,
  flecks: 0.02,
} as const;

export interface Shadow {
  /** One mask a plot, 1 = in shade. */
  readonly shade: readonly Uint8Array[];
  /** Light and shade part at this ln G... */
  readonly cut: number;
  /** ...and are this far apart in ln G and ln(B/G). */
  readonly darker: number;
  readonly bluer: number;
  /** Shaded turf times this, a channel, is about what it would be in the sun. */
  readonly relight: readonly [number, number, number];
}

/** A plot's turf in ln G, ln(R/G) and ln(B/G), smoothed; NaN where it is not turf or not seen. */
interface Look {
  readonly light: Float32Array;
  readonly redder: Float32Array;
  readonly bluer: Float32Array;
  readonly turf: Uint8Array;
}

/**
 * Is part of the plots in the shade (of a tree, a fence, a roof)? Cuts all plots together where they fall into a light
 * and a dark part that lie far enough apart in brightness and not in colour; the form of the plots plays no part, so a
 * plot wholly in shade beside a lit one is found too. Returns null when there is none: all lit, all shaded, or softly
 * uneven.
 */
export function findShadow(plots: readonly GroundRaster[]): Shadow | null {
  const factors = plots.map((plot) => Math.max(1, Math.floor(Math.sqrt(plot.seen.length) / SHADOW.side)));
  const coarse = plots.map((plot, k) => coarsened(plot, factors[k]!));
  const looks = coarse.map(lookAt);
  const shade = coarse.map((plot) => new Uint8Array(plot.seen.length));
  let cut: number | null = null;
  for (let level = 0; level < SHADOW.levels; level++) {
    const split = splitOf(looks, shade);
    if (split === null) break;
    const deeper = looks.map((look, k) => shadeOf(k, split, coarse[k]!, looks, shade[k]!));
    if (countOf(deeper) < SHADOW.minShare * countOf(looks.map((look) => look.turf))) break;
    deeper.forEach((mask, k) => {
      for (let i = 0; i < mask.length; i++) if (mask[i]) shade[k]![i] = 1;
    });
    cut = split.cut + Math.max(...split.levels);
  }
  if (cut === null) return null;
  const between = (feature: 'light' | 'bluer'): number =>
    partOf(looks, shade, 1, feature) - partOf(looks, shade, 0, feature);
  return {
    shade: plots.map((plot, k) => refined(shade[k]!, coarse[k]!.width, plot, factors[k]!)),
    cut,
    darker: -between('light'),
    bluer: between('bluer'),
    relight: relightGains(coarse, shade),
  };
}

/** Means of `factor` by `factor` seen cells; the last row and column of cells may hold fewer. */
function coarsened(plot: GroundRaster, factor: number): GroundRaster {
  if (factor === 1) return plot;
  const [width, height] = [Math.ceil(plot.width / factor), Math.ceil(plot.height / factor)];
  const linear = new Float32Array(width * height * 3);
  const counts = new Uint16Array(width * height);
  for (let y = 0, i = 0; y < plot.height; y++) {
    for (let x = 0; x < plot.width; x++, i++) {
      if (!plot.seen[i]) continue;
      const to = Math.floor(y / factor) * width + Math.floor(x / factor);
      counts[to]!++;
      for (let c = 0; c < 3; c++) linear[to * 3 + c]! += plot.linear[i * 3 + c]!;
    }
  }
  const seen = new Uint8Array(width * height);
  for (let to = 0; to < seen.length; to++) {
    if (counts[to] === 0) continue;
    seen[to] = 1;
    for (let c = 0; c < 3; c++) linear[to * 3 + c]! /= counts[to]!;
  }
  return { width, height, linear, seen };
}

/** A coarse mask on the raster it was made from. */
function refined(mask: Uint8Array, coarseWidth: number, plot: GroundRaster, factor: number): Uint8Array {
  if (factor === 1) return mask;
  const out = new Uint8Array(plot.seen.length);
  for (let y = 0, i = 0; y < plot.height; y++) {
    const row = Math.floor(y / factor) * coarseWidth;
    for (let x = 0; x < plot.width; x++, i++) out[i] = mask[row + Math.floor(x / factor)]!;
  }
  return out;
}

function countOf(masks: readonly Uint8Array[]): number {
  let count = 0;
  for (const mask of masks) for (let i = 0; i < mask.length; i++) count += mask[i]!;
  return count;
}

/**
 * The deepest believable split of the turf that isn't in the shade yet; started in the middle, and low for a small dark
 * part.
 */
function splitOf(looks: readonly Look[], shade: readonly Uint8Array[]): Split | null {
  const plots = looks.map(({ light }, k) => openLight(light, shade[k]!));
  const upper = plots.map((sorted) =>
    sorted.length < 50 ? -Infinity : sorted[Math.floor(SHADOW.upperShare * sorted.length)]!,
  );
  const brightest = Math.max(...upper);
  const levels = upper.map((level) => (brightest - level < SHADOW.wholePlotDarker ? level : brightest));
  const levelled = plots.map((sorted, k) => sorted.map((v) => v - levels[k]!));
  const sorted = Float64Array.from(levelled.flatMap((values) => [...values])).sort();
  if (sorted.length < 100) return null;
  let best: Split | null = null;
  for (const start of [
    sorted[sorted.length >> 1]!,
    sorted[Math.floor(0.9 * sorted.length)]! - 1.5 * SHADOW.minDarker,
  ]) {
    const split = settle(sorted, start);
    if (split === null || split.gap < SHADOW.minDarker || (best !== null && split.gap <= best.gap)) continue;
    if (litSpread(levelled, split.cut) <= SHADOW.maxLitSpread * split.gap) best = { ...split, levels };
  }
  return best;
}

/** Every third turf cell's ln G that isn't in the shade yet, in rising order. */
function openLight(light: Float32Array, shade: Uint8Array): Float64Array {
  const values: number[] = [];
  for (let i = 0; i < light.length; i += 3) if (light[i] === light[i] && !shade[i]) values.push(light[i]!);
  return Float64Array.from(values).sort();
}

/** Spread of the plots' lit parts, each about its own middle: quartile distance over 1.349, averaged by size. */
function litSpread(plots: readonly Float64Array[], cut: number): number {
  let [sum, count] = [0, 0];
  for (const sorted of plots) {
    const from = firstAtLeast(sorted, cut);
    const n = sorted.length - from;
    if (n < 50) continue;
    sum += (n * (sorted[from + Math.floor(0.75 * n)]! - sorted[from + Math.floor(0.25 * n)]!)) / 1.349;
    count += n;
  }
  return count === 0 ? 0 : sum / count;
}

/** ln G of a linear colour: what shade is cut by. */
export function lightOf(green: number): number {
  return Math.log(Math.max(green, 1e-4));
}

function lookAt(plot: GroundRaster): Look {
  const { width, height, linear, seen } = plot;
  const channels = [channelOf(linear, 0), channelOf(linear, 1), channelOf(linear, 2)];
  const [red, green, blue] = smoothKept(
    channels,
    seen,
    width,
    height,
    SHADOW.smoothing * Math.sqrt(width * height),
  ) as [Float32Array, Float32Array, Float32Array];
  const [light, redder, bluer] = [0, 1, 2].map(() => new Float32Array(seen.length).fill(NaN)) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  const turf = new Uint8Array(seen.length);
  for (let i = 0; i < seen.length; i++) {
    if (!seen[i] || !isGreen(red[i]!, green[i]!, blue[i]!)) continue;
    turf[i] = 1;
    light[i] = lightOf(green[i]!);
    redder[i] = Math.log(Math.max(red[i]!, 1e-4)) - light[i]!;
    bluer[i] = Math.log(Math.max(blue[i]!, 1e-4)) - light[i]!;
  }
  return { light, redder, bluer, turf };
}

function isGreen(red: number, green: number, blue: number): boolean {
  const [, redGreen, yellowBlue] = featureOf(red, green, blue);
  const hue = ((Math.atan2(yellowBlue, redGreen) * 180) / Math.PI + 360) % 360;
  return Math.hypot(redGreen, yellowBlue) >= SHADOW.leastChroma && hue >= SHADOW.hueFromDeg && hue <= SHADOW.hueToDeg;
}

/** A cut between light and shade, in ln G above each plot's level. */
interface Split {
  readonly levels: readonly number[];
  readonly cut: number;
  readonly lit: number;
  readonly gap: number;
}

/**
 * The cut that lies midway between the medians of its two sides, found from a start (Ridler & Calvard 1978, IEEE Trans.
 * SMC 8:630, with medians).
 */
function settle(sorted: Float64Array, start: number): Omit<Split, 'levels'> | null {
  const n = sorted.length;
  let cut = start;
  for (let round = 0; round < 30; round++) {
    const below = firstAtLeast(sorted, cut);
    if (below < 0.002 * n || below > 0.998 * n) return null;
    const dark = sorted[below >> 1]!;
    const lit = sorted[(below + n) >> 1]!;
    const next = (dark + lit) / 2;
    if (Math.abs(next - cut) > 1e-3) {
      cut = next;
      continue;
    }
    return { cut, lit, gap: lit - dark };
  }
  return null;
}

/** A plot's shade by a split, less what is shade already. */
function shadeOf(
  k: number,
  { cut, lit, gap, levels }: Split,
  { width, height }: GroundRaster,
  looks: readonly Look[],
  already: Uint8Array,
): Uint8Array {
  const { light, turf, redder, bluer } = looks[k]!;
  const n = width * height;
  const side = Math.sqrt(n);
  const ground = levels[k]! + lit;
  const below = (depth: number): Uint8Array => maskWhere(n, (i) => light[i]! < ground - depth && !already[i]);
  const near = grow(opened(below(gap / 2), width, height, 1), width, height, Math.round(SHADOW.reach * side));
  if (!near.includes(1)) return near;
  const own = colourAbove([looks[k]!], [levels[k]! + cut]);
  const colour =
    own.cells > 0.03 * n
      ? own
      : colourAbove(
          looks,
          levels.map((level) => level + cut),
        );
  // Beside the shade a dark mark in the sun is not half-shade: its leaves are redder.
  const half = below(Math.max(SHADOW.halfShadeLeast, SHADOW.halfShade * gap)).map((v, i) =>
    v && near[i] && (light[i]! < ground - gap / 2 || redder[i]! <= colour.redder + SHADOW.maxRedder) ? 1 : 0,
  );
  const fleck = Math.max(1, Math.round(SHADOW.flecks * side));
  const shade = opened(
    closed(half, width, height, fleck).map((v, i) => (v && turf[i] && !already[i] ? 1 : 0)),
    width,
    height,
    1,
  );
  for (const island of components(shade, width, height)) {
    const deep = ground - medianOf(island, light) >= SHADOW.islandDepth * gap;
    const up = medianOf(island, redder) - colour.redder;
    const blue = medianOf(island, bluer) - colour.bluer;
    const keepsColour = up <= SHADOW.maxRedder && blue >= -SHADOW.maxLessBlue && blue <= SHADOW.maxBluer;
    if (island.length < SHADOW.minIsland * n || !deep || !keepsColour) for (const i of island) shade[i] = 0;
  }
  if (!shade.includes(1)) return shade;
  const holes = shade.map((v, i) => (v || already[i] || !turf[i] ? 0 : 1));
  for (const hole of components(holes, width, height))
    if (hole.length < SHADOW.minHole * n) for (const i of hole) shade[i] = 1;
  return shade;
}

/** The colour of turf brighter than a plot's cut. */
function colourAbove(
  looks: readonly Look[],
  cuts: readonly number[],
): { redder: number; bluer: number; cells: number } {
  const [redder, bluer]: [number[], number[]] = [[], []];
  looks.forEach((look, k) => {
    for (let i = 0; i < look.light.length; i += 3) {
      if (!(look.light[i]! >= cuts[k]!)) continue;
      redder.push(look.redder[i]!);
      bluer.push(look.bluer[i]!);
    }
  });
  return { redder: middle(redder), bluer: middle(bluer), cells: 3 * redder.length };
}

function medianOf(cells: Int32Array, values: Float32Array): number {
  return medianAt(
    values,
    cells.filter((i) => values[i] === values[i]),
  );
}

/** Median of a feature over the turf in shade (1) or light (0) of all plots. */
function partOf(looks: readonly Look[], shade: readonly Uint8Array[], side: 0 | 1, feature: 'bluer' | 'light'): number {
  const values: number[] = [];
  looks.forEach((look, k) => {
    for (let i = 0; i < look.turf.length; i += 3)
      if (look.turf[i] && shade[k]![i] === side) values.push(look[feature][i]!);
  });
  return medianInPlace(Float64Array.from(values));
}

/**
 * Sunlit over shaded turf, a channel: from plots that have both (the same turf on both sides), weighted by how much;
 * where none has, from all plots together.
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
    for (let c = 0; c < 3; c++) logs[c]! += both * Math.log(middle(own.lit[c]!) / Math.max(middle(own.dark[c]!), 1e-5));
    weight += both;
  });
  return vector3Of(
    [0, 1, 2].map((c) =>
      weight > 0 ? Math.exp(logs[c]! / weight) : middle(pooled.lit[c]!) / Math.max(middle(pooled.dark[c]!), 1e-5),
    ),
  );
}

function middle(values: readonly number[]): number {
  return medianInPlace(Float64Array.from(values));
}
