import 'server-only';
import { applyHomography, composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { lay, type PlanesKernel } from './planes-simd';
import type { Planes } from './views';

/** A first guess of the map between two small copies, and how well it fits there (correlation -1..1). */
export interface Guess {
  readonly map: Homography;
  readonly fit: number;
}

const DEGREES = [-12, -9, -6, -3, 0, 3, 6, 9, 12] as const;
const SCALES = [0.84, 0.92, 1, 1.09, 1.19] as const;
/** Part of the earlier photo looked for, as shares of its width and height; the rest may have left the frame. */
const KEPT = [0.14, 0.86] as const;
/** Furthest shift, as a share of width and height. */
const REACH = 0.22;

/**
 * Tries every shift of the earlier copy's middle over the later copy at each of 45 turns and scales, on all planes at
 * once. Result: at most `most` guesses that differ, best first.
 */
export function coarseSearch(before: Planes, after: Planes, most: number): Guess[] {
  const { width: w, height: h } = before;
  const [x0, x1] = KEPT.map((k) => Math.round(k * (w - 1))) as [number, number];
  const [y0, y1] = KEPT.map((k) => Math.round(k * (h - 1))) as [number, number];
  const [cols, rows] = [x1 - x0 + 1, y1 - y0 + 1];
  const padX = Math.max(0, Math.round(REACH * w) - x0);
  const padY = Math.max(0, Math.round(REACH * h) - y0);
  const image = padded(after, padX, padY, cols * rows);
  const template = new Float32Array(image.kernel.memory.buffer, image.template, 4 * cols * rows);
  const guesses: Guess[] = [];
  const [cx, cy] = [(w - 1) / 2, (h - 1) / 2];
  for (const scale of SCALES) {
    for (const degrees of DEGREES) {
      const [c, s] = [scale * Math.cos((degrees * Math.PI) / 180), scale * Math.sin((degrees * Math.PI) / 180)];
      const turn: Homography = [c, -s, cx - c * cx + s * cy, s, c, cy - s * cx - c * cy, 0, 0, 1];
      fillTurned(template, before, c, s, cx, cy, x0, y0, cols, rows);
      const { fit, x, y } = bestShift(image, template, cols, rows);
      const shift: Homography = [1, 0, x - padX - x0, 0, 1, y - padY - y0, 0, 0, 1];
      guesses.push({ map: composeHomographies(shift, turn), fit });
    }
  }
  guesses.sort((a, b) => b.fit - a.fit);
  return distinct(guesses, before, most);
}

/**
 * Planes with a border in the kernel's memory, room for a template there, and a summed-area table of their squares,
 * (width + 1) x (height + 1).
 */
interface Image {
  readonly width: number;
  readonly height: number;
  readonly kernel: PlanesKernel;
  readonly at: number;
  readonly template: number;
  readonly squares: Float64Array;
}

function padded({ width, height, data: from }: Planes, padX: number, padY: number, templatePixels: number): Image {
  const [w, h] = [width + 2 * padX, height + 2 * padY];
  const {
    kernel,
    at: [at, template],
  } = lay(16 * w * h, 16 * templatePixels);
  const data = new Float32Array(kernel.memory.buffer, at, 4 * w * h).fill(0);
  for (let y = 0; y < height; y++)
    data.set(from.subarray(4 * y * width, 4 * (y + 1) * width), 4 * ((y + padY) * w + padX));
  const squares = new Float64Array((w + 1) * (h + 1));
  for (let y = 0, k = 0; y < h; y++) {
    let row = 0;
    for (let x = 0; x < w; x++, k += 4) {
      row += data[k]! ** 2 + data[k + 1]! ** 2 + data[k + 2]! ** 2;
      squares[(y + 1) * (w + 1) + x + 1] = squares[y * (w + 1) + x + 1]! + row;
    }
  }
  return { width: w, height: h, kernel, at, template, squares };
}

/**
 * Every second shift by every second pixel first (the copies are smoother than that), then all shifts beside the best
 * few.
 */
const STRIDE = 2;
const LOOKED_AT_CLOSELY = 4;

/** Where the template fits best: normalised cross-correlation over all its values, -1..1, and its top left pixel. */
function bestShift(
  image: Image,
  template: Float32Array,
  cols: number,
  rows: number,
): { fit: number; x: number; y: number } {
  const [mostX, mostY] = [image.width - cols, image.height - rows];
  const thinnedEnergy = energy(template, cols, rows, STRIDE);
  const fullEnergy = energy(template, cols, rows, 1);
  const rough: { fit: number; x: number; y: number }[] = [];
  for (let y = 0; y <= mostY; y += STRIDE) {
    for (let x = 0; x <= mostX; x += STRIDE) {
      const fit = correlation(image, thinnedEnergy, cols, rows, x, y, STRIDE);
      if (rough.length === LOOKED_AT_CLOSELY && fit <= rough.at(-1)!.fit) continue;
      rough.push({ fit, x, y });
      rough.sort((a, b) => b.fit - a.fit);
      rough.length = Math.min(rough.length, LOOKED_AT_CLOSELY);
    }
  }
  let best = { fit: -Infinity, x: 0, y: 0 };
  for (const near of rough) {
    for (let y = Math.max(0, near.y - 1); y <= Math.min(mostY, near.y + 1); y++) {
      for (let x = Math.max(0, near.x - 1); x <= Math.min(mostX, near.x + 1); x++) {
        const fit = correlation(image, fullEnergy, cols, rows, x, y, 1);
        if (fit > best.fit) best = { fit, x, y };
      }
    }
  }
  return best;
}

/** Sum of the squares of every `step`-th value each way. */
function energy(template: Float32Array, cols: number, rows: number, step: number): number {
  let sum = 0;
  for (let y = 0; y < rows; y += step) {
    for (let x = 0, i = 4 * y * cols; x < cols; x += step, i += 4 * step)
      sum += template[i]! ** 2 + template[i + 1]! ** 2 + template[i + 2]! ** 2;
  }
  return sum;
}

function correlation(
  { width, kernel, at, template, squares }: Image,
  own: number,
  cols: number,
  rows: number,
  left: number,
  top: number,
  step: number,
): number {
  const product = kernel.dot(at, width, template, cols, rows, left, top, step);
  const stride = width + 1;
  const other =
    squares[(top + rows) * stride + left + cols]! -
    squares[top * stride + left + cols]! -
    squares[(top + rows) * stride + left]! +
    squares[top * stride + left]!;
  const seen = (Math.ceil(rows / step) * Math.ceil(cols / step)) / (rows * cols);
  return product / Math.sqrt(own * other * seen + 1e-12);
}

/** The earlier copy turned and scaled about its centre, looked up where the template lies. */
function fillTurned(
  to: Float32Array,
  before: Planes,
  c: number,
  s: number,
  cx: number,
  cy: number,
  x0: number,
  y0: number,
  cols: number,
  rows: number,
): void {
  const { width: w, height: h, data: p } = before;
  const square = c * c + s * s;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < cols; x++) {
      const dx = x + x0 - cx;
      const dy = y + y0 - cy;
      const px = cx + (c * dx + s * dy) / square;
      const py = cy + (c * dy - s * dx) / square;
      const fx = Math.floor(px);
      const fy = Math.floor(py);
      const o = (y * cols + x) * 4;
      if (fx < 0 || fy < 0 || fx >= w - 1 || fy >= h - 1) {
        to[o] = to[o + 1] = to[o + 2] = to[o + 3] = 0;
        continue;
      }
      const [tx, ty, q] = [px - fx, py - fy, 4 * (fy * w + fx)];
      to[o + 3] = 0;
      for (let k = q; k < q + 3; k++) {
        to[o + k - q] =
          (1 - ty) * ((1 - tx) * p[k]! + tx * p[k + 4]!) + ty * ((1 - tx) * p[k + 4 * w]! + tx * p[k + 4 * w + 4]!);
      }
    }
  }
}

/** Drops guesses that put the photo nearly where a better one does (within 5 % of its width). */
export function distinct(guesses: readonly Guess[], size: { width: number; height: number }, most: number): Guess[] {
  const { width: w, height: h } = size;
  const marks: Point[] = [
    [0.2 * w, 0.2 * h],
    [0.8 * w, 0.2 * h],
    [0.8 * w, 0.8 * h],
    [0.2 * w, 0.8 * h],
  ];
  const kept: Guess[] = [];
  for (const guess of guesses) {
    const differs = kept.every((k) =>
      marks.some((m) => {
        const [a, b] = [applyHomography(k.map, m), applyHomography(guess.map, m)];
        return Math.hypot(a[0] - b[0], a[1] - b[1]) > 0.05 * w;
      }),
    );
    if (differs) kept.push(guess);
    if (kept.length >= most) break;
  }
  return kept;
}
