import { times, type Matrix3, type Vector3 } from '../colour/matrix';
import { linearToSrgb } from '../colour/srgb';
import { darkGreenColourIndex, rgbToHsb } from '../colour/greenness';
import { seededRandom } from '../stats/random';
import type { GroundRaster } from './rectify';

/** Version and parameters of the change against the check. */
export const CHANGE = {
  /**
   * DGCI of the mean linear light, coded as sRGB (mean first, index last), in both photos and both plots. Of the orders tried
   * it is nearest to the index of the mean reflectance: averaging coded values or pixel indices gives shaded gaps between
   * blades a weight that changes with the light.
   */
  version: 'change-linear-mean-1',
  /** Left out along the plot's border, in metres, or as a share of its shorter side when the measure is unknown. */
  insetM: 0.05,
  insetShare: 0.05,
  /** Blocks: a quarter of the plot's shorter side, at least 12 cm (turf colour is alike over some 0.1 to 0.3 m). */
  blockShare: 0.25,
  minBlockM: 0.12,
  minBlocks: 8,
  resamples: 400,
  /** Standard deviation of what the pair can't know of itself: camera, correction, outline. */
  systematicSd: 0.0025,
  systematicSdWarm: 0.0045,
  systematicSdShadow: 0.008,
  /** Less of a plot than this in the light both plots share: no comparison. */
  minCommonShare: 0.15,
} as const;

/** One plot of the pair on its raster; `use` is 1 where the cell counts (the light both share, no mark when left out). */
export interface PlotPair {
  readonly before: GroundRaster;
  readonly after: GroundRaster;
  readonly use: Uint8Array;
  readonly metresPerCell: number | null;
}

export interface ChangeAgainstCheck {
  /** (later - earlier) of the plot less (later - earlier) of the check, in DGCI. */
  readonly difference: number;
  /** 95%; null with fewer than CHANGE.minBlocks blocks in either plot. */
  readonly ci95: readonly [low: number, high: number] | null;
  readonly blocks: number;
}

/** DGCI of a linear colour, null for a grey. */
export function dgciOfLinear([r, g, b]: Vector3): number | null {
  return darkGreenColourIndex(rgbToHsb(code(r), code(g), code(b)))?.dgci ?? null;
}

function code(linear: number): number {
  return 255 * linearToSrgb(Math.max(0, linear));
}

/** Per-block sums of linear light: r, g, b before, r, g, b after, count. */
type Block = Float64Array;

/**
 * The change of a plot against the check's in the same two photos, light corrected by the matrices. The interval resamples
 * blocks of ground (the same block in both photos), and adds in quadrature what one pair can't know.
 * @returns null when either plot has no cell to use or a mean is grey
 */
export function changeAgainstCheck(plot: PlotPair, check: PlotPair, before: Matrix3, after: Matrix3, systematicSd: number, seed: number | string): ChangeAgainstCheck | null {
  const plotBlocks = blocksOf(plot);
  const checkBlocks = blocksOf(check);
  if (plotBlocks.length === 0 || checkBlocks.length === 0) return null;
  const all = (blocks: readonly Block[]): number | null => changeOf(blocks, (k) => k, before, after);
  const [own, base] = [all(plotBlocks), all(checkBlocks)];
  if (own === null || base === null) return null;
  const difference = own - base;
  const blocks = Math.min(plotBlocks.length, checkBlocks.length);
  if (blocks < CHANGE.minBlocks) return { difference, ci95: null, blocks };
  const random = seededRandom(seed);
  let [sum, squares] = [0, 0];
  let n = 0;
  for (let i = 0; i < CHANGE.resamples; i++) {
    const a = changeOf(plotBlocks, () => random.below(plotBlocks.length), before, after);
    const b = changeOf(checkBlocks, () => random.below(checkBlocks.length), before, after);
    if (a === null || b === null) continue;
    sum += a - b;
    squares += (a - b) ** 2;
    n++;
  }
  const variance = Math.max(0, squares / n - (sum / n) ** 2) * (blocks / (blocks - 1));
  const half = 1.96 * Math.hypot(Math.sqrt(variance), systematicSd);
  return { difference, ci95: [difference - half, difference + half], blocks };
}

function changeOf(blocks: readonly Block[], draw: (k: number) => number, before: Matrix3, after: Matrix3): number | null {
  const total = new Float64Array(7);
  for (let k = 0; k < blocks.length; k++) {
    const block = blocks[draw(k)]!;
    for (let c = 0; c < 7; c++) total[c]! += block[c]!;
  }
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
  return { before: [total[0]! / n, total[1]! / n, total[2]! / n], after: [total[3]! / n, total[4]! / n, total[5]! / n], cells: n };
}

/** Cells left out along the border. */
export function insetCells(width: number, height: number, metresPerCell: number | null): number {
  return Math.round(metresPerCell === null ? CHANGE.insetShare * Math.min(width, height) : Math.min(CHANGE.insetM / metresPerCell, 0.2 * Math.min(width, height)));
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
      const block = blocks[row * across + Math.min(across - 1, Math.floor(((x - inset) / (width - 2 * inset)) * across))]!;
      for (let c = 0; c < 3; c++) {
        block[c]! += before.linear[i * 3 + c]!;
        block[3 + c]! += after.linear[i * 3 + c]!;
      }
      block[6]!++;
    }
  }
  return blocks.filter((block) => block[6]! > 0);
}
