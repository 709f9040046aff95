import { linearRgbToLab, type Lab } from '../../colour/cielab';
import { darkGreenColourIndex, excessGreen, gli, ngrdi, rgbToHsb, vari } from '../../colour/greenness';
import { linearToSrgb } from '../../colour/srgb';
import type { BlockSum } from '../../stats/bootstrap';
import { blockGrid, cutIntoBlocks, type BlockGrid } from './blocks';
import { indexInterval, type IndexInterval } from './interval';
import {
  addRuns,
  CODE_B,
  CODE_G,
  CODE_R,
  HUE60,
  LINEAR_B,
  LINEAR_G,
  LINEAR_R,
  maskTables,
  MAX_CODE,
  PIXELS,
  Q_SQUARED,
  SATURATION,
  SUMS,
  TURF,
} from './kernel';
import { simdKernel } from './kernel-simd';
import type { Pixels, Polygon } from '../raster/pixels';
import { scaled, type PhotoScale } from './scale';
import { inPictureShare, LEAST_IN_PICTURE, leaveOutMasked, regionOf, type Mask } from '../raster/region';

/** Raised with every change that can change a reading's numbers. Stored with the reading. */
export const METHOD_VERSION = 'turf-hsb-3';

/** All that a reading depends on beside the photo and the outline. Stored with the reading, whole. */
export interface MeasureParameters {
  /** Turf mask: hue limits in degrees, both inside, and the least saturation, 0..1. */
  readonly hueFromDeg: number;
  readonly hueToDeg: number;
  readonly saturationFrom: number;
  /** Blocks along a plot's shorter side, and the least size of one on the ground where that is known. */
  readonly blocksAcrossWidth: number;
  readonly minBlockM: number;
  /** Fewer blocks with turf than this give no interval. */
  readonly minBlocks: number;
  /** Standard deviation of an index that one photo can't know of itself. */
  readonly photoSd: number;
  readonly resamples: number;
  readonly seed: number;
  /** Pixels of the photo along a side to one that is measured; photos of one viewpoint are read at one scale. */
  readonly scale: PhotoScale;
}

/**
 * Hue 45-140 and saturation from 0.10: the limits in use for turf (from memory of Karcher & Richardson 2005, Crop Sci
 * 45:1536-1539; the paper's own text not seen). The rest: our own study of repeated photos of known scenes, in which an
 * index of one photo needed 0.0045 beyond the bootstrap for 95% intervals to hold 93%, and 8 blocks at least.
 */
export const DEFAULT_PARAMETERS: MeasureParameters = {
  hueFromDeg: 45,
  hueToDeg: 140,
  saturationFrom: 0.1,
  blocksAcrossWidth: 4,
  minBlockM: 0.2,
  minBlocks: 8,
  photoSd: 0.0045,
  resamples: 2000,
  seed: 1,
  scale: 1,
};

export interface PlotToMeasure {
  readonly id: string;
  /** Outline in pixels of the upright photo: far-left, far-right, near-right, near-left for a strip. */
  readonly polygon: Polygon;
  /** The same corners on the ground in metres, where known: sets the size of the interval's blocks. */
  readonly groundMetres?: Polygon;
  /** Pixels not to be measured (a shadow, a mark), any size, laid over the whole photo. */
  readonly leaveOut?: Mask;
}

/** Greenness of some turf pixels: means over all of them. */
export interface Greenness {
  /** Means of hue (degrees), saturation and brightness (0..1) over turf pixels. */
  readonly hue: number;
  readonly saturation: number;
  readonly brightness: number;
  /** DGCI of those three means; equal to the mean of the pixels' DGCI, since the index is linear in them. */
  readonly dgci: number;
  /** True outside 0..1 or for a mean hue outside 60..120. */
  readonly extrapolated: boolean;
  readonly dgciPixelMean: number;
  /** Standard deviation of the pixels' DGCI (n - 1; 0 for one pixel). */
  readonly dgciPixelSd: number;
  /** DGCI of the mean of linear light, coded as sRGB: what one would see from far away. Null when that mean is grey. */
  readonly dgciOfMeanLight: number | null;
  /** Mean linear light, 0..1. */
  readonly linearRgb: readonly [r: number, g: number, b: number];
  /** L*a*b* (D65) of the mean linear light. */
  readonly lab: Lab<'d65'>;
  /** Of the mean codes R, G, B. Null where the formula has no value. */
  readonly ngrdi: number | null;
  readonly gli: number | null;
  readonly exg: number | null;
  readonly vari: number | null;
}

/** What one plot measured in one photo. */
export interface PlotReading {
  readonly id: string;
  /** Share of the outline's area that lies in the photo, 0..1. */
  readonly inPicture: number;
  /** Pixels of the photo inside the outline (less those left out), and those of them that are turf. */
  readonly pixels: number;
  readonly turfPixels: number;
  /** turfPixels / pixels, 0..1, of what is in the photo; 0 when the outline holds no pixel. */
  readonly turfShare: number;
  /**
   * Null when there is no turf pixel, and where the plot leaves the photo (see LEAST_IN_PICTURE): it is not measured.
   */
  readonly greenness: Greenness | null;
  /** 95% interval of `dgci`; null with too few blocks. */
  readonly ci95: IndexInterval | null;
  readonly blocks: PlotBlocks;
  readonly methodVersion: string;
  readonly parameters: MeasureParameters;
}

