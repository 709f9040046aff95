import { LINEAR_OF_CODE } from '../../colour/srgb';
import { applyHomography, type Homography } from '../ground/homography';
import type { Pixels, Point, Polygon } from '../raster/pixels';
import { contains, grown } from '../raster/region';
import { robustSd } from './robust-plane';

/**
 * How much brighter the later photo's light grows across the ground, compared with the earlier photo's: ln of the ratio
 * per unit of ground, along both of its axes. A change of light, vignetting or a slope of the sky's brightness is such
 * a plane; a treatment is not, since treated plots are left out of the fit.
 */
export interface LightSlope {
  readonly perX: number;
  readonly perY: number;
  /** Patches of untreated turf the fit rests on. */
  readonly patches: number;
}

export const LEVEL_LIGHT: LightSlope = { perX: 0, perY: 0, patches: 0 };

/** Fewer patches than this fix no plane. */
const MIN_PATCHES = 60;

export interface LightSlopeInput {
  readonly before: Pixels;
  readonly after: Pixels;
  /** Earlier photo to later photo. */
  readonly toAfter: Homography;
  /** Earlier photo to the ground's own coordinates (metres, or its pixels when the ground's measure is unknown). */
  readonly toGround: Homography;
  /** Treated plots in the earlier photo: left out. */
  readonly treated: readonly Polygon[];
  readonly boardsBefore: readonly Polygon[];
  readonly boardsAfter: readonly Polygon[];
  /** True where turf of that linear green lies in the shade in the later, the earlier photo. */
  readonly shadedAfter: ((green: number) => boolean) | null;
  readonly shadedBefore: ((green: number) => boolean) | null;
}

/**
 * Fits the slope on turf outside the treated plots (the check and the lawn around), robustly: what else changed there,
 * such as a dropped leaf, does not count. Only brightness (G) is used: colour casts are the correction's business.
 */
export function lightSlope(input: LightSlopeInput): LightSlope {
  const { before, after } = input;
  const step = Math.max(6, Math.round(before.width / 100));
  const reach = Math.floor(step / 2);
  const treated = input.treated.map((q) => grown(q, 1.08));
  const boardsBefore = input.boardsBefore.map((q) => grown(q, 1.4));
  const boardsAfter = input.boardsAfter.map((q) => grown(q, 1.4));
  const points: { x: number; y: number; ratio: number }[] = [];
  for (let y = reach; y < before.height - reach; y += step) {
    for (let x = reach; x < before.width - reach; x += step) {
      const p: Point = [x, y];
      if (treated.some((q) => contains(q, p)) || boardsBefore.some((q) => contains(q, p))) continue;
      const there = applyHomography(input.toAfter, p);
      if (boardsAfter.some((q) => contains(q, there))) continue;
      const was = patchMean(before, p, reach);
      const is = patchMean(after, there, reach);
      if (was === null || is === null || !turfLike(was) || !turfLike(is)) continue;
      if (input.shadedAfter?.(is[1]) || input.shadedBefore?.(was[1])) continue;
      const [gx, gy] = applyHomography(input.toGround, p);
      points.push({ x: gx, y: gy, ratio: Math.log(is[1] / was[1]) });
    }
  }
  if (points.length < MIN_PATCHES) return { ...LEVEL_LIGHT, patches: points.length };
  return { ...planeThrough(points), patches: points.length };
}

function planeThrough(points: readonly { x: number; y: number; ratio: number }[]): { perX: number; perY: number } {
  const weights = new Float64Array(points.length).fill(1);
  let [perX, perY, level] = [0, 0, 0];
  for (let round = 0; round < 10; round++) {
    let [w, x, y, r] = [0, 0, 0, 0];
    points.forEach((p, i) => {
      w += weights[i]!;
      x += weights[i]! * p.x;
      y += weights[i]! * p.y;
      r += weights[i]! * p.ratio;
    });
    [x, y, r] = [x / w, y / w, r / w];
    let [xx, xy, yy, xr, yr] = [1e-9, 0, 1e-9, 0, 0];
    points.forEach((p, i) => {
      const [dx, dy, dr] = [p.x - x, p.y - y, p.ratio - r];
      xx += weights[i]! * dx * dx;
      xy += weights[i]! * dx * dy;
      yy += weights[i]! * dy * dy;
      xr += weights[i]! * dx * dr;
      yr += weights[i]! * dy * dr;
    });
    const det = xx * yy - xy * xy;
    perX = (xr * yy - yr * xy) / det;
    perY = (yr * xx - xr * xy) / det;
    level = r - perX * x - perY * y;
    const residuals = Float64Array.from(points, (p) => p.ratio - level - perX * p.x - perY * p.y);
    const spread = robustSd(residuals) + 1e-6;
    for (let i = 0; i < weights.length; i++)
      weights[i] = Math.max(0, 1 - (residuals[i]! / (4 * spread)) ** 2) ** 2 + 1e-12;
  }
  return { perX, perY };
}

/** Grass, in about any light: green above red and blue. */
function turfLike([r, g, b]: readonly [number, number, number]): boolean {
  return g > 1.1 * r && g > 1.15 * b;
}

function patchMean(photo: Pixels, [x, y]: Point, reach: number): readonly [number, number, number] | null {
  const [cx, cy] = [Math.round(x), Math.round(y)];
  if (!(cx >= reach && cy >= reach && cx + reach < photo.width && cy + reach < photo.height)) return null;
  let r = 0;
  let g = 0;
  let b = 0;
  let n = 0;
  const stride = Math.max(1, Math.floor(reach / 6));
  const { data, width } = photo;
  for (let j = -reach; j <= reach; j += stride) {
    let at = ((cy + j) * width + cx - reach) * 3;
    for (let i = -reach; i <= reach; i += stride, at += 3 * stride, n++) {
      r += LINEAR_OF_CODE[data[at]!]!;
      g += LINEAR_OF_CODE[data[at + 1]!]!;
      b += LINEAR_OF_CODE[data[at + 2]!]!;
    }
  }
  return [r / n, g / n, b / n];
}
