import 'server-only';
import type { Homography } from '@/lib/photo/homography';
import type { Planes } from './views';

/** The later planes as seen from the earlier photo: values and 1 where they exist. */
export interface Warped {
  readonly plane: readonly [Float32Array, Float32Array, Float32Array];
  readonly seen: Uint8Array;
}

export function makeWarped(pixels: number): Warped {
  return {
    plane: [new Float32Array(pixels), new Float32Array(pixels), new Float32Array(pixels)],
    seen: new Uint8Array(pixels),
  };
}

/**
 * Fill `into` with `after` looked up through `map` (before -> after), bilinear; where the earlier copy is not seen too
 * when `everywhere`.
 */
export function warp(before: Planes, after: Planes, map: Homography, into: Warped, everywhere = false): void {
  const { width: w, height: h } = before;
  const { width: aw, height: ah } = after;
  const [p0, p1, p2] = after.plane;
  const [o0, o1, o2] = into.plane;
  for (let y = 0, o = 0; y < h; y++) {
    let nx = map[1] * y + map[2];
    let ny = map[4] * y + map[5];
    let nw = map[7] * y + map[8];
    for (let x = 0; x < w; x++, o++, nx += map[0], ny += map[3], nw += map[6]) {
      const px = nx / nw;
      const py = ny / nw;
      const x0 = Math.floor(px);
      const y0 = Math.floor(py);
      if (!(nw > 0 && x0 >= 0 && y0 >= 0 && x0 < aw - 1 && y0 < ah - 1 && (everywhere || before.seen[o] === 1))) {
        into.seen[o] = 0;
        continue;
      }
      const q = y0 * aw + x0;
      if ((after.seen[q]! & after.seen[q + 1]! & after.seen[q + aw]! & after.seen[q + aw + 1]!) === 0) {
        into.seen[o] = 0;
        continue;
      }
      const fx = px - x0;
      const fy = py - y0;
      const a = (1 - fx) * (1 - fy);
      const b = fx * (1 - fy);
      const c = (1 - fx) * fy;
      const d = fx * fy;
      o0[o] = a * p0[q]! + b * p0[q + 1]! + c * p0[q + aw]! + d * p0[q + aw + 1]!;
      o1[o] = a * p1[q]! + b * p1[q + 1]! + c * p1[q + aw]! + d * p1[q + aw + 1]!;
      o2[o] = a * p2[q]! + b * p2[q + 1]! + c * p2[q + aw]! + d * p2[q + aw + 1]!;
      into.seen[o] = 1;
    }
  }
}

/** Correlation over all planes, and the overlap, of what `warp` left in `warped`. */
export function correlate(before: Planes, warped: Warped): { correlation: number; overlap: number } {
  let [ab, aa, bb, both, all] = [0, 0, 0, 0, 0];
  const n = before.width * before.height;
  for (let o = 0; o < n; o++) {
    all += before.seen[o]!;
    if (warped.seen[o] === 0) continue;
    both++;
    for (let c = 0; c < 3; c++) {
      const s = before.plane[c]![o]!;
      const t = warped.plane[c]![o]!;
      ab += s * t;
      aa += s * s;
      bb += t * t;
    }
  }
  return { correlation: ab / Math.sqrt(aa * bb + 1e-9), overlap: both / Math.max(1, all) };
}
