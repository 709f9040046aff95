import 'server-only';
import { blurSimd, describeSimd } from './features-simd';
import { lay } from './planes-simd';
import { makeView, type View } from './views';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { summedArea } from './summed-area';

/**
 * Lasting points of one photo: places that look like themselves again on another day (corners of slabs, windows,
 * trunks, stakes, blotches), spread over the whole photo so that no part of it rules.
 */
export interface Features {
  /** Size of the upright full photo, pixels. */
  readonly width: number;
  readonly height: number;
  readonly count: number;
  /** Positions in pixels of the upright full photo. */
  readonly x: Float32Array;
  readonly y: Float32Array;
  /** Standard deviation of the blob, pixels of the full photo. */
  readonly size: Float32Array;
  /** Determinant of the Hessian there, in its own units: only good for ranking within a photo. */
  readonly strength: Float32Array;
  /**
   * Turn the descriptor was read at, radians clockwise: photos of a viewpoint are held upright, so this is one for all.
   */
  readonly turn: number;
  /** WORDS 32-bit words a point, compared by the number of bits that differ. */
  readonly words: Int32Array;
}

/** 32-bit words of one descriptor: 486 comparisons and 26 empty bits. */
export const WORDS = 16;

export interface FeatureOptions {
  /** Turn of the photo that descriptors are read at, radians; 0 for one held upright. */
  readonly turn?: number;
  /** Long side of the copy in which points are looked for, pixels (FEATURE_LONG_SIDE). */
  readonly longSide?: number;
  /** Points a cell may give (EACH). */
  readonly each?: number;
}

/** Long side of the copy in which points are looked for; a smaller photo is enlarged, at most to twice its size. */
export const FEATURE_LONG_SIDE = 1200;
/** Cells across and down, and how many points each may give: 4,096 in all. */
const CELLS = 16;
const EACH = 16;
/** Blob sizes of one octave, pixels of its copy: points are kept at the inner two. */
const SIGMAS = [Math.SQRT1_2 * 1.6, 1.6, Math.SQRT2 * 1.6, 3.2] as const;
const OCTAVES = 4;
/** Half the edge of the square a descriptor looks at, in blob sizes. */
const HALF_PATCH = 11;

/** The points of a photo. @throws RangeError when the photo is under 64 pixels a side */
export function findFeatures(photo: Pixels, options: FeatureOptions = {}): Features {
  return findFeaturesIn(makeView(photo, featureWidth(photo, options.longSide)), photo, options);
}

/** Width of the copy `findFeaturesIn` wants of a photo (before enlarging). */
export function featureWidth(
  { width, height }: { readonly width: number; readonly height: number },
  longSide: number = FEATURE_LONG_SIDE,
): number {
  return Math.min(width, Math.round((width * longSide) / Math.max(width, height)));
}

/** The same on a copy already made. */
export function findFeaturesIn(
  view: View,
  full: { readonly width: number; readonly height: number },
  options: FeatureOptions = {},
): Features {
  if (Math.min(view.width, view.height) < 64)
    throw new RangeError(`findFeatures: expected at least 64 pixels a side, got ${view.width} x ${view.height}`);
  const grey = greyOf(view, options.longSide ?? FEATURE_LONG_SIDE);
  const found = detect(grey, view.seen, view.width);
  const keep = spread(found, grey.width, grey.height, options.each ?? EACH);
  const turn = options.turn ?? 0;
  const words = describe(found, keep, turn);
  const out = {
    x: new Float32Array(keep.length),
    y: new Float32Array(keep.length),
    size: new Float32Array(keep.length),
    strength: new Float32Array(keep.length),
  };
  const by = full.width / grey.width;
  keep.forEach((k, i) => {
    out.x[i] = (found.x[k]! + 0.5) * by - 0.5;
    out.y[i] = (found.y[k]! + 0.5) * by - 0.5;
    out.size[i] = found.size[k]! * by;
    out.strength[i] = found.strength[k]!;
  });
  return { width: full.width, height: full.height, count: keep.length, ...out, turn, words };
}

/** One plane of grey values. */
interface Grey {
  readonly width: number;
  readonly height: number;
  readonly data: Float32Array;
}

/**
 * Lightness by its cube root (about as the eye ranks it), so that light and shade count alike; small copies enlarged.
 */
