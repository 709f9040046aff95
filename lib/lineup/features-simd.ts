import 'server-only';
import { FEATURES_SIMD } from './features-simd-bytes';

interface Exports {
  readonly memory: WebAssembly.Memory;
  blurRow(from: number, to: number, width: number, kernel: number, radius: number): void;
  blurDown(from: number, to: number, stride: number, height: number, y: number, kernel: number, radius: number): void;
  nearest(one: number, many: number, xs: number, sizes: number, from: number, end: number, x: number, reach: number, least: number, most: number, i: number, backBest: number, back: number, to: number): void;
}

let loaded: Exports | null | undefined;

/** Null where WebAssembly or its SIMD isn't there: the plain loops do the same. */
function load(): Exports | null {
  try {
    const bytes = Uint8Array.from(atob(FEATURES_SIMD), (c) => c.charCodeAt(0));
    return new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports as unknown as Exports;
  } catch {
    return null;
  }
}

function ready(bytes: number): Exports | null {
  loaded ??= load();
  if (loaded === null) return null;
  const missing = bytes - loaded.memory.buffer.byteLength;
  if (missing > 0) loaded.memory.grow(Math.ceil(missing / 65536));
  return loaded;
}

/** Where the data begins: behind what the compiler keeps for itself. */
const START = 1024;
const KERNEL_BYTES = 1024;

/**
 * Blurs by a symmetric kernel (its middle first), edges repeated: the plain loop's answer to a 32-bit float's rounding.
 * Null when the kernel can't run here.
 */
export function blurSimd(from: Float32Array, w: number, h: number, kernel: Float32Array): Float32Array | null {
  const radius = kernel.length - 1;
  const stride = (w + 3) & ~3;
  const rowAt = START + KERNEL_BYTES;
  const rowBytes = 4 * (stride + 2 * radius + 4);
  const betweenAt = rowAt + ((rowBytes + 15) & ~15);
  const outAt = betweenAt + 4 * stride * h;
  const wasm = 4 * kernel.length <= KERNEL_BYTES ? ready(outAt + 4 * stride + 16) : null;
  if (wasm === null) return null;
  const { buffer } = wasm.memory;
  new Float32Array(buffer, START, kernel.length).set(kernel);
  const row = new Float32Array(buffer, rowAt, stride + 2 * radius);
  for (let y = 0; y < h; y++) {
    row.set(from.subarray(y * w, (y + 1) * w), radius);
    row.fill(from[y * w]!, 0, radius);
    row.fill(from[(y + 1) * w - 1]!, radius + w);
    wasm.blurRow(rowAt, betweenAt + 4 * stride * y, stride, START, radius);
  }
  const out = new Float32Array(w * h);
  const line = new Float32Array(buffer, outAt, w);
  for (let y = 0; y < h; y++) {
    wasm.blurDown(betweenAt, outAt, stride, h, y, START, radius);
    out.set(line, y * w);
  }
  return out;
}

/** Descriptors (16 words each) of points, their places across and their sizes. */
export interface Described {
  readonly words: Int32Array;
  readonly x: Float32Array;
  readonly size: Float32Array;
}

/** What one descriptor is nearest to: its number (-1 for none), the bits that differ, and those of the second nearest. */
export type Nearest = readonly [at: number, bits: number, second: number];

export interface NearestSearch {
  /** Among `many` from..to, those of a size from least to most and within reach of x; `i` is who asks. */
  find(words: Int32Array, at: number, i: number, from: number, to: number, x: number, reach: number, least: number, most: number): Nearest;
  /** Who came nearest to each of the many so far; -1 where nobody was compared. */
  back(): Int32Array;
}

/** A search for the nearest of these descriptors; good until the kernel is used for anything else. Null when the kernel can't run here. */
export function nearestSimd({ words: many, x: xs, size: sizes }: Described): NearestSearch | null {
  const count = xs.length;
  const manyAt = START + 128;
  const [xsAt, sizesAt, backAt, bestAt] = [0, 1, 2, 3].map((k) => manyAt + 4 * many.length + 4 * count * k) as [number, number, number, number];
  const wasm = ready(bestAt + 2 * count + 64);
  if (wasm === null) return null;
  const { buffer } = wasm.memory;
  const one = new Int32Array(buffer, START, 16);
  const answer = new Int32Array(buffer, START + 64, 3);
  new Int32Array(buffer, manyAt, many.length).set(many);
  new Float32Array(buffer, xsAt, count).set(xs);
  new Float32Array(buffer, sizesAt, count).set(sizes);
  const back = new Int32Array(buffer, backAt, count).fill(-1);
  new Uint16Array(buffer, bestAt, count).fill(999);
  return {
    find(words, at, i, from, to, x, reach, least, most) {
      for (let k = 0; k < 16; k++) one[k] = words[at + k]!;
      wasm.nearest(START, manyAt, xsAt, sizesAt, from, to, x, reach, least, most, i, bestAt, backAt, START + 64);
      return answer as unknown as Nearest;
    },
    back: () => back.slice(),
  };
}
