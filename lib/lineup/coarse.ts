import 'server-only';
import { compose, project, type Homography } from '@/lib/photo/homography';
import type { Point } from '@/lib/photo/pixels';
import { opencvMessage, type Cv } from './opencv';
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
export function coarseSearch(cv: Cv, before: Planes, after: Planes, most: number): Guess[] {
  const { width: w, height: h } = before;
  const [x0, x1] = KEPT.map((k) => Math.round(k * (w - 1))) as [number, number];
  const [y0, y1] = KEPT.map((k) => Math.round(k * (h - 1))) as [number, number];
  const padX = Math.max(0, Math.round(REACH * w) - x0);
  const padY = Math.max(0, Math.round(REACH * h) - y0);
  const image = new cv.Mat(after.height + 2 * padY, after.width + 2 * padX, cv.CV_32FC3, new cv.Scalar(0, 0, 0, 0));
  const template = new cv.Mat(y1 - y0 + 1, x1 - x0 + 1, cv.CV_32FC3);
  const result = new cv.Mat();
  const none = new cv.Mat();
  const guesses: Guess[] = [];
  try {
    const target = image.data32F;
    for (let y = 0; y < after.height; y++) {
      for (let x = 0; x < after.width; x++) {
        for (let c = 0; c < 3; c++) target[((y + padY) * image.cols + x + padX) * 3 + c] = after.plane[c]![y * after.width + x]!;
      }
    }
    const [cx, cy] = [(w - 1) / 2, (h - 1) / 2];
    for (const scale of SCALES) {
      for (const degrees of DEGREES) {
        const [c, s] = [scale * Math.cos((degrees * Math.PI) / 180), scale * Math.sin((degrees * Math.PI) / 180)];
        const turn: Homography = [c, -s, cx - c * cx + s * cy, s, c, cy - s * cx - c * cy, 0, 0, 1];
        fillTurned(template.data32F, before, c, s, cx, cy, x0, y0, template.cols, template.rows);
        cv.matchTemplate(image, template, result, cv.TM_CCORR_NORMED);
        const best = cv.minMaxLoc(result, none) as unknown as { maxVal: number; maxLoc: { x: number; y: number } };
        const shift: Homography = [1, 0, best.maxLoc.x - padX - x0, 0, 1, best.maxLoc.y - padY - y0, 0, 0, 1];
        guesses.push({ map: compose(shift, turn), fit: best.maxVal });
      }
    }
  } catch (thrown) {
    throw new Error(`coarseSearch: ${opencvMessage(cv, thrown)}`, { cause: thrown });
  } finally {
    image.delete();
    template.delete();
    result.delete();
    none.delete();
  }
  guesses.sort((a, b) => b.fit - a.fit);
  return distinct(guesses, before, most);
}

/** The earlier copy turned and scaled about its centre, looked up where the template lies. */
function fillTurned(
  to: Float32Array, before: Planes, c: number, s: number, cx: number, cy: number, x0: number, y0: number, cols: number, rows: number,
): void {
  const { width: w, height: h } = before;
  const square = c * c + s * s;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < cols; x++) {
      const dx = x + x0 - cx;
      const dy = y + y0 - cy;
      const px = cx + (c * dx + s * dy) / square;
      const py = cy + (c * dy - s * dx) / square;
      const fx = Math.floor(px);
      const fy = Math.floor(py);
      const o = (y * cols + x) * 3;
      if (fx < 0 || fy < 0 || fx >= w - 1 || fy >= h - 1) {
        to[o] = to[o + 1] = to[o + 2] = 0;
        continue;
      }
      const [tx, ty, q] = [px - fx, py - fy, fy * w + fx];
      for (let k = 0; k < 3; k++) {
        const p = before.plane[k]!;
        to[o + k] = (1 - ty) * ((1 - tx) * p[q]! + tx * p[q + 1]!) + ty * ((1 - tx) * p[q + w]! + tx * p[q + w + 1]!);
      }
    }
  }
}

/** Drops guesses that put the photo nearly where a better one does (within 5 % of its width). */
export function distinct(guesses: readonly Guess[], size: { width: number; height: number }, most: number): Guess[] {
  const { width: w, height: h } = size;
  const marks: Point[] = [[0.2 * w, 0.2 * h], [0.8 * w, 0.2 * h], [0.8 * w, 0.8 * h], [0.2 * w, 0.8 * h]];
  const kept: Guess[] = [];
  for (const guess of guesses) {
    const differs = kept.every((k) => marks.some((m) => {
      const [a, b] = [project(k.map, m), project(guess.map, m)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]) > 0.05 * w;
    }));
    if (differs) kept.push(guess);
    if (kept.length >= most) break;
  }
  return kept;
}
