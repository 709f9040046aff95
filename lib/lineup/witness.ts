import 'server-only';
import type { Homography } from '@/lib/photo/ground/homography';
import { medianInPlace } from '@/lib/photo/measure/median';
import { contains } from '@/lib/photo/raster/region';
import type { Polygon } from '@/lib/photo/raster/pixels';
import type { Planes } from './views';
import { layGround, makeSearch } from './window-search';

/** What the turf inside the plots says of a map by itself, paths and stakes outside left aside. */
export interface Witness {
  /** Height of the summed correlation at the map, above its mean further off, in its standard deviations there. */
  readonly z: number;
  /** Where that sum is highest, pixels of the copy from the map. */
  readonly offset: number;
  /** Windows asked. */
  readonly windows: number;
  /** Mean correlation at the map. */
  readonly mean: number;
  /**
   * The middle one of the windows' own correlations there: one bold edge, as a shadow's, moves the mean but not this.
   */
  readonly median: number;
}

/**
 * Adds up, over windows side by side inside the outlines, the correlation at every common displacement. Under the right
 * map the sum peaks at zero; under a wrong one, or between two lawns, zero is a displacement like any other.
 */
export function askTurf(
  before: Planes,
  after: Planes,
  map: Homography,
  outlines: readonly Polygon[],
  half: number,
  reach: number,
): Witness {
  const search = makeSearch(layGround(before, after, map, half + reach), half, reach, false, -1);
  const span = 2 * reach + 1;
  const total = new Float64Array(span * span);
  const margin = half + reach;
  const s = before.scale;
  let windows = 0;
  const each: number[] = [];
  for (let y = margin; y < before.height - margin; y += 2 * half + 1) {
    for (let x = margin; x < before.width - margin; x += 2 * half + 1) {
      if (!outlines.some((o) => contains(o, [(x + 0.5) / s - 0.5, (y + 0.5) / s - 0.5]))) continue;
      const found = search(x, y);
      if (!found) continue;
      windows++;
      each.push(nearestTo(found.surface, span, reach));
      for (let i = 0; i < total.length; i++)
        total[i]! += Math.atanh(Math.max(-0.95, Math.min(0.95, found.surface[i]!)));
    }
  }
  let [near, best, at, sum, squares, n] = [-Infinity, -Infinity, 0, 0, 0, 0];
  for (let i = 0; i < total.length; i++) {
    const far = Math.hypot((i % span) - reach, Math.floor(i / span) - reach);
    const v = total[i]! / Math.max(1, windows);
    if (far <= 1.5 && v > near) near = v;
    if (v > best) [best, at] = [v, far];
    if (far > reach / 2) {
      sum += v;
      squares += v * v;
      n++;
    }
  }
  const mean = sum / n;
  const sd = Math.sqrt(Math.max(1e-12, squares / n - mean * mean));
  return {
    z: windows > 0 ? (near - mean) / sd : 0,
    offset: at,
    windows,
    mean: near,
    median: windows > 0 ? medianInPlace(Float64Array.from(each)) : 0,
  };
}

/** The best correlation within 1.5 pixels of no displacement. */
function nearestTo(surface: Float64Array, span: number, reach: number): number {
  let best = -1;
  for (let y = reach - 1; y <= reach + 1; y++)
    for (let x = reach - 1; x <= reach + 1; x++) best = Math.max(best, surface[y * span + x]!);
  return best;
}
