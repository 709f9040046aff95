import { LINEAR_OF_CODE } from '../../colour/srgb';
import { SUMS } from './kernel';
import { KERNEL_SIMD } from './kernel-simd-bytes';

/**
 * The kernel with sixteen pixels at a time, in WebAssembly: the sums of `addRuns`, those of hue and saturation rounded
 * to 32-bit floats a pixel (about 1e-7 of a mean). The counts are the same to the last pixel.
 */
export type AddRunsSimd = (data: Uint8Array, width: number, blockRuns: Int32Array, sums: Float64Array) => void;

interface Exports {
  readonly memory: WebAssembly.Memory;
  addPieces(
    pieces: number,
    count: number,
    sums: number,
    low1: number,
    low2: number,
    high1: number,
    high2: number,
    satMax: number,
    satDelta: number,
  ): void;
}

const PAIRS_BYTES = 256 * 1024;
const MAX_PIECES = 4096;
const PIECES_AT = PAIRS_BYTES;
const PIXELS_AT = PIECES_AT + MAX_PIECES * 12;
const PIXELS_BYTES = 128 * 1024;
const SUMS_AT = PIXELS_AT + PIXELS_BYTES + 64;
/** Blocks that fit behind; 64 x 64 of the largest grid need 384 KiB. */
const MAX_BLOCKS = 4096;
/** Longest piece whose whole-number sums can't overflow. */
const MAX_PIECE = 4096;

let loaded: Exports | null | undefined;

/** Null where WebAssembly or its SIMD isn't there: the plain kernel does the same. */
function load(): Exports | null {
  try {
    const bytes = Uint8Array.from(atob(KERNEL_SIMD), (c) => c.charCodeAt(0));
    const instance = new WebAssembly.Instance(new WebAssembly.Module(bytes), {});
    const exports = instance.exports as unknown as Exports;
    const missing = SUMS_AT + MAX_BLOCKS * SUMS * 8 - exports.memory.buffer.byteLength;
    if (missing > 0) exports.memory.grow(Math.ceil(missing / 65536));
    const pairs = new Uint32Array(exports.memory.buffer, 0, 65536);
    for (let pair = 0; pair < 65536; pair++) {
      pairs[pair] =
        Math.round(2 ** 19 * (LINEAR_OF_CODE[pair & 255] as number)) +
        Math.round(2 ** 19 * (LINEAR_OF_CODE[pair >> 8] as number));
    }
    return exports;
  } catch {
    return null;
  }
}

/**
 * The fast kernel for a turf mask, or null when this mask or this machine needs the plain one: hue limits must be whole
 * multiples of 3 degrees or fractions of 60 with a denominator up to 20, the saturation a whole percentage, as the sums
 * run in 16 bits.
 */
export function simdKernel(hueFromDeg: number, hueToDeg: number, saturationFrom: number): AddRunsSimd | null {
  const low = sixtieths(hueFromDeg);
  const high = sixtieths(hueToDeg);
  const percent = Math.round(saturationFrom * 100);
  if (low === null || high === null || percent / 100 !== saturationFrom || percent > 100) return null;
  loaded ??= load();
  if (loaded === null) return null;
  const { memory, addPieces } = loaded;

  return (data, width, blockRuns, sums) => {
    if (sums.length > MAX_BLOCKS * SUMS)
      throw new RangeError(`sums: expected at most ${MAX_BLOCKS} blocks, got ${sums.length / SUMS}`);
    const bytes = new Uint8Array(memory.buffer);
    const pieces = new Int32Array(memory.buffer, PIECES_AT, MAX_PIECES * 3);
    const inside = new Float64Array(memory.buffer, SUMS_AT, sums.length);
    inside.set(sums);
    let count = 0;
    let used = PIXELS_AT;
    const flush = (): void => {
      addPieces(
        PIECES_AT,
        count,
        SUMS_AT,
        low.numerator,
        low.denominator,
        high.numerator,
        high.denominator,
        percent,
        100,
      );
      count = 0;
      used = PIXELS_AT;
    };
    for (let run = 0; run < blockRuns.length; run += 4) {
      const row = (blockRuns[run] as number) * width;
      const stop = blockRuns[run + 2] as number;
      for (let from = blockRuns[run + 1] as number; from < stop; from += MAX_PIECE) {
        const to = Math.min(stop, from + MAX_PIECE);
        const length = (to - from) * 3;
        if (count === MAX_PIECES || used + length > PIXELS_AT + PIXELS_BYTES) flush();
        bytes.set(data.subarray((row + from) * 3, (row + to) * 3), used);
        pieces[count * 3] = used;
        pieces[count * 3 + 1] = to - from;
        pieces[count * 3 + 2] = blockRuns[run + 3] as number;
        count++;
        used += length;
      }
    }
    flush();
    sums.set(inside);
  };
}

/**
 * Degrees / 60 as a fraction whose products with k (up to 1530) and delta (up to 255) stay within 16 bits; null when
 * there is none.
 */
function sixtieths(degrees: number): { numerator: number; denominator: number } | null {
  for (let denominator = 1; denominator <= 20; denominator++) {
    const numerator = (degrees * denominator) / 60;
    if (Number.isInteger(numerator) && numerator >= 0 && numerator <= 120) return { numerator, denominator };
  }
  return null;
}
