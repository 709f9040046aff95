import 'server-only';
import type { Point } from '@/lib/photo/raster/pixels';

/**
 * Takes one connected patch of a mask away (1 becomes 2); its bounds and size, and its ends in each row in `left` and
 * `right`.
 */
export function takePatch(
  mask: Uint8Array,
  w: number,
  h: number,
  start: number,
  stack: Int32Array,
  left: Int32Array,
  right: Int32Array,
): { count: number; x0: number; x1: number; y0: number; y1: number } {
  const firstRow = Math.floor(start / w);
  let [top, count, x0, x1, y0, y1] = [1, 0, w, -1, firstRow, firstRow];
  stack[0] = start;
  mask[start] = 2;
  left[firstRow] = w;
  right[firstRow] = -1;
  while (top > 0) {
    const o = stack[--top]!;
    const y = Math.floor(o / w);
    const x = o - y * w;
    count++;
    // Patches grow row by row, so a row beyond the bounds is the next one and starts empty.
    for (; y1 < y; left[++y1] = w, right[y1] = -1);
    for (; y0 > y; left[--y0] = w, right[y0] = -1);
    if (x < left[y]!) left[y] = x;
    if (x > right[y]!) right[y] = x;
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (x > 0 && mask[o - 1] === 1) mask[(stack[top++] = o - 1)] = 2;
    if (x < w - 1 && mask[o + 1] === 1) mask[(stack[top++] = o + 1)] = 2;
    if (y > 0 && mask[o - w] === 1) mask[(stack[top++] = o - w)] = 2;
    if (y < h - 1 && mask[o + w] === 1) mask[(stack[top++] = o + w)] = 2;
  }
  return { count, x0, x1, y0, y1 };
}

/** Pixel edges, not centres, so that the hull has the patch's true extent. */
export function edgesOf(left: Int32Array, right: Int32Array, y0: number, y1: number): Point[] {
  const edges: Point[] = [];
  for (let y = y0; y <= y1; y++) {
    if (right[y]! < 0) continue;
    edges.push(
      [left[y]! - 0.5, y - 0.5],
      [left[y]! - 0.5, y + 0.5],
      [right[y]! + 0.5, y - 0.5],
      [right[y]! + 0.5, y + 0.5],
    );
  }
  return edges;
}
