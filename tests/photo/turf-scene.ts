import { linearToSrgb, srgbToLinear } from '../../lib/colour/srgb';
import type { Pixels, Polygon } from '../../lib/photo/raster/pixels';
import type { NamedKind } from '../../lib/photo/marks/kind';
import { seededRandom, type Random } from '../../lib/stats/random';
import { blurInPlace } from '../../lib/photo/marks/smooth';

/**
 * A drawn lawn seen from straight above, for tests whose truth is known because the test made it: nothing here is
 * measured.
 */
export interface DrawnLawn {
  readonly width: number;
  readonly height: number;
  /** Linear reflectance, three channels a pixel. */
  readonly reflectance: Float32Array;
}

export const TURF: readonly [number, number, number] = [0.055, 0.145, 0.03];

const linear = (...codes: [number, number, number]) => codes.map((code) => srgbToLinear(code / 255));
/** What marks look like on a screen, picked by eye from what they are called and not by what the search takes them for. */
const PAINTS: Readonly<Record<NamedKind, readonly number[]>> = {
  silver: linear(145, 148, 143),
  blackening: linear(44, 47, 44),
  burn: linear(160, 140, 92),
  chlorosis: linear(140, 150, 60),
};

/** Turf with blades (pixel noise) and slow unevenness of some 8%, by a seed. */
export function drawnLawn(
  width: number,
  height: number,
  random: Random,
  slow: Float32Array = slowField(width, height, random),
): DrawnLawn {
  const reflectance = new Float32Array(width * height * 3);
  for (let i = 0; i < width * height; i++) {
    const blade = 0.2 * noise(random);
    for (let c = 0; c < 3; c++)
      reflectance[i * 3 + c] =
        TURF[c]! * Math.exp(blade + 0.08 * slow[i]! * (c === 1 ? 1 : 1.15) + 0.05 * noise(random));
  }
  return { width, height, reflectance };
}

/** Nearly normal, mean 0 and standard deviation 1, by four uniform numbers: a drawing has a million of them. */
function noise(random: Random): number {
  return Math.sqrt(3) * (random.next() + random.next() + random.next() + random.next() - 2);
}

/** A field of standard deviation 1 that changes over some 40 pixels. */
export function slowField(width: number, height: number, random: Random, sigma = 14): Float32Array {
  const field = Float32Array.from({ length: width * height }, () => noise(random));
  blurInPlace(field, width, height, sigma);
  const sd = Math.sqrt(field.reduce((s, v) => s + v * v, 0) / field.length);
  return field.map((v) => v / sd);
}

/** Mixes a disc of turf with a mark's colour; `share` 0..1. */
export function paintMark(lawn: DrawnLawn, kind: NamedKind, x: number, y: number, radius: number, share: number): void {
  const target = PAINTS[kind];
  forDisc(lawn, x, y, radius, (at) => {
    for (let c = 0; c < 3; c++) lawn.reflectance[at + c]! += share * (target[c]! - lawn.reflectance[at + c]!);
  });
}

/** Multiplies a rectangle's reflectance: a treatment, a stripe. */
export function paintRectangle(
  lawn: DrawnLawn,
  [x0, y0, x1, y1]: readonly [number, number, number, number],
  factor: readonly [number, number, number],
): void {
  for (let y = y0; y < y1; y++)
    for (let x = x0; x < x1; x++)
      for (let c = 0; c < 3; c++) lawn.reflectance[(y * lawn.width + x) * 3 + c]! *= factor[c]!;
}

/** An opaque leaf. */
export function paintLeaf(lawn: DrawnLawn, x: number, y: number, radius: number): void {
  forDisc(lawn, x, y, radius, (at) => {
    for (let c = 0; c < 3; c++) lawn.reflectance[at + c] = [0.28, 0.09, 0.03][c]!;
  });
}

function forDisc(lawn: DrawnLawn, x: number, y: number, radius: number, act: (at: number) => void): void {
  for (let j = Math.floor(y - radius); j <= y + radius; j++) {
    for (let i = Math.floor(x - radius); i <= x + radius; i++) {
      if (i < 0 || j < 0 || i >= lawn.width || j >= lawn.height || Math.hypot(i - x, j - y) > radius) continue;
      act((j * lawn.width + i) * 3);
    }
  }
}

const CODE_OF_LIGHT = Uint8Array.from({ length: 65536 }, (_, light) => Math.round(255 * linearToSrgb(light / 65535)));

/** A photo of the lawn in a light: a gain a channel, times any local light. */
export function photograph(
  lawn: DrawnLawn,
  gain: readonly [number, number, number],
  light: (x: number, y: number) => number | readonly [number, number, number] = () => 1,
): Pixels {
  const data = new Uint8Array(lawn.reflectance.length);
  for (let y = 0; y < lawn.height; y++) {
    for (let x = 0; x < lawn.width; x++) {
      const local = light(x, y);
      for (let c = 0; c < 3; c++) {
        const at = (y * lawn.width + x) * 3 + c;
        const v = lawn.reflectance[at]! * gain[c]! * (typeof local === 'number' ? local : local[c]!);
        data[at] = CODE_OF_LIGHT[Math.round(65535 * Math.min(1, Math.max(0, v)))]!;
      }
    }
  }
  return { width: lawn.width, height: lawn.height, channels: 3, space: 'srgb', data };
}

/** Upright rectangle as far-left, far-right, near-right, near-left. */
export function rectangle(x0: number, y0: number, x1: number, y1: number): Polygon {
  return [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
}

export const random = (seed: string): Random => seededRandom(seed);
