import type { Pixels, Point, Polygon } from '../raster/pixels';

/** A place on or near the ground that a person can find again by eye. */
export interface StrikingPoint {
  readonly at: Point;
  /** Lower eigenvalue of the structure tensor there: only good for ranking within a photo. */
  readonly strength: number;
}

export interface StrikingOptions {
  readonly most?: number;
  /** Places already known: none is chosen near them. */
  readonly apartFrom?: readonly Point[];
}

/** Long side of the copy looked at, pixels: blades of grass are gone in it, slabs and stakes are not. */
const LONG_SIDE = 480;
/** Least distance between two places, and from the photo's edge, as shares of its diagonal. */
const APART = 0.07;
const MARGIN = 0.045;
/** How far above the plots' far edge the ground is still taken for ground, as a share of their height in the photo. */
const BEHIND = 0.25;
/** Radius of the surroundings that a corner must stand out from, pixels of the copy. */
const SURROUNDINGS = 16;
/** Least share of what is not green round a place: a corner of turf against turf is nothing one finds again. */
const NOT_GREEN = 0.06;

/**
 * Corners of things that are not turf (path, slab, stake, sprinkler head), near the plots and below their far edge,
 * spread out: what to ask a person for where nothing was named. Corners by the lower eigenvalue of the structure tensor
 * of brightness and of two colour ratios.
 * @param plots in the photo's pixels; at least one
 * @see Shi & Tomasi 1994, Good features to track, CVPR, section 4: a window is good where the smaller eigenvalue is
 *   large
 */
export function strikingPoints(
  photo: Pixels,
  plots: readonly Polygon[],
  { most = 8, apartFrom = [] }: StrikingOptions = {},
): StrikingPoint[] {
  if (plots.length === 0) throw new RangeError('plots: expected at least one, got none');
  const step = Math.max(1, Math.max(photo.width, photo.height) / LONG_SIDE);
  const copy = shrink(photo, step);
  const { width, height } = copy;
  const strength = cornerStrength(copy);
  const ys = plots.flat().map(([, y]) => (y + 0.5) / step - 0.5);
  const [far, near] = [Math.min(...ys), Math.max(...ys)];
  const diagonal = Math.hypot(width, height);
  const margin = Math.ceil(MARGIN * diagonal);
  const top = Math.max(margin, Math.floor(far - BEHIND * (near - far)));
  const candidates: { x: number; y: number; strength: number }[] = [];
  for (let y = top; y < height - margin; y++) {
    for (let x = margin; x < width - margin; x++) {
      const here = strength[y * width + x]!;
      if (here > 0 && isPeak(strength, width, height, x, y) && copy.notGreen(x, y) >= NOT_GREEN)
        candidates.push({ x, y, strength: here });
    }
  }
  candidates.sort((a, b) => b.strength - a.strength);
  const strong = candidates.slice(0, 120);
  const taken = apartFrom.map(([x, y]) => ({ x: (x + 0.5) / step - 0.5, y: (y + 0.5) / step - 0.5 }));
  const chosen: typeof candidates = [];
  const full = (strong[0]?.strength ?? 0) * 0.5;
  while (chosen.length < most) {
    let best: (typeof candidates)[number] | undefined;
    let bestWorth = 0;
    for (const one of strong) {
      const near = Math.min(
        0.5 * diagonal,
        ...[...taken, ...chosen].map((other) => Math.hypot(other.x - one.x, other.y - one.y)),
      );
      if (near < APART * diagonal) continue;
      // Far apart counts as much as striking: four things in one corner of the photo hold nothing.
      const worth = Math.sqrt(Math.min(1, one.strength / full)) * near;
      if (worth > bestWorth) [best, bestWorth] = [one, worth];
    }
    if (!best) break;
    chosen.push(best);
  }
  return chosen.map(({ x, y, strength }) => ({ at: [(x + 0.5) * step - 0.5, (y + 0.5) * step - 0.5], strength }));
}

interface Copy {
  readonly width: number;
  readonly height: number;
  /** Log brightness, and the logs of red and of blue against green. */
  readonly planes: readonly Float32Array[];
  /** Share of what is not green in a square of 13 pixels. */
  readonly notGreen: (x: number, y: number) => number;
}

