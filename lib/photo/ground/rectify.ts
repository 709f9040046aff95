import { LINEAR_OF_CODE, linearToSrgb } from '../../colour/srgb';
import type { Homography } from './homography';
import type { Pixels } from '../raster/pixels';

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

/**
 * More samples along one side of a cell than this cost time and change nothing: a plot's mean rests on some 30,000
 * cells.
 */
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
  const [a, b, c, d, e, f, g, h, k] = toPhoto;
  const { width: photoWidth, height: photoHeight, data } = photo;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const side = samplesPerSide(toPhoto, x, y);
      let red = 0;
      let green = 0;
      let blue = 0;
      let count = 0;
      if (side === 1) {
        const scale = g * x + h * y + k;
        sum.fill(0);
        if (addBilinear(photo, (a * x + b * y + c) / scale, (d * x + e * y + f) / scale, sum)) {
          count = 1;
          red = sum[0]!;
          green = sum[1]!;
          blue = sum[2]!;
        }
      } else {
        for (let j = 0; j < side; j++) {
          const v = y + (j + 0.5) / side - 0.5;
          for (let i = 0; i < side; i++) {
            const u = x + (i + 0.5) / side - 0.5;
            const scale = g * u + h * v + k;
            const px = (a * u + b * v + c) / scale;
            const py = (d * u + e * v + f) / scale;
            // The pixel a sample lies in: from there on to the whole number below is to the nearest.
            if (!(px >= -0.5 && py >= -0.5 && px < photoWidth - 0.5 && py < photoHeight - 0.5)) continue;
            const at = (((py + 0.5) | 0) * photoWidth + ((px + 0.5) | 0)) * 3;
            red += LINEAR_OF_CODE[data[at]!]!;
            green += LINEAR_OF_CODE[data[at + 1]!]!;
            blue += LINEAR_OF_CODE[data[at + 2]!]!;
            count++;
          }
        }
      }
      if (count < (side * side) / 2) continue;
      const cell = y * width + x;
      seen[cell] = 1;
      linear[cell * 3] = red / count;
      linear[cell * 3 + 1] = green / count;
      linear[cell * 3 + 2] = blue / count;
    }
  }
  return { width, height, linear, seen };
}

/**
 * The same view as a picture to look at: sRGB bytes, pale grey where the photo does not show the ground.
 */
export function birdsEye(photo: Pixels, toPhoto: Homography, width: number, height: number): Pixels {
  const { linear, seen } = rectifyLinear(photo, toPhoto, width, height);
  const data = Uint8Array.from(linear, (v, i) =>
    seen[Math.floor(i / 3)] ? Math.round(255 * Math.min(1, Math.max(0, linearToSrgb(v)))) : UNSEEN,
  );
  return { width, height, channels: 3, space: 'srgb', data };
}

/** Code of ground that the photo doesn't show, lighter than turf and no colour of its own. */
const UNSEEN = 214;

function samplesPerSide(m: Homography, x: number, y: number): number {
  const w0 = m[6] * x + m[7] * y + m[8];
  const x0 = m[0] * x + m[1] * y + m[2];
  const y0 = m[3] * x + m[4] * y + m[5];
  const [w1, w2] = [w0 + m[6], w0 + m[7]];
  const across = Math.sqrt(((x0 + m[0]) / w1 - x0 / w0) ** 2 + ((y0 + m[3]) / w1 - y0 / w0) ** 2);
  const down = Math.sqrt(((x0 + m[1]) / w2 - x0 / w0) ** 2 + ((y0 + m[4]) / w2 - y0 / w0) ** 2);
  return Math.min(MAX_SAMPLES_PER_SIDE, Math.max(1, Math.ceil(Math.max(across, down))));
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
