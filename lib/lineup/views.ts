import 'server-only';
import { LINEAR_OF_CODE } from '@/lib/colour/srgb';
import { medianInPlace } from '@/lib/photo/median';
import type { Pixels, Polygon } from '@/lib/photo/pixels';

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
  const n = w * h;
  const [r, g, b] = [new Float32Array(n), new Float32Array(n), new Float32Array(n)];
  const count = new Uint16Array(n);
  const column = Int32Array.from({ length: pixels.width }, (_, x) => Math.min(w - 1, Math.floor((x + 0.5) * scale)));
  const { data } = pixels;
  let i = 0;
  for (let y = 0; y < pixels.height; y++) {
    const row = Math.min(h - 1, Math.floor((y + 0.5) * scale)) * w;
    for (let x = 0; x < pixels.width; x++, i += 3) {
      const o = row + column[x]!;
      r[o]! += LINEAR_OF_CODE[data[i]!]!;
      g[o]! += LINEAR_OF_CODE[data[i + 1]!]!;
      b[o]! += LINEAR_OF_CODE[data[i + 2]!]!;
      count[o]!++;
    }
  }
  for (let o = 0; o < n; o++) {
    const c = count[o]! || 1;
    r[o]! /= c;
    g[o]! /= c;
    b[o]! /= c;
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
      for (let x = Math.max(0, Math.ceil(cuts[k]!)); x <= Math.min(w - 1, Math.floor(cuts[k + 1]!)); x++) seen[y * w + x] = 0;
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
  const { width: w, height: h, rgb: [r, g, b], seen } = view;
  const n = w * h;
  const logs = [new Float32Array(n), new Float32Array(n), new Float32Array(n)] as const;
  for (let o = 0; o < n; o++) {
    const lr = Math.log(r[o]! + DARK);
    const lg = Math.log(g[o]! + DARK);
    const lb = Math.log(b[o]! + DARK);
    logs[0][o] = 0.3 * lr + 0.59 * lg + 0.11 * lb;
    logs[1][o] = lr - lg;
    logs[2][o] = lb - lg;
  }
  const hidden = seen.includes(0);
  const coverLocal = hidden ? blur(Float32Array.from(seen), w, h, local) : seen;
  const data = new Float32Array(4 * n);
  for (let c = 0; c < 3; c++) {
    const fine = smooth > 0 ? blur(logs[c]!, w, h, smooth) : logs[c]!;
    let level: Float32Array;
    if (hidden) {
      const kept = new Float32Array(n);
      for (let o = 0; o < n; o++) kept[o] = fine[o]! * seen[o]!;
      level = blur(kept, w, h, local);
      for (let o = 0; o < n; o++) level[o]! /= coverLocal[o]! + 1e-6;
    } else {
      level = blur(fine, w, h, local);
    }
    for (let o = 0; o < n; o++) fine[o] = seen[o] === 1 ? fine[o]! - level[o]! : 0;
    const unit = typicalSize(fine, seen);
    for (let o = 0, i = c; o < n; o++, i += 4) data[i] = fine[o]! / unit;
  }
  for (let o = 0, i = 3; o < n; o++, i += 4) data[i] = seen[o]!;
  return { width: w, height: h, scale: view.scale, data };
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

/** Standard deviation of most values, taken from their median size so that paths and stakes don't enter. */
function typicalSize(values: Float32Array, seen: Uint8Array): number {
  const sizes = new Float64Array(Math.ceil(values.length / 7));
  let n = 0;
  for (let o = 0; o < values.length; o += 7) if (seen[o] === 1) sizes[n++] = Math.abs(values[o]!);
  return (n === 0 ? 0 : medianInPlace(sizes.subarray(0, n))) / 0.6745 + QUIET;
}

/** Near-Gaussian blur of standard deviation `sigma` pixels: three running means a direction, edges repeated. */
export function blur(from: Float32Array, w: number, h: number, sigma: number): Float32Array {
  // Three box filters of odd width 2r+1 have variance ((2r+1)^2 - 1) / 4; mixed widths come closest (Wells 1986).
  const ideal = Math.sqrt(4 * sigma * sigma + 1);
  const low = Math.max(1, 2 * Math.floor((ideal - 1) / 2) + 1);
  const lows = Math.round((12 * sigma * sigma - 3 * low * low - 12 * low - 9) / (-4 * low - 4));
  const between = new Float32Array(from.length);
  const result = from.slice();
  for (let pass = 0; pass < 3; pass++) {
    const radius = ((pass < lows ? low : low + 2) - 1) / 2;
    if (radius === 0) continue;
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
