import 'server-only';
import { composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { toCopy, toFull, type Pair } from './pair-looked';
import { settle, type SettleOptions, type Settled } from './settle';
import type { Planes } from './views';
import { sight, type WindowOptions } from './windows';

/** Extra doubt, pixels per pixel outside the plots' bounding box: what stands behind a lawn is not in its plane. */
const OUTSIDE_DOUBT = 0.015;

/**
 * One look through windows of two copies from a map at hand, and where they settle it; undefined where they see too
 * little. Of the earlier copy only what lies within `crop` times the plots' extent about them, where that is given.
 */
export function look(
  level: Pair<Planes>,
  full: Homography,
  windows: readonly WindowOptions[],
  loose: SettleOptions['loose'],
  plots: readonly Point[],
  crop?: number,
): (Settled & { full: Homography }) | undefined {
  const map = toCopy(full, level);
  const scale = level.before.scale;
  const [x0, x1, y0, y1] = [0, 0, 1, 1].map(
    (k, i) => scale * (i % 2 === 0 ? Math.min : Math.max)(...plots.map((p) => p[k]!)),
  ) as [number, number, number, number];
  const part =
    crop !== undefined ? cropped(level.before, crop, x0, x1, y0, y1) : { planes: level.before, left: 0, top: 0 };
  const partMap = composeHomographies(map, [1, 0, part.left, 0, 1, part.top, 0, 0, 1]);
  const sightings = sight(part.planes, level.after, partMap, windows).map((found) => {
    const s = { ...found, x: found.x + part.left, y: found.y + part.top };
    const outside = Math.hypot(Math.max(0, x0 - s.x, s.x - x1), Math.max(0, y0 - s.y, s.y - y1));
    const doubt = (OUTSIDE_DOUBT * outside) ** 2;
    return { ...s, xx: s.xx + doubt, yy: s.yy + doubt };
  });
  const settled = settle(level.before, map, sightings, { floor: 0.4, cell: level.before.width / 11, loose });
  return settled && { ...settled, full: toFull(settled.map, level) };
}

/** The part of a copy about the plots' box (left, right, top, bottom), and where it lies. */
function cropped(
  planes: Planes,
  around: number,
  x0: number,
  x1: number,
  y0: number,
  y1: number,
): { planes: Planes; left: number; top: number } {
  const box = [around, x0, x1, y0, y1].join();
  const known = crops.get(planes);
  if (known?.box === box) return known;
  const [mx, my] = [around * (x1 - x0) + 24, around * (y1 - y0) + 24];
  const left = Math.max(0, Math.floor(x0 - mx));
  const top = Math.max(0, Math.floor(y0 - my));
  const width = Math.min(planes.width, Math.ceil(x1 + mx)) - left;
  const height = Math.min(planes.height, Math.ceil(y1 + my)) - top;
  const whole = width >= planes.width && height >= planes.height;
  const data = whole ? planes.data : new Float32Array(4 * width * height);
  if (!whole)
    for (let y = 0; y < height; y++)
      data.set(
        planes.data.subarray(4 * ((top + y) * planes.width + left), 4 * ((top + y) * planes.width + left + width)),
        4 * y * width,
      );
  const part = whole
    ? { box, planes, left: 0, top: 0 }
    : { box, planes: { width, height, scale: planes.scale, data }, left, top };
  crops.set(planes, part);
  return part;
}

/** The part of each copy that was asked for last: one copy is looked at more than once. */
const crops = new WeakMap<Planes, { box: string; planes: Planes; left: number; top: number }>();
