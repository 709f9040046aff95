import 'server-only';
import { FEATURES_SIMD } from './features-simd-bytes';

interface Exports {
  readonly memory: WebAssembly.Memory;
  blurRow(from: number, to: number, width: number, kernel: number, radius: number): void;
  blurDown(from: number, to: number, stride: number, height: number, y: number, kernel: number, radius: number): void;
  nearest(
    one: number,
    many: number,
    xs: number,
    from: number,
    end: number,
    x: number,
    reach: number,
    i: number,
    backBest: number,
    back: number,
    to: number,
  ): void;
  describe(
    sums: number,
    w: number,
    h: number,
    points: number,
    count: number,
    c: number,
    s: number,
    cells: number,
    to: number,
  ): void;
}

let loaded: Exports | undefined;

function load(): Exports {
  const bytes = Uint8Array.from(atob(FEATURES_SIMD), (c) => c.charCodeAt(0));
  return new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports as unknown as Exports;
}

/** The kernel with at least so much memory; like the kernel of planes it has no plain loops beside it. */
function ready(bytes: number): Exports {
  loaded ??= load();
  const missing = bytes - loaded.memory.buffer.byteLength;
  if (missing > 0) loaded.memory.grow(Math.ceil(missing / 65536));
  return loaded;
}

/** Where the data begins: behind what the compiler keeps for itself. */
const START = 1024;
const KERNEL_BYTES = 1024;

/**
 * Blurs by a symmetric kernel (its middle first), edges repeated, in 32-bit floats.
 */
export function blurSimd(from: Float32Array, w: number, h: number, kernel: Float32Array): Float32Array {
  const radius = kernel.length - 1;
  const stride = (w + 3) & ~3;
  const rowAt = START + KERNEL_BYTES;
  const rowBytes = 4 * (stride + 2 * radius + 4);
  const betweenAt = rowAt + ((rowBytes + 15) & ~15);
  const outAt = betweenAt + 4 * stride * h;
  if (4 * kernel.length > KERNEL_BYTES)
    throw new RangeError(`blurSimd: expected a kernel of at most ${KERNEL_BYTES / 4} values, got ${kernel.length}`);
  const wasm = ready(outAt + 4 * stride + 16);
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

/** Descriptors (16 words each) of points and their places across. */
export interface Described {
  readonly words: Int32Array;
  readonly x: Float32Array;
}

/**
 * What one descriptor is nearest to: its number (-1 for none), the bits that differ, and those of the second nearest.
 */
export type Nearest = readonly [at: number, bits: number, second: number];

export interface NearestSearch {
  /** Begins with descriptor `at` of these words; `i` is who asks. */
  begin(words: Int32Array, at: number, i: number): void;
  /** Looks among the many from..to within reach of x too; the nearest so far. */
  among(from: number, to: number, x: number, reach: number): Nearest;
  /** Who came nearest to each of the many so far; -1 where nobody was compared. */
  back(): Int32Array;
}

/** A search for the nearest of these descriptors; good until the kernel is used for anything else. */
export function nearestSimd({ words: many, x: xs }: Described): NearestSearch {
  const count = xs.length;
  const manyAt = START + 128;
  const [xsAt, backAt, bestAt] = [0, 1, 2].map((k) => manyAt + 4 * many.length + 4 * count * k) as [
    number,
    number,
    number,
  ];
  const wasm = ready(bestAt + 2 * count + 64);
  const { buffer } = wasm.memory;
  const one = new Int32Array(buffer, START, 16);
  const answer = new Int32Array(buffer, START + 64, 3);
  new Int32Array(buffer, manyAt, many.length).set(many);
  new Float32Array(buffer, xsAt, count).set(xs);
  const back = new Int32Array(buffer, backAt, count).fill(-1);
  new Uint16Array(buffer, bestAt, count).fill(999);
  let who = 0;
  return {
    begin(words, at, i) {
      for (let k = 0; k < 16; k++) one[k] = words[at + k]!;
      [answer[0], answer[1], answer[2]] = [-1, 999, 999];
      who = i;
    },
    among(from, to, x, reach) {
      wasm.nearest(START, manyAt, xsAt, from, to, x, reach, who, bestAt, backAt, START + 64);
      return answer as unknown as Nearest;
    },
    back: () => back.slice(),
  };
}

/**
 * Descriptors (16 words each) of points of one octave: x, y and half the patch's edge each in `points`, in pixels of
 * the octave whose summed-area table is given.
 */
export function describeSimd(sums: Float64Array, w: number, h: number, points: Float64Array, turn: number): Int32Array {
  const count = points.length / 3;
  const [cells, pointsAt] = [START, START + 384];
  const outAt = pointsAt + 8 * points.length;
  const sumsAt = (outAt + 64 * count + 7) & ~7;
  const wasm = ready(sumsAt + 8 * sums.length + 64);
  const { buffer } = wasm.memory;
  new Float64Array(buffer, pointsAt, points.length).set(points);
  new Float64Array(buffer, sumsAt, sums.length).set(sums);
  wasm.describe(sumsAt, w, h, pointsAt, count, Math.cos(turn), Math.sin(turn), cells, outAt);
  return new Int32Array(buffer, outAt, 16 * count).slice();
}
