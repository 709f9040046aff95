import { matrix3Of, times, type Matrix3, type Vector3 } from '../colour/matrix';
import { linearToSrgb } from '../colour/srgb';
import { darkGreenColourIndex, rgbToHsb } from '../colour/greenness';
import { seededRandom, type Random } from '../stats/random';
import type { GroundRaster } from './ground/rectify';

/** Version and parameters of the change against the check. */
export const CHANGE = {
  /**
   * DGCI of the mean linear light, coded as sRGB (mean first, index last), in both photos and both plots, each photo at
   * the brightness in which the check's green is `checkGreen`. Of the orders tried the first is nearest to the index of
   * the mean reflectance: averaging coded values or pixel indices gives shaded gaps between blades a weight that
   * changes with the light. The brightness takes the place of the camera's own choice (typical turf: 0.13 to 0.19).
   */
  version: 'change-linear-mean-3',
  checkGreen: 0.155,
  /** Left out along the plot's border, in metres, or as a share of its shorter side when the measure is unknown. */
  insetM: 0.05,
  insetShare: 0.05,
  /** Blocks: a quarter of the plot's shorter side, at least 12 cm (turf colour is alike over some 0.1 to 0.3 m). */
  blockShare: 0.25,
  minBlockM: 0.12,
  minBlocks: 8,
  resamples: 400,
  /**
   * The interval is of this plot's own change, so the bootstrap's variance counts as far as the plot was not seen:
   * `unseen` times the share left out (above 1, for neighbouring blocks are alike and a bootstrap of blocks runs
   * narrow), and `outline`, squared, for what an outline a little off lets in and out.
   */
  unseen: 2,
  outline: 0.36,
  /** Standard deviation of what the pair can't know of itself: camera, correction, light. Fitted with the two above. */
  systematicSd: 0.0015,
  systematicSdNoBoard: 0.0028,
  systematicSdWarm: 0.0022,
  systematicSdShadow: 0.002,
  /** ...a multiple of the cast, in ln(R/G) and ln(B/G), that the check alone told of. */
  castSd: 0.01,
  /** ...a share of how far two ways of correcting lie from their middle, in warm light. */
  apartSd: 0.5,
  /**
   * ...and a share of the change itself: a phone's own contrast, and leaves that it sees otherwise than paints of the same
   * colour. Of the intervals of 48 drawn pairs, each with a camera of its own, 92 in 100 held with it and 85 with 0.02
   * (95 and 87 where plot cards lay on the same lawns).
   */
  gainSd: 0.05,
  /** Less of a plot than this in the light both plots share: no comparison. */
  minCommonShare: 0.15,
} as const;

/**
 * One plot of the pair on its raster; `use` is 1 where the cell counts (the light both share, no mark when left out).
 */
export interface PlotPair {
  readonly before: GroundRaster;
  readonly after: GroundRaster;
  readonly use: Uint8Array;
  readonly metresPerCell: number | null;
  /** 1 where the plot is turf at all: what the change is meant for. All of it when absent. */
  readonly turf?: Uint8Array;
  /** Sums of light like a block's of what lies beyond the cells in use and counts all the same. */
  readonly beyond?: Block | undefined;
}

export interface ChangeAgainstCheck {
  /** (later - earlier) of the plot less (later - earlier) of the check, in DGCI. */
  readonly difference: number;
  /** 95%; null with fewer than CHANGE.minBlocks blocks in either plot. */
  readonly ci95: readonly [low: number, high: number] | null;
  readonly blocks: number;
}

/**
 * DGCI of a linear colour, null for a grey.
 * Exported so that truths of tests are written in light.
 */
export function dgciOfLinear([r, g, b]: Vector3): number | null {
  return darkGreenColourIndex(rgbToHsb(code(r), code(g), code(b)))?.dgci ?? null;
}

function code(linear: number): number {
  return 255 * linearToSrgb(Math.max(0, linear));
}

/** Per-block sums of linear light: r, g, b before, r, g, b after, count. */
export type Block = Float64Array;

/**
 * The change of a plot against the check's in the same two photos, light corrected by the matrices. The interval is
 * that of the plot's own mean: blocks of ground are resampled (the same block in both photos) for what was not seen of
 * plot and check, and what one pair can't know is added in quadrature.
 * @returns null when either plot has no cell to use or a mean is grey
 */
export function changeAgainstCheck(
  plot: PlotPair,
  check: PlotPair,
  before: Matrix3,
  after: Matrix3,
  systematicSd: number,
  seed: number | string,
): ChangeAgainstCheck | null {
  const plotBlocks = blocksOf(plot);
  const checkBlocks = blocksOf(check);
  if (plotBlocks.length === 0 || checkBlocks.length === 0) return null;
  const checkMean = sumOf(checkBlocks, (k) => k);
  const light = { before: brightnessTo(before, checkMean, 0), after: brightnessTo(after, checkMean, 3) };
  const all = (blocks: readonly Block[], { beyond }: PlotPair): number | null =>
    changeOf([...blocks, ...(beyond ? [beyond] : [])], (k) => k, light.before, light.after);
  const [own, base] = [all(plotBlocks, plot), all(checkBlocks, check)];
  if (own === null || base === null) return null;
  const difference = own - base;
  const blocks = Math.min(plotBlocks.length, checkBlocks.length);
  if (blocks < CHANGE.minBlocks) return { difference, ci95: null, blocks };
  const random = seededRandom(seed);
  const ofPlot = bootstrapVariance(plotBlocks, light.before, light.after, random);
  const ofCheck = bootstrapVariance(checkBlocks, light.before, light.after, random);
  const counted = (pair: PlotPair): number => CHANGE.outline ** 2 + CHANGE.unseen * (1 - shareUsed(pair));
  const variance =
    counted(plot) * ofPlot + counted(check) * ofCheck + systematicSd ** 2 + (CHANGE.gainSd * difference) ** 2;
  const half = 1.96 * Math.sqrt(variance);
  return { difference, ci95: [difference - half, difference + half], blocks };
}