function shrink({ width: w, height: h, data }: Pixels, step: number): Copy {
  const [width, height] = [Math.floor(w / step), Math.floor(h / step)];
  const planes = [0, 1, 2].map(() => new Float32Array(width * height));
  const sums = new Float64Array((width + 1) * (height + 1));
  for (let y = 0; y < height; y++) {
    const [y0, y1] = [Math.floor(y * step), Math.max(Math.floor(y * step) + 1, Math.floor((y + 1) * step))];
    for (let x = 0; x < width; x++) {
      const [x0, x1] = [Math.floor(x * step), Math.max(Math.floor(x * step) + 1, Math.floor((x + 1) * step))];
      let [r, g, b] = [0, 0, 0];
      for (let v = y0; v < y1; v++) {
        for (let u = x0; u < x1; u++) {
          const at = 3 * (v * w + u);
          r += data[at]!;
          g += data[at + 1]!;
          b += data[at + 2]!;
        }
      }
      const n = (y1 - y0) * (x1 - x0);
      [r, g, b] = [r / n + 8, g / n + 8, b / n + 8];
      const i = y * width + x;
      planes[0]![i] = Math.log(r + g + b);
      planes[1]![i] = 2 * Math.log(r / g);
      planes[2]![i] = 2 * Math.log(b / g);
      const green = g > r && g > b && g - Math.min(r, b) > 0.1 * g;
      sums[(y + 1) * (width + 1) + x + 1] =
        (green ? 0 : 1) +
        sums[y * (width + 1) + x + 1]! +
        sums[(y + 1) * (width + 1) + x]! -
        sums[y * (width + 1) + x]!;
    }
  }
  const half = 6;
  const notGreen = (x: number, y: number) => {
    const [a, b, c, d] = [
      Math.max(0, x - half),
      Math.min(width, x + half + 1),
      Math.max(0, y - half),
      Math.min(height, y + half + 1),
    ];
    const at = (u: number, v: number) => sums[v * (width + 1) + u]!;
    return (at(b, d) - at(a, d) - at(b, c) + at(a, c)) / ((b - a) * (d - c));
  };
  return { width, height, planes: planes.map((plane) => blurred(plane, width, height, 2)), notGreen };
}

function cornerStrength({ width, height, planes }: Copy): Float32Array {
  const tensor = [0, 1, 2].map(() => new Float32Array(width * height));
  for (const plane of planes) {
    for (let y = 1; y < height - 1; y++) {
      for (let x = 1; x < width - 1; x++) {
        const i = y * width + x;
        const gx = (plane[i + 1]! - plane[i - 1]!) / 2;
        const gy = (plane[i + width]! - plane[i - width]!) / 2;
        tensor[0]![i]! += gx * gx;
        tensor[1]![i]! += gx * gy;
        tensor[2]![i]! += gy * gy;
      }
    }
  }
  const [xx, xy, yy] = tensor.map((plane) => blurred(plane, width, height, 4)) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  const least = xx.map((a, i) => (a + yy[i]!) / 2 - Math.hypot((a - yy[i]!) / 2, xy[i]!));
  // Among speckles and leaves every corner has its like beside it: what counts is how it stands out from its
  // surroundings.
  const around = blurred(least, width, height, SURROUNDINGS);
  return least.map((value, i) => value * Math.max(0, value / (around[i]! + 1e-9) - 1));
}

function isPeak(values: Float32Array, width: number, height: number, x: number, y: number): boolean {
  const here = values[y * width + x]!;
  for (let v = Math.max(0, y - 3); v <= Math.min(height - 1, y + 3); v++) {
    for (let u = Math.max(0, x - 3); u <= Math.min(width - 1, x + 3); u++)
      if (values[v * width + u]! > here) return false;
  }
  return true;
}

/** Three running means each way: near enough a bell of standard deviation about `radius`. */
function blurred(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  let now = plane;
  for (let pass = 0; pass < 3; pass++)
    now = runningMean(runningMean(now, width, height, radius, 1, width), height, width, radius, width, 1);
  return now;
}

/** Mean over 2 radius + 1 along lines of `length` values `along` apart; lines lie `across` apart. */
function runningMean(
  from: Float32Array,
  length: number,
  lines: number,
  radius: number,
  along: number,
  across: number,
): Float32Array {
  const to = new Float32Array(from.length);
  for (let line = 0; line < lines; line++) {
    const start = line * across;
    const at = (k: number) => from[start + Math.min(length - 1, Math.max(0, k)) * along]!;
    let sum = 0;
    for (let k = -radius; k <= radius; k++) sum += at(k);
    for (let k = 0; k < length; k++) {
      to[start + k * along] = sum / (2 * radius + 1);
      sum += at(k + radius + 1) - at(k - radius);
    }
  }
  return to;
}
