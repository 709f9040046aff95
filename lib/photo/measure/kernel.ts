import { LINEAR_OF_CODE } from '../../colour/srgb';

/**
 * The inner loop of every reading: one pass over the pixels of some runs, adding up all that is asked of them later.
 * Each block of pixels has SUMS numbers in one array; a block's sums can be added to another's.
 */
export const SUMS = 12;
export const PIXELS = 0;
/** Pixels inside the turf mask; all sums that follow are over these alone. */
export const TURF = 1;
/** Sum of hue, in units of 60 degrees. */
export const HUE60 = 2;
export const SATURATION = 3;
/** Sum of the largest channel's code, 0..255 a pixel. */
export const MAX_CODE = 4;
/**
 * Sum of squares of q = hue/60 - saturation - brightness, from which the spread of a pixel's DGCI = (q + 1)/3 follows.
 */
export const Q_SQUARED = 5;
export const LINEAR_R = 6;
export const LINEAR_G = 7;
export const LINEAR_B = 8;
export const CODE_R = 9;
export const CODE_G = 10;
export const CODE_B = 11;

/**
 * The turf mask as whole-number tables, so that a pixel on its border always falls on the same side.
 * With max and min the largest and smallest code and delta their difference, hue is 60 k / delta degrees with a whole
 * number k, so "hue within limits" becomes low[delta] <= k <= low[delta] + span[delta].
 */
export interface MaskTables {
  readonly minDelta: Int32Array;
  readonly low: Int32Array;
  readonly span: Int32Array;
}

/**
 * @param hueFromDeg, hueToDeg limits of hue, both inside, 0 .. 360 degrees
 * @param saturationFrom least saturation, inside, 0 .. 1
 */
export function maskTables(hueFromDeg: number, hueToDeg: number, saturationFrom: number): MaskTables {
  const minDelta = new Int32Array(256);
  const low = new Int32Array(256);
  const span = new Int32Array(256);
  for (let max = 0; max < 256; max++) {
    let delta = 1;
    while (delta <= max && delta / max < saturationFrom) delta++;
    minDelta[max] = delta;
  }
  for (let delta = 1; delta < 256; delta++) {
    let k = 0;
    while (k < 6 * delta && (60 * k) / delta < hueFromDeg) k++;
    low[delta] = k;
    let end = k;
    while (end < 6 * delta && (60 * end) / delta <= hueToDeg) end++;
    span[delta] = end - k - 1;
  }
  return { minDelta, low, span };
}

/** 1/delta for the hue sum, 1/max for saturation. */
const RECIPROCAL = Float64Array.from({ length: 256 }, (_, n) => (n === 0 ? 0 : 1 / n));
const BRIGHTNESS = Float64Array.from({ length: 256 }, (_, code) => code / 255);

/**
 * Adds the pixels of the runs to their blocks' sums.
 * @param data R, G, B bytes, row-major
 * @param width of the photo in pixels
 * @param blockRuns four whole numbers a run: row, first column, one past the last column, block
 * @param sums SUMS numbers a block
 */
export function addRuns(
  data: Uint8Array,
  width: number,
  blockRuns: Int32Array,
  mask: MaskTables,
  sums: Float64Array,
): void {
  const { minDelta, low, span } = mask;
  const linear = LINEAR_OF_CODE;
  const reciprocal = RECIPROCAL;
  const brightness = BRIGHTNESS;
  for (let run = 0; run < blockRuns.length; run += 4) {
    const row = (blockRuns[run] as number) * width;
    const from = (row + (blockRuns[run + 1] as number)) * 3;
    const to = (row + (blockRuns[run + 2] as number)) * 3;
    let turf = 0;
    let hue60 = 0;
    let saturation = 0;
    let maxCode = 0;
    let qSquared = 0;
    let linearR = 0;
    let linearG = 0;
    let linearB = 0;
    let codeR = 0;
    let codeG = 0;
    let codeB = 0;
    for (let i = from; i < to; i += 3) {
      const r = data[i] as number;
      const g = data[i + 1] as number;
      const b = data[i + 2] as number;
      let max: number;
      let delta: number;
      let k: number;
      if (g >= r) {
        if (b <= g) {
          max = g;
          delta = g - (b <= r ? b : r);
          k = 2 * delta + b - r;
        } else {
          max = b;
          delta = b - r;
          k = 4 * delta + r - g;
        }
      } else if (b <= r) {
        max = r;
        delta = r - (b <= g ? b : g);
        k = g - b;
        if (k < 0) k += 6 * delta;
      } else {
        max = b;
        delta = b - g;
        k = 4 * delta + r - g;
      }
      if (delta < (minDelta[max] as number)) continue;
      const above = k - (low[delta] as number);
      if (above < 0 || above > (span[delta] as number)) continue;
      const h = k * (reciprocal[delta] as number);
      const s = delta * (reciprocal[max] as number);
      const q = h - s - (brightness[max] as number);
      turf++;
      hue60 += h;
      saturation += s;
      maxCode += max;
      qSquared += q * q;
      linearR += linear[r] as number;
      linearG += linear[g] as number;
      linearB += linear[b] as number;
      codeR += r;
      codeG += g;
      codeB += b;
    }
    const at = (blockRuns[run + 3] as number) * SUMS;
    add(sums, at + PIXELS, (to - from) / 3);
    add(sums, at + TURF, turf);
    add(sums, at + HUE60, hue60);
    add(sums, at + SATURATION, saturation);
    add(sums, at + MAX_CODE, maxCode);
    add(sums, at + Q_SQUARED, qSquared);
    add(sums, at + LINEAR_R, linearR);
    add(sums, at + LINEAR_G, linearG);
    add(sums, at + LINEAR_B, linearB);
    add(sums, at + CODE_R, codeR);
    add(sums, at + CODE_G, codeG);
    add(sums, at + CODE_B, codeB);
  }
}

function add(sums: Float64Array, at: number, value: number): void {
  sums[at] = (sums[at] as number) + value;
}
