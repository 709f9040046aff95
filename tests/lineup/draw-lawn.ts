import { invertHomography, applyHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';

/** A small seeded generator for drawings (mulberry32); the drawings are ours, nothing is measured with it. */
export function chance(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Smooth noise of about unit size whose bumps are `grain` pixels wide, the same for the same seed. */
export function smoothNoise(seed: number, grain: number): (x: number, y: number) => number {
  const random = chance(seed);
  const grid = Array.from({ length: 128 * 128 }, () => random() * 2 - 1);
  const at = (i: number, k: number): number => grid[(k & 127) * 128 + (i & 127)]!;
  return (x, y) => {
    const [u, v] = [x / grain, y / grain];
    const [i, k] = [Math.floor(u), Math.floor(v)];
    const [a, b] = [u - i, v - k].map((t) => t * t * (3 - 2 * t)) as [number, number];
    return (1 - b) * ((1 - a) * at(i, k) + a * at(i + 1, k)) + b * ((1 - a) * at(i, k + 1) + a * at(i + 1, k + 1));
  };
}

export interface Lawn {
  /** Fixed things: patches of other grass, weeds. */
  readonly ground: number;
  /** What is new in each photo: blades. */
  readonly blades: number;
  /** Brightness of the light, 1 for the reference. */
  readonly light?: number;
  /** A grey path along the far edge with joints, and stakes. */
  readonly landmarks?: boolean;
  /** How much of the fixed things there is: 1 as usual, 0 plain turf that looks the same everywhere. */
  readonly fixed?: number;
  /** Stakes of about 8 pixels, where they stand on the ground. */
  readonly stakes?: readonly Point[];
}

/** Draws a lawn as seen through `view` (lawn's own plane to photo, pixels). */
export function drawLawn(width: number, height: number, lawn: Lawn, view: Homography): Pixels {
  const colour = smoothNoise(lawn.ground, 40);
  const fine = smoothNoise(lawn.ground + 1, 14);
  const random = chance(lawn.blades * 7919 + 13);
  const back = invertHomography(view)!;
  const light = lawn.light ?? 1;
  const fixed = lawn.fixed ?? 1;
  const data = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [u, v] = applyHomography(back, [x, y]);
      const noise = (random() - 0.5) * 36;
      const c = fixed * (0.6 * colour(u, v) + 0.6 * fine(u, v));
      let rgb: [number, number, number] = [70 + 22 * c + noise, 118 + 8 * c + noise, 42 - 8 * c + noise * 0.6];
      if (lawn.landmarks) {
        if (v < 40 && v > 5)
          rgb =
            Math.abs(((u + 1000) % 90) - 45) < 2 ? [90, 90, 88] : [165 + noise / 3, 162 + noise / 3, 158 + noise / 3];
        for (const [sx, sy] of STAKES) if (Math.abs(u - sx) < 4 && Math.abs(v - sy) < 8) rgb = [205, 180, 140];
      }
      for (const [sx, sy] of lawn.stakes ?? []) if (Math.abs(u - sx) < 4 && Math.abs(v - sy) < 4) rgb = [205, 180, 140];
      const o = (y * width + x) * 3;
      for (let k = 0; k < 3; k++) data[o + k] = Math.max(0, Math.min(255, rgb[k]! * light));
    }
  }
  return { width, height, channels: 3, space: 'srgb', data };
}

const STAKES: readonly Point[] = [
  [120, 70],
  [520, 64],
  [70, 330],
  [580, 340],
];
