/** One connected piece of a mask: its cells' indices, row-major. */
export type Component = Int32Array;

/** The connected pieces (eight neighbours) of the cells where `mask` is not 0, in reading order. */
export function components(mask: Uint8Array, width: number, height: number): Component[] {
  const taken = new Uint8Array(mask.length);
  const stack = new Int32Array(mask.length);
  const found: Component[] = [];
  for (let start = 0; start < mask.length; start++) {
    if (!mask[start] || taken[start]) continue;
    let top = 0;
    stack[top++] = start;
    taken[start] = 1;
    const cells: number[] = [];
    while (top > 0) {
      const cell = stack[--top]!;
      cells.push(cell);
      const x = cell % width;
      const y = (cell - x) / width;
      for (let ny = Math.max(0, y - 1); ny <= Math.min(height - 1, y + 1); ny++) {
        for (let nx = Math.max(0, x - 1); nx <= Math.min(width - 1, x + 1); nx++) {
          const next = ny * width + nx;
          if (!mask[next] || taken[next]) continue;
          taken[next] = 1;
          stack[top++] = next;
        }
      }
    }
    found.push(Int32Array.from(cells));
  }
  return found;
}

/**
 * 1 where `is` says so. A loop: the mapped `from` of typed arrays goes through an iterator and takes many times as
 * long.
 */
export function maskWhere(length: number, is: (i: number) => boolean): Uint8Array {
  const mask = new Uint8Array(length);
  for (let i = 0; i < length; i++) if (is(i)) mask[i] = 1;
  return mask;
}

/** Mask grown by `radius` cells (square neighbourhood). */
export function grow(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return slide(mask, width, height, radius, 1);
}

/** Mask shrunk by `radius` cells (square neighbourhood); the raster's own edge does not eat into it. */
export function shrink(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return slide(mask, width, height, radius, 0);
}

/** Small islands taken off, then what is left brought back to its size. */
export function opened(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return grow(shrink(mask, width, height, radius), width, height, radius);
}

/** Small holes filled. */
export function closed(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return shrink(grow(mask, width, height, radius), width, height, radius);
}

/** A cell takes `wanted` when any cell within `radius` has it: along rows, then along columns. */
function slide(mask: Uint8Array, width: number, height: number, radius: number, wanted: 0 | 1): Uint8Array {
  const rows = new Uint8Array(mask.length);
  const out = new Uint8Array(mask.length);
  const near = new Uint8Array(Math.max(width, height));
  for (let y = 0; y < height; y++) slideLine(mask, rows, y * width, 1, width, radius, wanted, near);
  for (let x = 0; x < width; x++) slideLine(rows, out, x, width, height, radius, wanted, near);
  return out;
}

function slideLine(
  from: Uint8Array,
  to: Uint8Array,
  start: number,
  step: number,
  length: number,
  radius: number,
  wanted: 0 | 1,
  near: Uint8Array,
): void {
  // Whole numbers far outside the line: Infinity would make slow floats of them.
  let last = -length - radius - 1;
  near.fill(0);
  for (let i = 0; i < length; i++) {
    if ((from[start + i * step] ? 1 : 0) === wanted) last = i;
    if (i - last <= radius) near[i] = 1;
  }
  last = 2 * length + radius + 1;
  for (let i = length - 1; i >= 0; i--) {
    if ((from[start + i * step] ? 1 : 0) === wanted) last = i;
    if (last - i <= radius) near[i] = 1;
    to[start + i * step] = near[i] ? wanted : 1 - wanted;
  }
}
