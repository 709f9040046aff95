import 'server-only';
import { LINEAR_OF_CODE } from '@/lib/colour/srgb';
import { medianInPlace } from '@/lib/photo/measure/median';
import type { Pixels, Polygon } from '@/lib/photo/raster/pixels';
import { lay, type PlanesKernel } from './planes-simd';

/**
 * What registration looks at: small copies of a photo as three logarithmic planes (lightness, red against green,
 * blue against green). The two colour planes hold most of what stays on a lawn between two dates: the blades of the
 * lightness plane are new each time, and mowing stripes and exposure live in it alone.
 */
export interface View {
  readonly width: number;
  readonly height: number;
  /** Width of this copy over the width of the full photo. */
  readonly scale: number;
  /** Linear light red, green, blue, each width * height, 0..1. */
  readonly rgb: readonly [Float32Array, Float32Array, Float32Array];
  /** 1 where the lawn and its surroundings are seen, 0 on boards laid anew for each photo. */
  readonly seen: Uint8Array;
}

/** Three planes freed of their local level, in units of their own noise: most values within +-2, a stake's about 10. */
export interface Planes {
  readonly width: number;
  readonly height: number;
  readonly scale: number;
  /** Four numbers a pixel: lightness, red against green, blue against green, and 1 where the place is seen, else 0. */
  readonly data: Float32Array;
}

/** A copy of a photo `width` pixels wide (never wider than the photo), averaged in linear light. */
export function makeView(pixels: Pixels, width: number): View {
  const w = Math.min(width, pixels.width);
  const scale = w / pixels.width;
  const h = Math.max(1, Math.round(pixels.height * scale));
  // A large photo goes by squares of whole pixels first, still at least twice as fine as the copy.
  const step = Math.max(1, Math.floor(pixels.width / (2 * w)));
  const across = Math.floor(pixels.width / step);
  const rowsAtOnce = step * Math.max(1, Math.floor(64 / step));
  const strip = rowsAtOnce / step;
  const {
    kernel,
    at: [bytes, table, squares, column, sums],
  } = lay(3 * pixels.width * rowsAtOnce, 1024, 16 * across * strip, 4 * across, 16 * w * h);
  const { buffer } = kernel.memory;
  new Float32Array(buffer, table, 256).set(LINEAR_OF_CODE);
  new Int32Array(buffer, column, across).set(
    Int32Array.from({ length: across }, (_, x) => Math.min(w - 1, Math.floor((x + 0.5) * step * scale))),
  );
  const total = new Float32Array(buffer, sums, 4 * w * h).fill(0);
  const each = new Float32Array(buffer, squares, 4 * across * strip);
  const part = new Uint8Array(buffer, bytes, 3 * pixels.width * rowsAtOnce);
  for (let y = 0; y + step <= pixels.height; y += rowsAtOnce) {
    const rows = step * Math.floor(Math.min(rowsAtOnce, pixels.height - y) / step);
    part.set(pixels.data.subarray(3 * pixels.width * y, 3 * pixels.width * (y + rows)));
    each.fill(0);
    kernel.addSquares(bytes, pixels.width, rows, step, across, table, squares);
    for (let k = 0; k < rows / step; k++) {
      const row = Math.min(h - 1, Math.floor((y + (k + 0.5) * step) * scale));
      kernel.addRow(squares + 16 * across * k, across, column, sums + 16 * w * row);
    }
  }
  const n = w * h;
  const [r, g, b] = [new Float32Array(n), new Float32Array(n), new Float32Array(n)];
  for (let o = 0, i = 0; o < n; o++, i += 4) {
    const share = 1 / ((total[i + 3]! || 1) * step * step);
    r[o] = total[i]! * share;
    g[o] = total[i + 1]! * share;
    b[o] = total[i + 2]! * share;
  }
  return { width: w, height: h, scale, rgb: [r, g, b], seen: new Uint8Array(n).fill(1) };
}

/** The view with boards (full-size pixels) left out. */
export function hideBoards(view: View, boards: readonly Polygon[]): View {
  const seen = view.seen.slice();
  for (const board of boards) hide(seen, view.width, view.height, board, view.scale);
  return { ...view, seen };
}

/** The view at half the size. */
export function halve(view: View): View {
  const w = view.width >> 1;
  const h = view.height >> 1;
  const rgb = view.rgb.map((from) => {
    const to = new Float32Array(w * h);
    for (let y = 0; y < h; y++) {
      for (let x = 0; x < w; x++) {
        const o = 2 * y * view.width + 2 * x;
        to[y * w + x] = (from[o]! + from[o + 1]! + from[o + view.width]! + from[o + view.width + 1]!) / 4;
      }
    }
    return to;
  }) as [Float32Array, Float32Array, Float32Array];
  const seen = new Uint8Array(w * h);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const o = 2 * y * view.width + 2 * x;
      seen[y * w + x] = view.seen[o]! & view.seen[o + 1]! & view.seen[o + view.width]! & view.seen[o + view.width + 1]!;
    }
  }
  return { width: w, height: h, scale: view.scale / 2, rgb, seen };
}

