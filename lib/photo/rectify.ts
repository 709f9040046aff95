import { LINEAR_OF_CODE, linearToSrgb } from '../colour/srgb';
import { applyHomography, type Homography } from './homography';
import type { Pixels } from './pixels';

/**
 * A piece of ground seen from straight above, in linear light. `linear` is row-major, three linear sRGB
 * values (0..1) a cell, length width * height * 3; `seen` is 1 where the photo shows the cell, else 0.
 */
export interface GroundRaster {
  readonly width: number;
  readonly height: number;
  readonly linear: Float32Array;
  readonly seen: Uint8Array;
}

/** One channel (0 red, 1 green, 2 blue) of linear light stored three values a cell. */
export function channelOf(linear: Float32Array, channel: 0 | 1 | 2): Float32Array {
  const out = new Float32Array(linear.length / 3);
  for (let i = 0, k: number = channel; i < out.length; i++, k += 3) out[i] = linear[k]!;
  return out;
}

/** More samples along one side of a cell than this cost time and change nothing: a plot's mean rests on some 30,000 cells. */
const MAX_SAMPLES_PER_SIDE = 5;

/**
 * Looks at the ground from above: each cell is the mean linear light of the photo's pixels under it.
 * `toPhoto` maps cells (cell centres at whole numbers) to photo pixels. Cells larger than a photo pixel are
 * sampled on a grid, of up to 5 by 5 pixels; smaller ones are interpolated bilinearly.
 */
export function rectifyLinear(photo: Pixels, toPhoto: Homography, width: number, height: number): GroundRaster {
  const linear = new Float32Array(width * height * 3);
  const seen = new Uint8Array(width * height);
  const sum = new Float64Array(3);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const side = samplesPerSide(toPhoto, x, y);
      sum.fill(0);
      let count = 0;
      for (let j = 0; j < side; j++) {
        for (let i = 0; i < side; i++) {
          const u = x + (i + 0.5) / side - 0.5;
          const v = y + (j + 0.5) / side - 0.5;
          const scale = toPhoto[6] * u + toPhoto[7] * v + toPhoto[8];
          const px = (toPhoto[0] * u + toPhoto[1] * v + toPhoto[2]) / scale;
          const py = (toPhoto[3] * u + toPhoto[4] * v + toPhoto[5]) / scale;
          if (side > 1 ? addNearest(photo, px, py, sum) : addBilinear(photo, px, py, sum)) count++;
        }
      }
      if (count < (side * side) / 2) continue;
      const cell = y * width + x;
      seen[cell] = 1;
      linear[cell * 3] = sum[0]! / count;
      linear[cell * 3 + 1] = sum[1]! / count;
      linear[cell * 3 + 2] = sum[2]! / count;
    }
  }
  return { width, height, linear, seen };
}

/**
 * The same view as a picture to look at: sRGB bytes, pale grey where the photo does not show the ground.
 */
export function birdsEye(photo: Pixels, toPhoto: Homography, width: number, height: number): Pixels {
  const { linear, seen } = rectifyLinear(photo, toPhoto, width, height);
  const data = Uint8Array.from(linear, (v, i) => (seen[Math.floor(i / 3)] ? Math.round(255 * Math.min(1, Math.max(0, linearToSrgb(v)))) : UNSEEN));
  return { width, height, channels: 3, space: 'srgb', data };
}

/** Code of ground that the photo doesn't show, lighter than turf and no colour of its own. */
const UNSEEN = 214;

function samplesPerSide(toPhoto: Homography, x: number, y: number): number {
  const [x0, y0] = applyHomography(toPhoto, [x, y]);
  const [x1, y1] = applyHomography(toPhoto, [x + 1, y]);
  const [x2, y2] = applyHomography(toPhoto, [x, y + 1]);
  const longest = Math.max(Math.hypot(x1 - x0, y1 - y0), Math.hypot(x2 - x0, y2 - y0));
  return Math.min(MAX_SAMPLES_PER_SIDE, Math.max(1, Math.ceil(longest)));
}

/** Adds the linear light of the pixel a point lies in; false when the point lies outside the photo. */
function addNearest({ width, height, data }: Pixels, x: number, y: number, sum: Float64Array): boolean {
  if (!(x >= -0.5 && y >= -0.5 && x < width - 0.5 && y < height - 0.5)) return false;
  const at = (Math.round(y) * width + Math.round(x)) * 3;
  sum[0]! += LINEAR_OF_CODE[data[at]!]!;
  sum[1]! += LINEAR_OF_CODE[data[at + 1]!]!;
  sum[2]! += LINEAR_OF_CODE[data[at + 2]!]!;
  return true;
}

/** Adds the photo's linear light at a point, interpolated; false when the point lies outside the photo. */
function addBilinear(photo: Pixels, x: number, y: number, sum: Float64Array): boolean {
  const { width, height, data } = photo;
  if (!(x >= -0.5 && y >= -0.5 && x <= width - 0.5 && y <= height - 0.5)) return false;
  const cx = Math.min(width - 1, Math.max(0, x));
  const cy = Math.min(height - 1, Math.max(0, y));
  const left = Math.min(width - 2, Math.floor(cx));
  const top = Math.min(height - 2, Math.floor(cy));
  const fx = cx - left;
  const fy = cy - top;
  const at = (top * width + left) * 3;
  const below = at + width * 3;
  for (let c = 0; c < 3; c++) {
    const upper = LINEAR_OF_CODE[data[at + c]!]! * (1 - fx) + LINEAR_OF_CODE[data[at + 3 + c]!]! * fx;
    const lower = LINEAR_OF_CODE[data[below + c]!]! * (1 - fx) + LINEAR_OF_CODE[data[below + 3 + c]!]! * fx;
    sum[c]! += upper * (1 - fy) + lower * fy;
  }
  return true;
}
