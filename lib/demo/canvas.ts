import { linearToSrgb } from '@/lib/colour/srgb';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { strokeStream } from './noise';
import type { LinearRgb } from './turf-colour';

/** A picture being drawn: linear light, row-major, three numbers a pixel, 1 = paper white. */
export interface Canvas {
  readonly width: number;
  readonly height: number;
  readonly light: Float32Array;
}

export function blankCanvas(width: number, height: number): Canvas {
  return { width, height, light: new Float32Array(width * height * 3) };
}

/** Lays a colour over a pixel, 0 <= cover <= 1; places off the canvas are left alone. */
export function layColour(canvas: Canvas, x: number, y: number, r: number, g: number, b: number, cover: number): void {
  if (x < 0 || y < 0 || x >= canvas.width || y >= canvas.height) return;
  const i = 3 * (y * canvas.width + x);
  const light = canvas.light;
  light[i] = (light[i] as number) * (1 - cover) + r * cover;
  light[i + 1] = (light[i + 1] as number) * (1 - cover) + g * cover;
  light[i + 2] = (light[i + 2] as number) * (1 - cover) + b * cover;
}

/**
 * A straight stroke `width` pixels across with soft sides, from (x0, y0) to (x1, y1), its colour scaled from `dim` to
 * `bright` along it.
 */
export function stroke(
  canvas: Canvas,
  x0: number,
  y0: number,
  x1: number,
  y1: number,
  width: number,
  colour: LinearRgb,
  dim: number,
  bright: number,
  cover: number,
): void {
  const steps = Math.max(1, Math.ceil(Math.max(Math.abs(x1 - x0), Math.abs(y1 - y0))));
  const steep = Math.abs(y1 - y0) >= Math.abs(x1 - x0);
  for (let step = 0; step <= steps; step++) {
    const t = step / steps;
    const x = x0 + (x1 - x0) * t;
    const y = y0 + (y1 - y0) * t;
    const tone = dim + (bright - dim) * t;
    const half = (width * (1 - 0.5 * t)) / 2;
    const middle = steep ? x : y;
    for (let across = Math.floor(middle - half + 0.5); across <= Math.floor(middle + half + 0.5); across++) {
      const overlap = Math.min(across + 0.5, middle + half) - Math.max(across - 0.5, middle - half);
      if (overlap <= 0) continue;
      const share = cover * Math.min(1, overlap);
      if (steep) layColour(canvas, across, Math.round(y), colour[0] * tone, colour[1] * tone, colour[2] * tone, share);
      else layColour(canvas, Math.round(x), across, colour[0] * tone, colour[1] * tone, colour[2] * tone, share);
    }
  }
}

/** What the phone makes of the scene: exposure, white balance, darker corners, sensor noise, sRGB coding. */
export function develop(canvas: Canvas, gains: LinearRgb, seed: number): Pixels {
  const { width, height, light } = canvas;
  const data = new Uint8Array(width * height * 3);
  const random = strokeStream(seed);
  const code = Uint8Array.from({ length: 4096 }, (_, i) => Math.round(255 * linearToSrgb((i + 0.5) / 4096)));
  for (let y = 0, i = 0; y < height; y++) {
    const dy = (2 * y) / height - 1;
    for (let x = 0; x < width; x++) {
      const dx = (2 * x) / width - 1;
      const corner = 1 - 0.045 * (dx * dx + dy * dy);
      const grain = random() + random() - 1;
      for (let c = 0; c < 3; c++, i++) {
        const exposed = (light[i] as number) * (gains[c] as number) * corner;
        const noisy =
          exposed + (0.012 * Math.sqrt(Math.max(0, exposed)) + 0.001) * (0.6 * grain + 0.8 * (random() - 0.5));
        data[i] = code[Math.min(4095, Math.max(0, Math.floor(shoulder(noisy) * 4096)))] as number;
      }
    }
  }
  return { width, height, channels: 3, space: 'srgb', data };
}

/** Highlights above 0.7 roll off towards white; what is darker, turf among it, stays as it is. */
function shoulder(value: number): number {
  return value <= 0.7 ? value : 0.7 + 0.3 * (1 - Math.exp(-(value - 0.7) / 0.3));
}