function hide(seen: Uint8Array, w: number, h: number, board: Polygon, scale: number): void {
  const corners = board.map(([x, y]) => [(x + 0.5) * scale - 0.5, (y + 0.5) * scale - 0.5] as const);
  const [y0, y1] = [Math.min(...corners.map((c) => c[1])), Math.max(...corners.map((c) => c[1]))];
  for (let y = Math.max(0, Math.floor(y0)); y <= Math.min(h - 1, Math.ceil(y1)); y++) {
    const cuts: number[] = [];
    for (let i = 0; i < corners.length; i++) {
      const [a, b] = [corners[i]!, corners[(i + 1) % corners.length]!];
      if (a[1] <= y !== b[1] <= y) cuts.push(a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0]));
    }
    cuts.sort((p, q) => p - q);
    for (let k = 0; k + 1 < cuts.length; k += 2) {
      for (let x = Math.max(0, Math.ceil(cuts[k]!)); x <= Math.min(w - 1, Math.floor(cuts[k + 1]!)); x++)
        seen[y * w + x] = 0;
    }
  }
}

/** Offset against the dark end, where a camera's noise would rule the logarithm. */
const DARK = 0.004;
/** Log units: a plane quieter than this is taken to hold nothing. */
const QUIET = 0.003;
/**
 * The planes of a view, smoothed by `smooth` pixels, freed of everything slower than `local` pixels, in units of the
 * plane's own typical size (the turf's noise), large values compressed.
 */
export function makePlanes(view: View, smooth: number, local: number): Planes {
  const {
    width: w,
    height: h,
    rgb: [r, g, b],
    seen,
  } = view;
  const n = w * h;
  const {
    kernel,
    at: [red, green, blue, hidden, fine, level, between, sums],
  } = lay(4 * n, 4 * n, 4 * n, n, 16 * n, 16 * n, 16 * n, 16 * w);
  const { buffer } = kernel.memory;
  [red, green, blue].forEach((at, c) => new Float32Array(buffer, at, n).set([r, g, b][c]!));
  new Uint8Array(buffer, hidden, n).set(seen);
  const blurInto = (image: number, sigma: number): void => blurImage(kernel, image, between, sums, w, h, sigma);
  kernel.logs(red, green, blue, n, DARK, fine);
  if (smooth > 0) blurInto(fine, smooth);
  kernel.onlySeen(fine, hidden, n, fine);
  new Uint8Array(buffer, level, 16 * n).set(new Uint8Array(buffer, fine, 16 * n));
  blurInto(level, local);
  kernel.lessLevel(fine, level, n);
  const values = new Float32Array(buffer, fine, 4 * n);
  const [u0, u1, u2] = [typicalSize(values, 0, seen), typicalSize(values, 1, seen), typicalSize(values, 2, seen)];
  kernel.scale(fine, n, 1 / u0, 1 / u1, 1 / u2);
  return { width: w, height: h, scale: view.scale, data: values.slice() };
}

/**
 * Large values compressed: up to `soft` typical sizes pass in proportion, beyond that a path or a stake counts by its
 * logarithm.
 */
export function compress(planes: Planes, soft: number): Planes {
  return looked(planes, `compressed ${soft}`, () => curve((v) => soft * Math.asinh(v / soft)));
}

/** Only the turf: values beyond a few typical sizes (paths, stakes, their surroundings) fade to 0. */
export function turfOnly(planes: Planes): Planes {
  return looked(planes, 'faded', () => curve((v) => v * Math.exp(-(v * v) / 18)));
}

/** Only the two colour planes: mowing stripes, which lie elsewhere after each mowing, are not in them. */
export function withoutLight(planes: Planes): Planes {
  const data = planes.data.slice();
  for (let i = 0; i < data.length; i += 4) data[i] = 0;
  return { ...planes, data };
}

/** A curve of a value from -REACH to REACH, as a table with STEPS entries a unit; straight between them. */
type Curve = Float32Array;

/** Nothing but noise-free drawings comes to this many typical sizes; what does is taken as that. */
const REACH = 64;
const STEPS = 64;

function curve(f: (value: number) => number): Curve {
  return Float32Array.from({ length: 2 * REACH * STEPS + 2 }, (_, i) => f(i / STEPS - REACH));
}

const curves = new Map<string, Curve>();
/** What was made of some planes before, as long as they live: the same look is asked for many times. */
const made = new WeakMap<Planes, Map<string, Planes>>();