function greyOf({ width: w, height: h, rgb: [r, g, b] }: View, longSide: number): Grey {
  const {
    kernel,
    at: [roots],
  } = lay(4 * w * h);
  const light = new Float32Array(kernel.memory.buffer, roots, w * h);
  for (let o = 0; o < light.length; o++) light[o] = 0.2126 * r[o]! + 0.7152 * g[o]! + 0.0722 * b[o]! + 0.002;
  kernel.cubeRoots(roots, w * h);
  const data = light.slice();
  const by = Math.min(2, longSide / Math.max(w, h));
  return by < 1.15
    ? { width: w, height: h, data }
    : enlarged({ width: w, height: h, data }, Math.round(w * by), Math.round(h * by));
}

function enlarged({ width: w, height: h, data }: Grey, width: number, height: number): Grey {
  const out = new Float32Array(width * height);
  for (let y = 0, o = 0; y < height; y++) {
    const py = Math.max(0, Math.min(h - 1.001, ((y + 0.5) * h) / height - 0.5));
    const y0 = py | 0;
    const fy = py - y0;
    for (let x = 0; x < width; x++, o++) {
      const px = Math.max(0, Math.min(w - 1.001, ((x + 0.5) * w) / width - 0.5));
      const x0 = px | 0;
      const fx = px - x0;
      const q = y0 * w + x0;
      out[o] =
        (1 - fy) * ((1 - fx) * data[q]! + fx * data[q + 1]!) + fy * ((1 - fx) * data[q + w]! + fx * data[q + w + 1]!);
    }
  }
  return { width, height, data: out };
}

/** Points found, in pixels of the grey copy, and what their descriptors are read from. */
interface Found {
  readonly x: number[];
  readonly y: number[];
  readonly size: number[];
  readonly strength: number[];
  readonly octave: number[];
  readonly octaves: readonly { readonly width: number; readonly height: number; readonly sums: Float64Array }[];
}

/** Peaks of the determinant of the Hessian over place and size (Lindeberg 1998), to a fraction of a pixel. */
function detect(grey: Grey, seen: Uint8Array, seenWidth: number): Found {
  const found: Found = { x: [], y: [], size: [], strength: [], octave: [], octaves: [] };
  const octaves: { width: number; height: number; sums: Float64Array }[] = [];
  let { width: w, height: h } = grey;
  let base = gaussian(grey.data, w, h, Math.sqrt(SIGMAS[0] ** 2 - 0.25));
  const seenBy = seenWidth / grey.width;
  for (let octave = 0; octave < OCTAVES && Math.min(w, h) >= 48; octave++) {
    octaves.push({ width: w, height: h, sums: summedArea(base, w, h) });
    const responses: number[] = [];
    let level = base;
    let half: Float32Array | undefined;
    const bytes = 4 * w * h;
    const {
      kernel,
      at: [image, r0, r1, r2, r3, places],
    } = lay(bytes, bytes, bytes, bytes, bytes, 4 * MOST_PLACES);
    const { buffer } = kernel.memory;
    for (let k = 0; k < SIGMAS.length; k++) {
      if (k > 0) level = gaussian(level, w, h, Math.sqrt(SIGMAS[k]! ** 2 - SIGMAS[k - 1]! ** 2));
      new Float32Array(buffer, image, w * h).set(level);
      const response = [r0, r1, r2, r3][k]!;
      kernel.hessian(image, w, h, SIGMAS[k]! ** 4, response);
      responses.push(response);
      if (k === 2) half = level;
    }
    for (let k = 1; k <= 2; k++) {
      const count = kernel.peaks(
        responses[k - 1]!,
        responses[k]!,
        responses[k + 1]!,
        w,
        h,
        MARGIN,
        LEAST,
        places,
        MOST_PLACES,
      );
      keepPeaks(
        found,
        new Int32Array(buffer, places, count),
        new Float32Array(buffer, responses[k]!, w * h),
        k,
        w,
        octave,
        seen,
        seenWidth,
        seenBy,
      );
    }
    base = everySecond(half!, w, h);
    [w, h] = [w >> 1, h >> 1];
  }
  return { ...found, octaves };
}

/** Weaker answers are the camera's noise. */
const LEAST = 2e-6;

/** Pixels from the edge that no point is looked for in, and the most points of one size. */
const MARGIN = 4;
const MOST_PLACES = 200_000;

