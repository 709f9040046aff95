import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import { lay, type PlanesKernel } from './planes-simd';
import type { Planes } from './views';

/** Correlations of one window at every displacement, row by row from -reach to reach; the array is reused. */
export interface Surface {
  readonly surface: Float64Array;
  readonly peak: number;
}

/** Least share of a window that must be seen in both photos at a displacement for it to count. */
const SEEN = 0.6;
const MOSTLY = 0.85;
/**
 * Displacements between two that were tried are tried too when either came this close to the best, as a share of it.
 */
const CLOSE = 0.6;
/** Lightness, red against green, blue against green. */
const PLANE_WEIGHTS = [1.5, 1, 1] as const;
/** Bytes of a window's template, and most of a surface of correlations (a reach of up to 20 pixels). */
const TEMPLATE = 16 * 5 * 16 * 4;
const SURFACE = 41 * 41 * 8;

/**
 * Both photos in the earlier one's frame with a border of `pad` pixels, and the tables that make sums quick; good until
 * something else uses the kernel.
 */
export interface Ground {
  readonly pad: number;
  readonly kernel: PlanesKernel;
  readonly template: number;
  readonly surface: number;
}

export function layGround(before: Planes, after: Planes, map: Homography, pad: number): Ground {
  const [w, h] = [before.width + 2 * pad, before.height + 2 * pad];
  const pixels = w * h;
  const stride = (w >> 1) + 17;
  const places = (w + 1) * (h + 1);
  const {
    kernel,
    at: [own, later, maps, other, split, table, seenOwn, seenOther, template, surface],
  } = lay(
    16 * pixels,
    after.data.byteLength,
    72,
    16 * pixels,
    32 * h * stride,
    32 * places,
    4 * places,
    4 * places,
    TEMPLATE,
    SURFACE,
  );
  const { buffer } = kernel.memory;
  const framed = new Float32Array(buffer, own, 4 * pixels).fill(0);
  const row = 4 * before.width;
  for (let y = 0; y < before.height; y++)
    framed.set(before.data.subarray(y * row, (y + 1) * row), 4 * ((y + pad) * w + pad));
  new Float32Array(buffer, later, after.data.length).set(after.data);
  new Float64Array(buffer, maps, 9).set(composeHomographies(map, [1, 0, -pad, 0, 1, -pad, 0, 0, 1]));
  kernel.warp(later, after.width, after.height, maps, 0, other, w, h);
  kernel.layWindows(own, other, w, h, split, stride, table, seenOwn, seenOther, ...PLANE_WEIGHTS);
  return { pad, kernel, template, surface };
}

/**
 * Makes a function that correlates the window centred at (x, y) of the earlier copy with every place within reach of
 * where the map puts it, beyond the earlier copy's own frame too. It answers undefined where less than 85 % of the
 * window is seen (the rest is taken as featureless), or where nothing within reach comes to `least`; with `cutOff`,
 * where less than 60 % is (only what is seen in both is then compared, which is slower). One search at a time: the next
 * one made ends it.
 */
export function makeSearch(
  { pad, kernel, template, surface: at }: Ground,
  half: number,
  reach: number,
  cutOff: boolean,
  least: number,
): (x: number, y: number) => Surface | undefined {
  kernel.setWindows(half, reach, template, at);
  const surface = new Float64Array(kernel.memory.buffer, at, (2 * reach + 1) ** 2);
  return (x, y) => {
    const peak = kernel.search(x + pad - half, y + pad - half, cutOff ? 1 : 0, least, SEEN, MOSTLY, CLOSE);
    return peak < -1 ? undefined : { surface, peak };
  };
}
