import type { Pixels, Polygon } from '../raster/pixels';
import { inPictureShare, LEAST_IN_PICTURE, regionOf } from '../raster/region';

/** Something that makes a photo's readings doubtful, in words for beside the number. */
export interface QualityCaution {
  readonly code: 'blurred' | 'clipped' | 'dark' | 'small-plot' | 'leaves-photo';
  readonly sentence: string;
  /** The number the caution rests on: see the code's limit. */
  readonly value: number;
}

/** Limits beyond which a caution is given. Common practice and our own trials, no published source. */
export const QUALITY_LIMITS = {
  /** Share of plot pixels with a channel at 255. */
  clippedShare: 0.01,
  /** Median brightness of the plots, 0..1. */
  medianBrightness: 0.12,
  /**
   * Share of pixel-to-pixel detail that a further blur takes away, 0..1. Lawn photos as they come score 0.73-0.89;
   * blurred by a Gaussian of 2 pixels 0.50-0.58, of 3 pixels 0.35-0.43 (eleven photos, two of them of 12 megapixels).
   */
  sharpness: 0.45,
  /** Pixels in a plot. */
  plotPixels: 2000,
} as const;

/**
 * Cautions that the pixels of one photo give by themselves.
 * @param plots the outlines looked at; the rest of the photo doesn't count
 */
export function lookAtQuality(pixels: Pixels, plots: readonly Polygon[]): QualityCaution[] {
  const cautions: QualityCaution[] = [];
  const shares = plots.map((plot) => inPictureShare(plot, pixels.width, pixels.height));
  const { clippedShare, medianBrightness, sharpness, smallest } = statistics(
    pixels,
    plots.filter((_, k) => shares[k]! >= LEAST_IN_PICTURE),
  );
  if (clippedShare > QUALITY_LIMITS.clippedShare) {
    cautions.push({
      code: 'clipped',
      value: clippedShare,
      sentence: `Overexposed: ${percent(clippedShare)} of the plots’ pixels are at the camera’s limit, so their colour is lost. Retake a little darker.`,
    });
  }
  if (medianBrightness !== null && medianBrightness < QUALITY_LIMITS.medianBrightness) {
    cautions.push({
      code: 'dark',
      value: medianBrightness,
      sentence: `Very dark: half of the plots’ pixels are below ${percent(medianBrightness)} brightness, where colour is mostly noise.`,
    });
  }
  if (sharpness !== null && sharpness < QUALITY_LIMITS.sharpness) {
    cautions.push({
      code: 'blurred',
      value: sharpness,
      sentence: `Blurred: the plots show little fine detail (sharpness ${sharpness.toFixed(2)}, expected ${QUALITY_LIMITS.sharpness} or more). Hold still or clean the lens.`,
    });
  }
  if (smallest !== null && smallest < QUALITY_LIMITS.plotPixels) {
    cautions.push({
      code: 'small-plot',
      value: smallest,
      sentence: `Small plot: one outline holds ${smallest} pixels, expected ${QUALITY_LIMITS.plotPixels} or more. Go nearer.`,
    });
  }
  const leaving = shares.filter((share) => share < LEAST_IN_PICTURE);
  if (leaving.length > 0) {
    const most = Math.min(...leaving);
    const which = leaving.length === 1 ? 'One outline leaves' : `${leaving.length} outlines leave`;
    cautions.push({
      code: 'leaves-photo',
      value: most,
      sentence: `${which} the photo (${leaving.length === 1 ? '' : 'the farthest with '}${percent(most)} of it in the picture): not measured. Correct the outline, or take the photo from farther back.`,
    });
  }
  return cautions;
}

/**
 * How sharp the plots are, 0..1 (see QUALITY_LIMITS.sharpness); null without pixels. Falls with blur up to some 3
 * pixels; beyond that the steps between codes are all the detail left and it levels off near 0.3.
 * Nobody else asks: the limit rests on how it falls, which a caution shows only once it is crossed.
 */
export function sharpnessOf(pixels: Pixels, plots: readonly Polygon[]): number | null {
  return statistics(pixels, plots).sharpness;
}

function percent(share: number): string {
  return `${(100 * share).toFixed(share < 0.1 ? 1 : 0)}%`;
}

interface QualityStatistics {
  clippedShare: number;
  medianBrightness: number | null;
  sharpness: number | null;
  smallest: number | null;
}

/** Looks at some rows of each plot only, about 60,000 pixels in all: plenty for shares and a median. */
function statistics(pixels: Pixels, plots: readonly Polygon[]): QualityStatistics {
  const { width, data } = pixels;
  const brightness = new Uint32Array(256);
  let looked = 0;
  let clipped = 0;
  let detail = 0;
  let lost = 0;
  let smallest: number | null = null;
  const regions = plots.map((plot) => regionOf(plot, pixels.width, pixels.height));
  const step = Math.max(1, Math.floor(regions.reduce((sum, region) => sum + region.pixelCount, 0) / 60_000));
  for (const { runs, pixelCount } of regions) {
    smallest = smallest === null ? pixelCount : Math.min(smallest, pixelCount);
    let nth = 0;
    for (let i = 0; i < runs.length; i += 3) {
      if (nth++ % step !== 0) continue;
      const row = (runs[i] as number) * width;
      const from = row + (runs[i + 1] as number);
      const to = row + (runs[i + 2] as number);
      for (let p = from; p < to; p++) {
        const r = data[3 * p] as number;
        const g = data[3 * p + 1] as number;
        const b = data[3 * p + 2] as number;
        const max = r > g ? (r > b ? r : b) : g > b ? g : b;
        brightness[max] = (brightness[max] as number) + 1;
        looked++;
        if (max === 255) clipped++;
      }
      const [d, l] = rowDetail(data, from, to);
      detail += d;
      lost += l;
    }
  }
  if (looked === 0) return { clippedShare: 0, medianBrightness: null, sharpness: null, smallest };
  return {
    clippedShare: clipped / looked,
    medianBrightness: middle(brightness, looked) / 255,
    sharpness: detail === 0 ? 0 : lost / detail,
    smallest,
  };
}

/** Half-width of the extra blur along a row, in pixels. */
const REACH = 4;

/**
 * Detail of a row's green, and how much of it a running mean over 9 pixels takes away: a sharp row loses most of its
 * pixel-to-pixel steps, one blurred already keeps them.
 * @see Crete, Dolmiere, Ladret & Nicolas 2007, The blur effect, Proc SPIE 6492:64920I, doi:10.1117/12.702790 (eq. 1-5)
 */
function rowDetail(data: Uint8Array, from: number, to: number): [detail: number, lost: number] {
  let detail = 0;
  let lost = 0;
  if (to - from < 2 * REACH + 3) return [0, 0];
  let window = 0;
  for (let p = from; p < from + 2 * REACH + 1; p++) window += data[3 * p + 1] as number;
  for (let p = from + REACH + 1; p < to - REACH; p++) {
    const entering = data[3 * (p + REACH) + 1] as number;
    const leaving = data[3 * (p - REACH - 1) + 1] as number;
    window += entering - leaving;
    const step = Math.abs((data[3 * p + 1] as number) - (data[3 * (p - 1) + 1] as number));
    const smooth = Math.abs(entering - leaving) / (2 * REACH + 1);
    detail += step;
    if (step > smooth) lost += step - smooth;
  }
  return [detail, lost];
}

function middle(histogram: Uint32Array, count: number): number {
  let seen = 0;
  for (let code = 0; code < 256; code++) {
    seen += histogram[code] as number;
    if (seen * 2 >= count) return code;
  }
  return 255;
}
