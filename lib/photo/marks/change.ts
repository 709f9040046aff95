import { medianAt } from '../measure/median';
import { sampled, withoutPlane } from '../light/robust-plane';
import { smoothKept } from './smooth';
import { featureOf, type ColourFeatures } from './features';
import { channelOf, type GroundRaster } from '../ground/rectify';

/**
 * Features of a plot, smoothed within each light zone so that nothing bleeds over a shadow's edge or from a leaf.
 * `keep` says which cells count (seen, not debris, not at a zone's edge); others hold NaN. `linear` is the smoothed
 * linear light, three channels apart.
 */
export interface PlotFeatures extends ColourFeatures {
  readonly keep: Uint8Array;
  readonly linear: readonly [Float32Array, Float32Array, Float32Array];
}

/** Smooths a plot's linear light with `sigma` cells, zone by zone, and takes the features. */
export function smoothFeatures(
  plot: GroundRaster,
  keep: Uint8Array,
  zone: Uint8Array,
  zones: number,
  sigma: number,
): PlotFeatures {
  const { width, height, linear } = plot;
  const n = width * height;
  const make = (): Float32Array => new Float32Array(n).fill(NaN);
  const out = { lightness: make(), redGreen: make(), yellowBlue: make() };
  const smooth: [Float32Array, Float32Array, Float32Array] = [make(), make(), make()];
  for (let z = 0; z < zones; z++) {
    const inZone = keep.map((k, i) => (k && zone[i] === z ? 1 : 0));
    if (!inZone.includes(1)) continue;
    const [red, green, blue] = smoothKept(
      [channelOf(linear, 0), channelOf(linear, 1), channelOf(linear, 2)],
      inZone,
      width,
      height,
      sigma,
    ) as [Float32Array, Float32Array, Float32Array];
    for (let i = 0; i < n; i++) {
      if (!inZone[i]) continue;
      const [lightness, redGreen, yellowBlue] = featureOf(red[i]!, green[i]!, blue[i]!);
      out.lightness[i] = lightness;
      out.redGreen[i] = redGreen;
      out.yellowBlue[i] = yellowBlue;
      smooth[0][i] = red[i]!;
      smooth[1][i] = green[i]!;
      smooth[2][i] = blue[i]!;
    }
  }
  return { ...out, keep, linear: smooth };
}

/** How much of the earlier photo's structure may be left in the later one: old marks fade, and grow out. */
const PERSISTENCE = { least: 0.5, most: 1.25, lightness: 0.7 } as const;

/** What changed, cell by cell: the three features' differences, centred on 0; NaN where `use` is 0. */
export interface CellChange extends ColourFeatures {
  readonly use: Uint8Array;
}

/**
 * The later photo's features less a slow plane and less what the earlier photo showed already. Structure of the earlier
 * photo may persist with any strength between PERSISTENCE.least and .most: the strength that explains most of the
 * cell's chroma is taken, so an old mark leaves nothing behind. Without an earlier photo: the later one's own
 * deviations.
 */
export function cellChange(
  before: PlotFeatures | null,
  after: PlotFeatures,
  zone: Uint8Array,
  zones: number,
  width: number,
  height: number,
): CellChange {
  const use = after.keep.map((k, i) => (k && (before === null || before.keep[i]) ? 1 : 0));
  const flat = (v: Float32Array): Float32Array => withoutPlane(v, use, zone, zones, width, height);
  const now = { lightness: flat(after.lightness), redGreen: flat(after.redGreen), yellowBlue: flat(after.yellowBlue) };
  if (before !== null) {
    const was = {
      lightness: flat(before.lightness),
      redGreen: flat(before.redGreen),
      yellowBlue: flat(before.yellowBlue),
    };
    for (let i = 0; i < use.length; i++) {
      if (!use[i]) continue;
      const [a1, a2, b1, b2] = [now.redGreen[i]!, now.yellowBlue[i]!, was.redGreen[i]!, was.yellowBlue[i]!];
      const best = (a1 * b1 + a2 * b2) / (b1 * b1 + b2 * b2 + 1e-9);
      const strength = Math.min(PERSISTENCE.most, Math.max(PERSISTENCE.least, best));
      now.lightness[i]! -= PERSISTENCE.lightness * was.lightness[i]!;
      now.redGreen[i] = a1 - strength * b1;
      now.yellowBlue[i] = a2 - strength * b2;
    }
  }
  const cells = sampled(use, 3000);
  for (const v of [now.lightness, now.redGreen, now.yellowBlue]) {
    const centre = medianAt(v, cells);
    for (let i = 0; i < v.length; i++) v[i]! -= centre;
  }
  return { ...now, use };
}

/** The same change seen more coarsely: smoothed again with `sigma` cells. */
export function coarser(change: CellChange, width: number, height: number, sigma: number): CellChange {
  const [lightness, redGreen, yellowBlue] = smoothKept(
    [change.lightness, change.redGreen, change.yellowBlue],
    change.use,
    width,
    height,
    sigma,
  );
  return { lightness: lightness!, redGreen: redGreen!, yellowBlue: yellowBlue!, use: change.use };
}
