import 'server-only';
import type { Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { below, NEAR_HORIZON, type GroundPlane } from './ground';
import { lay } from './planes-simd';
import type { Sized } from './refine';
import type { Planes } from './views';

/** Blocks across and down in which the fit is taken one by one, so that a wall can't outweigh the ground. */
const BLOCKS = [12, 12] as const;

/** Pixels of the earlier copy that may show ground, and each one's block. */
export interface Samples {
  readonly at: Int32Array;
  readonly block: Uint8Array;
  readonly weight: Float64Array;
}

/** Blocks away from the plots count for less. */
const AWAY = 0.5;

export function sampleGround(
  before: Planes,
  level: GroundPlane,
  focal: number,
  full: Sized,
  near: readonly [number, number, number, number],
): Samples {
  const { width: w, height: h, data, scale } = before;
  const at: number[] = [];
  const block: number[] = [];
  const [across, down] = BLOCKS;
  const weight = new Float64Array(across * down).fill(AWAY);
  for (let y = 1; y < h - 1; y += 2) {
    for (let x = 1; x < w - 1; x += 2) {
      if (data[4 * (y * w + x) + 3] === 0) continue;
      const p: Point = [(x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5];
      if (below(level, focal, full, p) < NEAR_HORIZON) continue;
      const b = Math.floor((y * down) / h) * across + Math.floor((x * across) / w);
      at.push(y * w + x);
      block.push(b);
      if (p[0] > near[0] && p[1] > near[1] && p[0] < near[2] && p[1] < near[3]) weight[b] = 1;
    }
  }
  return { at: Int32Array.from(at), block: Uint8Array.from(block), weight };
}

/**
 * The pixels seen about some plots, every second each way: those that count where the map itself is asked, not the
 * move.
 */
export function sampleBox(before: Planes, plots: readonly Point[]): Samples {
  const { width: w, height: h, data, scale } = before;
  const near = boxAround(plots);
  const at: number[] = [];
  const block: number[] = [];
  const [across, down] = BLOCKS;
  for (let y = 1; y < h - 1; y += 2) {
    for (let x = 1; x < w - 1; x += 2) {
      const p: Point = [(x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5];
      if (data[4 * (y * w + x) + 3] === 0 || p[0] < near[0] || p[1] < near[1] || p[0] > near[2] || p[1] > near[3])
        continue;
      at.push(y * w + x);
      block.push(Math.floor((y * down) / h) * across + Math.floor((x * across) / w));
    }
  }
  return { at: Int32Array.from(at), block: Uint8Array.from(block), weight: new Float64Array(across * down).fill(1) };
}

export function boxAround(plots: readonly Point[]): readonly [number, number, number, number] {
  const [xs, ys] = [plots.map((p) => p[0]), plots.map((p) => p[1])];
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const [w, h] = [0.15 * (x1 - x0), 0.15 * (y1 - y0)];
  return [x0 - w, y0 - h, x1 + w, y1 + h];
}

/**
 * Makes a function that gives, for a map between two copies, the mean over the blocks of the correlation of all three
 * planes; what lies outside the later photo counts as no agreement. Good until something else uses the kernel.
 */
export function fitOf(before: Planes, after: Planes, { at, block, weight }: Samples): (map: Homography) => number {
  const blocks = weight.length;
  const {
    kernel,
    at: [own, other, maps, places, blockAt, answers],
  } = lay(before.data.byteLength, after.data.byteLength, 72, at.byteLength, block.byteLength, 40 * blocks);
  const { buffer } = kernel.memory;
  new Float32Array(buffer, own, before.data.length).set(before.data);
  new Float32Array(buffer, other, after.data.length).set(after.data);
  new Int32Array(buffer, places, at.length).set(at);
  new Uint8Array(buffer, blockAt, block.length).set(block);
  const by = new Float64Array(buffer, maps, 9);
  const sums = new Float64Array(buffer, answers, 5 * blocks);
  return (map) => {
    by.set(map);
    sums.fill(0);
    kernel.fit(own, before.width, other, after.width, after.height, maps, places, blockAt, at.length, answers);
    let [sum, total] = [0, 0];
    for (let b = 0; b < blocks; b++) {
      const all = sums[5 * b + 4]!;
      if (all < 8) continue;
      const size = weight[b]! * Math.sqrt(all);
      total += size;
      const n = sums[5 * b + 3]!;
      if (n >= 8) sum += (size * (n / all) * sums[5 * b]!) / Math.sqrt(sums[5 * b + 1]! * sums[5 * b + 2]! + 1e-9);
    }
    return total > 0 ? sum / total : -1;
  };
}
