import 'server-only';
import { FEATURES_SIMD } from './features-simd-bytes';

interface Exports {
  readonly memory: WebAssembly.Memory;
  blurRow(from: number, to: number, width: number, kernel: number, radius: number): void;
  blurDown(from: number, to: number, stride: number, height: number, y: number, kernel: number, radius: number): void;
  bitsApart(one: number, many: number, count: number, to: number): void;
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

/** Counts, for one descriptor of 16 words after another, the bits in which it differs from a run of many. */
export type BitCounter = (words: Int32Array, at: number, from: number, to: number) => Uint16Array;

/** A counter over these descriptors (16 words each); its answer is reused, and good until the kernel is used for anything else. Null when the kernel can't run here. */
export function bitCounterSimd(many: Int32Array): BitCounter | null {
  const count = many.length / 16;
  const manyAt = START + 64;
  const outAt = manyAt + 4 * many.length;
  const wasm = ready(outAt + 2 * count + 16);
  if (wasm === null) return null;
  const { buffer } = wasm.memory;
  const one = new Int32Array(buffer, START, 16);
  new Int32Array(buffer, manyAt, many.length).set(many);
  const out = new Uint16Array(buffer, outAt, count);
  return (words, at, from, to) => {
    for (let i = 0; i < 16; i++) one[i] = words[at + i]!;
    wasm.bitsApart(START, manyAt + 64 * from, to - from, outAt);
    return out;
  };
}