function keepPeaks(
  found: Found,
  places: Int32Array,
  here: Float32Array,
  k: number,
  w: number,
  octave: number,
  seen: Uint8Array,
  seenWidth: number,
  seenBy: number,
): void {
  const by = 2 ** octave;
  for (const o of places) {
    const [x, y, v] = [o % w, Math.floor(o / w), here[o]!];
    const px = (x + fraction(here[o - 1]!, v, here[o + 1]!) + 0.5) * by - 0.5;
    const py = (y + fraction(here[o - w]!, v, here[o + w]!) + 0.5) * by - 0.5;
    const s = Math.floor((py + 0.5) * seenBy) * seenWidth + Math.floor((px + 0.5) * seenBy);
    if (seen[s] === 0) continue;
    found.x.push(px);
    found.y.push(py);
    found.size.push(SIGMAS[k]! * by);
    found.strength.push(v);
    found.octave.push(octave);
  }
}

/** Where the parabola through three values peaks, -0.5..0.5. */
function fraction(left: number, middle: number, right: number): number {
  const bend = left + right - 2 * middle;
  return bend < 0 ? Math.max(-0.5, Math.min(0.5, (left - right) / (2 * bend))) : 0;
}

/** The strongest of each cell, by index. */
function spread(found: Found, w: number, h: number, each: number): number[] {
  const cells = new Map<number, number[]>();
  found.x.forEach((x, k) => {
    const cell = Math.floor((Math.max(0, found.y[k]!) * CELLS) / h) * CELLS + Math.floor((Math.max(0, x) * CELLS) / w);
    const list = cells.get(cell);
    if (list) list.push(k);
    else cells.set(cell, [k]);
  });
  const { strength } = found;
  return [...cells]
    .sort((a, b) => a[0] - b[0])
    .flatMap(([, list]) => list.sort((a, b) => strength[b]! - strength[a]! || a - b).slice(0, each));
}

/**
 * For each point, the square around it is cut into 2 x 2, 3 x 3 and 4 x 4 cells; each cell's mean, and the difference
 * of its halves across and down, is compared with every other cell's of its grid: one bit a comparison (after
 * Alcantarilla, Nuevo & Bartoli 2013).
 */
function describe(found: Found, keep: readonly number[], turn: number): Int32Array {
  const words = new Int32Array(keep.length * WORDS);
  found.octaves.forEach(({ width: w, height: h, sums }, octave) => {
    const mine = keep.flatMap((k, i) => (found.octave[k] === octave ? [i] : []));
    const by = 2 ** octave;
    const points = Float64Array.from(
      mine.flatMap((i) => [
        (found.x[keep[i]!]! + 0.5) / by,
        (found.y[keep[i]!]! + 0.5) / by,
        (HALF_PATCH * found.size[keep[i]!]!) / by,
      ]),
    );
    const described = describeSimd(sums, w, h, points, turn);
    mine.forEach((i, k) => words.set(described.subarray(k * WORDS, (k + 1) * WORDS), i * WORDS));
  });
  return words;
}

function everySecond(from: Float32Array, w: number, h: number): Float32Array {
  const [ww, hh] = [w >> 1, h >> 1];
  const out = new Float32Array(ww * hh);
  // The mean of four pixels, so that a copy's pixel centre c stands for 2 c + 0.5 of the larger one.
  for (let y = 0; y < hh; y++) {
    for (let x = 0, o = y * ww, i = 2 * y * w; x < ww; x++, o++, i += 2)
      out[o] = (from[i]! + from[i + 1]! + from[i + w]! + from[i + w + 1]!) / 4;
  }
  return out;
}

/** Gaussian blur by its own samples out to three standard deviations, edges repeated. */
function gaussian(from: Float32Array, w: number, h: number, sigma: number): Float32Array {
  const radius = Math.max(1, Math.ceil(3 * sigma));
  const kernel = new Float32Array(radius + 1);
  let total = 0;
  for (let i = 0; i <= radius; i++) {
    kernel[i] = Math.exp((-i * i) / (2 * sigma * sigma));
    total += (i === 0 ? 1 : 2) * kernel[i]!;
  }
  for (let i = 0; i <= radius; i++) kernel[i]! /= total;
  return blurSimd(from, w, h, kernel);
}
