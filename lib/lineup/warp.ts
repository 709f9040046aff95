import 'server-only';
import type { Homography } from '@/lib/photo/ground/homography';
import { lay, type PlanesKernel } from './planes-simd';
import type { Planes } from './views';

/** Two copies in the kernel's memory, for one map after another. Good until something else uses the kernel. */
export interface LaidPair {
  /** Looks the later planes up through a map (before -> after), bilinear, where the earlier copy is seen too. */
  warp(map: Homography): void;
  /** Correlation over all planes, and the overlap, under the map warped by last. */
  correlate(): { correlation: number; overlap: number };
  readonly kernel: PlanesKernel;
  /** Addresses of the earlier copy and of the warped later one. */
  readonly before: number;
  readonly warped: number;
  /** Address of 16 kB for answers, and of `room` bytes for what the caller works with. */
  readonly answers: number;
  readonly work: number;
}

const ANSWERS = 16_384;

export function layPair(before: Planes, after: Planes, room = 0): LaidPair {
  const { width: w, height: h } = before;
  const { width: aw, height: ah } = after;
  const {
    kernel,
    at: [own, other, warped, maps, answers, work],
  } = lay(before.data.byteLength, after.data.byteLength, before.data.byteLength, 72, ANSWERS, room);
  const { buffer } = kernel.memory;
  new Float32Array(buffer, own, before.data.length).set(before.data);
  new Float32Array(buffer, other, after.data.length).set(after.data);
  const map = new Float64Array(buffer, maps, 9);
  const sums = new Float64Array(buffer, answers, 5);
  return {
    kernel,
    before: own,
    warped,
    answers,
    work,
    warp(by) {
      map.set(by);
      kernel.warp(other, aw, ah, maps, own, warped, w, h);
    },
    correlate() {
      kernel.correlate(own, warped, w, h, answers);
      const [ab, aa, bb, both, all] = sums as unknown as [number, number, number, number, number];
      return { correlation: ab / Math.sqrt(aa * bb + 1e-9), overlap: both / Math.max(1, all) };
    },
  };
}