/**
 * The matrix scaled so that the check's mean green is CHANGE.checkGreen; `offset` 0 for the earlier sums, 3 for the
 * later.
 */
function brightnessTo(matrix: Matrix3, sum: Block, offset: 0 | 3): Matrix3 {
  const n = sum[6]!;
  const green = times(matrix, [sum[offset]! / n, sum[offset + 1]! / n, sum[offset + 2]! / n])[1];
  return green > 1e-6 ? matrix3Of(matrix.map((v) => (v * CHANGE.checkGreen) / green)) : matrix;
}

/** Variance of a plot's change over its blocks drawn again and again, widened for few of them. */
function bootstrapVariance(blocks: readonly Block[], before: Matrix3, after: Matrix3, random: Random): number {
  let [sum, squares] = [0, 0];
  let n = 0;
  for (let i = 0; i < CHANGE.resamples; i++) {
    const change = changeOf(blocks, () => random.below(blocks.length), before, after);
    if (change === null) continue;
    sum += change;
    squares += change ** 2;
    n++;
  }
  return n < 2 ? 0 : Math.max(0, squares / n - (sum / n) ** 2) * (blocks.length / (blocks.length - 1));
}

/** Share of the plot's turf within the inset that is in use, 0..1. */
function shareUsed({ before, after, use, turf, metresPerCell }: PlotPair): number {
  const { width, height } = before;
  const inset = insetCells(width, height, metresPerCell);
  let [used, all] = [0, 0];
  for (let y = inset; y < height - inset; y++) {
    for (let x = inset; x < width - inset; x++) {
      const i = y * width + x;
      if (turf !== undefined && !turf[i]) continue;
      all++;
      if (use[i] && before.seen[i] && after.seen[i]) used++;
    }
  }
  return all === 0 ? 1 : used / all;
}

function sumOf(blocks: readonly Block[], draw: (k: number) => number): Block {
  const total = new Float64Array(7);
  for (let k = 0; k < blocks.length; k++) {
    const block = blocks[draw(k)]!;
    for (let c = 0; c < 7; c++) total[c]! += block[c]!;
  }
  return total;
}

function changeOf(
  blocks: readonly Block[],
  draw: (k: number) => number,
  before: Matrix3,
  after: Matrix3,
): number | null {
  const total = sumOf(blocks, draw);
  const n = total[6]!;
  const was = dgciOfLinear(times(before, [total[0]! / n, total[1]! / n, total[2]! / n]));
  const is = dgciOfLinear(times(after, [total[3]! / n, total[4]! / n, total[5]! / n]));
  return was === null || is === null ? null : is - was;
}

/** Mean linear light of a plot's cells in use, earlier and later photo; null for none. */
export function meansOf(plot: PlotPair): { before: Vector3; after: Vector3; cells: number } | null {
  const blocks = blocksOf(plot);
  const total = new Float64Array(7);
  for (const block of blocks) for (let c = 0; c < 7; c++) total[c]! += block[c]!;
  const n = total[6]!;
  if (n === 0) return null;
  return {
    before: [total[0]! / n, total[1]! / n, total[2]! / n],
    after: [total[3]! / n, total[4]! / n, total[5]! / n],
    cells: n,
  };
}

/** Cells left out along the border. */
export function insetCells(width: number, height: number, metresPerCell: number | null): number {
  return Math.round(
    metresPerCell === null
      ? CHANGE.insetShare * Math.min(width, height)
      : Math.min(CHANGE.insetM / metresPerCell, 0.2 * Math.min(width, height)),
  );
}

function blocksOf({ before, after, use, metresPerCell }: PlotPair): Block[] {
  const { width, height } = before;
  const inset = insetCells(width, height, metresPerCell);
  const shorter = Math.min(width, height);
  const size = Math.max(CHANGE.blockShare * shorter, metresPerCell === null ? 0 : CHANGE.minBlockM / metresPerCell, 1);
  const across = Math.max(1, Math.round((width - 2 * inset) / size));
  const along = Math.max(1, Math.round((height - 2 * inset) / size));
  const blocks = Array.from({ length: across * along }, () => new Float64Array(7));
  for (let y = inset; y < height - inset; y++) {
    const row = Math.min(along - 1, Math.floor(((y - inset) / (height - 2 * inset)) * along));
    for (let x = inset; x < width - inset; x++) {
      const i = y * width + x;
      if (!use[i] || !before.seen[i] || !after.seen[i]) continue;
      const block =
        blocks[row * across + Math.min(across - 1, Math.floor(((x - inset) / (width - 2 * inset)) * across))]!;
      for (let c = 0; c < 3; c++) {
        block[c]! += before.linear[i * 3 + c]!;
        block[3 + c]! += after.linear[i * 3 + c]!;
      }
      block[6]!++;
    }
  }
  return blocks.filter((block) => block[6]! > 0);
}