/** The blocks' sums, for intervals of differences and for a coarse map: SUMS numbers a block, see kernel.ts. */
export interface PlotBlocks {
  readonly grid: BlockGrid;
  readonly sums: Float64Array;
}

/**
 * Measures each plot in one pass over its pixels. Pure: same pixels, outlines and parameters, same reading.
 * @param pixels the photo at the parameters' scale; outlines are in pixels of the full-size photo whatever that is
 * @throws RangeError for an outline that isn't one (fewer than three corners, no area)
 */
export function measurePlots(
  pixels: Pixels,
  plots: readonly PlotToMeasure[],
  parameters: MeasureParameters = DEFAULT_PARAMETERS,
): PlotReading[] {
  const mask = maskTables(parameters.hueFromDeg, parameters.hueToDeg, parameters.saturationFrom);
  const fast = simdKernel(parameters.hueFromDeg, parameters.hueToDeg, parameters.saturationFrom);
  return plots.map((plot) => {
    const polygon = scaled(plot.polygon, parameters.scale);
    const whole = regionOf(polygon, pixels.width, pixels.height);
    const region =
      plot.leaveOut === undefined ? whole : leaveOutMasked(whole, plot.leaveOut, pixels.width, pixels.height);
    const grid = blockGrid(polygon, plot.groundMetres, parameters.blocksAcrossWidth, parameters.minBlockM);
    const sums = new Float64Array(grid.across * grid.along * SUMS);
    const pieces = cutIntoBlocks(region, grid);
    if (fast === null) addRuns(pixels.data, pixels.width, pieces, mask, sums);
    else fast(pixels.data, pixels.width, pieces, sums);
    const total = totalSums(sums);
    const turfPixels = total[TURF] as number;
    const inPicture = inPictureShare(polygon, pixels.width, pixels.height);
    const leaves = inPicture < LEAST_IN_PICTURE;
    if (leaves) sums.fill(0);
    return {
      id: plot.id,
      inPicture,
      pixels: total[PIXELS] as number,
      turfPixels,
      turfShare: region.pixelCount === 0 ? 0 : turfPixels / region.pixelCount,
      greenness: leaves ? null : greennessOf(total),
      ci95: indexInterval(dgciBlocks(sums), parameters),
      blocks: { grid, sums },
      methodVersion: METHOD_VERSION,
      parameters,
    };
  });
}

/**
 * All blocks' sums in one.
 * Exported so that many threads are held to one.
 */
export function totalSums(sums: Float64Array): Float64Array {
  const total = new Float64Array(SUMS);
  for (let i = 0; i < sums.length; i++) total[i % SUMS] = (total[i % SUMS] as number) + (sums[i] as number);
  return total;
}

/**
 * Turf pixels and the sum of their DGCI for each block, as the bootstrap wants them; empty blocks stay, with count 0.
 */
export function dgciBlocks(sums: Float64Array): BlockSum[] {
  const out: BlockSum[] = [];
  for (let at = 0; at < sums.length; at += SUMS) {
    const count = sums[at + TURF] as number;
    out.push({ count, sum: (qSum(sums, at) + count) / 3 });
  }
  return out;
}

/** Sum of q = hue/60 - saturation - brightness; a pixel's DGCI is (q + 1)/3. */
function qSum(sums: Float64Array, at: number): number {
  return (sums[at + HUE60] as number) - (sums[at + SATURATION] as number) - (sums[at + MAX_CODE] as number) / 255;
}

/** Greenness from one set of sums; null when it holds no turf pixel. */
function greennessOf(sums: Float64Array): Greenness | null {
  const turf = sums[TURF] as number;
  if (turf === 0) return null;
  const mean = (field: number): number => (sums[field] as number) / turf;
  const hue = 60 * mean(HUE60);
  const saturation = mean(SATURATION);
  const brightness = mean(MAX_CODE) / 255;
  const index = darkGreenColourIndex({ hue, saturation, brightness });
  const qMean = qSum(sums, 0) / turf;
  const spread = Math.max(0, (sums[Q_SQUARED] as number) - turf * qMean * qMean);
  const [lr, lg, lb] = [mean(LINEAR_R), mean(LINEAR_G), mean(LINEAR_B)] as const;
  const [r, g, b] = [mean(CODE_R), mean(CODE_G), mean(CODE_B)] as const;
  const ofMeanLight = darkGreenColourIndex(
    rgbToHsb(255 * linearToSrgb(lr), 255 * linearToSrgb(lg), 255 * linearToSrgb(lb)),
  );
  return {
    hue,
    saturation,
    brightness,
    dgci: index?.dgci as number,
    extrapolated: index?.extrapolated ?? true,
    dgciPixelMean: (qMean + 1) / 3,
    dgciPixelSd: turf === 1 ? 0 : Math.sqrt(spread / (turf - 1)) / 3,
    dgciOfMeanLight: ofMeanLight?.dgci ?? null,
    linearRgb: [lr, lg, lb],
    lab: linearRgbToLab(lr, lg, lb),
    ngrdi: ngrdi(r, g),
    gli: gli(r, g, b),
    exg: excessGreen(r, g, b),
    vari: vari(r, g, b),
  };
}