function looked(planes: Planes, name: string, make: () => Curve): Planes {
  const before = made.get(planes) ?? new Map<string, Planes>();
  made.set(planes, before);
  const known = before.get(name);
  if (known) return known;
  const table = curves.get(name) ?? make();
  curves.set(name, table);
  const out = planes.data.slice();
  for (let o = 0; o < out.length; o += 4) {
    for (let c = 0; c < 3; c++) {
      const at = (Math.max(-REACH, Math.min(REACH, out[o + c]!)) + REACH) * STEPS;
      const i = at | 0;
      const low = table[i]!;
      out[o + c] = low + (at - i) * (table[i + 1]! - low);
    }
  }
  const result = { ...planes, data: out };
  before.set(name, result);
  return result;
}

/**
 * Lightness, red against green and blue against green of a view (four numbers a pixel, the last 0), in logarithms,
 * smoothed by `sigma` pixels. Good until something else uses the kernel.
 */
export function smoothLogs({ width: w, height: h, rgb }: View, sigma: number): Float32Array {
  const n = w * h;
  const {
    kernel,
    at: [red, green, blue, image, between, sums],
  } = lay(4 * n, 4 * n, 4 * n, 16 * n, 16 * n, 16 * w);
  [red, green, blue].forEach((at, c) => new Float32Array(kernel.memory.buffer, at, n).set(rgb[c]!));
  kernel.logs(red, green, blue, n, DARK, image);
  blurImage(kernel, image, between, sums, w, h, sigma);
  return new Float32Array(kernel.memory.buffer, image, 4 * n);
}

/** `blur` of an image in the kernel's memory. */
function blurImage(
  kernel: PlanesKernel,
  image: number,
  between: number,
  sums: number,
  w: number,
  h: number,
  sigma: number,
): void {
  for (const radius of boxesOf(sigma)) {
    kernel.meanRows(image, between, w, h, radius);
    kernel.meanColumns(between, image, w, h, radius, sums);
  }
}

/** Standard deviation of most values of a plane, taken from their median size so that paths and stakes don't enter. */
function typicalSize(data: Float32Array, plane: number, seen: Uint8Array): number {
  const sizes = new Float64Array(Math.ceil(seen.length / 7));
  let n = 0;
  for (let o = 0; o < seen.length; o += 7) if (seen[o] === 1) sizes[n++] = Math.abs(data[4 * o + plane]!);
  return (n === 0 ? 0 : medianInPlace(sizes.subarray(0, n))) / 0.6745 + QUIET;
}

/**
 * Radii of three running means that come nearest to a Gaussian: those of odd width 2r+1 have variance ((2r+1)^2 - 1) /
 * 4 together (Wells 1986).
 */
function boxesOf(sigma: number): number[] {
  const ideal = Math.sqrt(4 * sigma * sigma + 1);
  const low = Math.max(1, 2 * Math.floor((ideal - 1) / 2) + 1);
  const lows = Math.round((12 * sigma * sigma - 3 * low * low - 12 * low - 9) / (-4 * low - 4));
  return [0, 1, 2].map((pass) => ((pass < lows ? low : low + 2) - 1) / 2).filter((radius) => radius > 0);
}

/** Near-Gaussian blur of standard deviation `sigma` pixels: three running means a direction, edges repeated. */
export function blur(from: Float32Array, w: number, h: number, sigma: number): Float32Array {
  const between = new Float32Array(from.length);
  const result = from.slice();
  for (const radius of boxesOf(sigma)) {
    meanAlongRows(result, between, w, h, radius);
    meanAlongColumns(between, result, w, h, radius);
  }
  return result;
}

function meanAlongRows(from: Float32Array, to: Float32Array, w: number, h: number, radius: number): void {
  const size = 2 * radius + 1;
  for (let y = 0; y < h; y++) {
    const row = y * w;
    let sum = from[row]! * (radius + 1);
    for (let x = 1; x <= radius; x++) sum += from[row + Math.min(w - 1, x)]!;
    for (let x = 0; x < w; x++) {
      to[row + x] = sum / size;
      const enter = x + radius + 1;
      const leave = x - radius;
      sum += from[row + (enter < w ? enter : w - 1)]! - from[row + (leave > 0 ? leave : 0)]!;
    }
  }
}

function meanAlongColumns(from: Float32Array, to: Float32Array, w: number, h: number, radius: number): void {
  const size = 2 * radius + 1;
  const sum = new Float64Array(w);
  for (let x = 0; x < w; x++) sum[x] = from[x]! * (radius + 1);
  for (let y = 1; y <= radius; y++) {
    const row = Math.min(h - 1, y) * w;
    for (let x = 0; x < w; x++) sum[x]! += from[row + x]!;
  }
  for (let y = 0; y < h; y++) {
    const enter = Math.min(h - 1, y + radius + 1) * w;
    const leave = Math.max(0, y - radius) * w;
    const row = y * w;
    for (let x = 0; x < w; x++) {
      to[row + x] = sum[x]! / size;
      sum[x]! += from[enter + x]! - from[leave + x]!;
    }
  }
}
