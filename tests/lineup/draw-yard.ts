import type { Homography } from '@/lib/photo/ground/homography';
import { composeHomographies, invertHomography } from '@/lib/photo/ground/homography';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { chance, smoothNoise } from './draw-lawn';

/** Where a camera stands in a yard: metres right of the middle, above the ground, ahead; then its turns in degrees. */
export interface Stand {
  readonly x: number;
  readonly height: number;
  readonly z: number;
  readonly pan: number;
  /** Downwards from the horizon. */
  readonly pitch: number;
  readonly roll: number;
}

export interface Yard {
  /** Which yard: its fence, house, hedge and turf. */
  readonly place: number;
  /** What is new in each photo: blades, camera noise. */
  readonly day: number;
  readonly light?: number;
  /** The turf's lasting pattern, 0: none. */
  readonly turf?: number;
}

/** Focal length over the photo's long side. */
export const FOCAL = 0.75;

/** World to camera rotation, rows right, down, ahead. */
export function rotationOf({ pan, pitch, roll }: Stand): number[] {
  const [p, t, r] = [pan, pitch, roll].map((d) => (d * Math.PI) / 180) as [number, number, number];
  const ahead = [Math.sin(p) * Math.cos(t), Math.sin(t), Math.cos(p) * Math.cos(t)];
  const right = [Math.cos(p), 0, -Math.sin(p)];
  const down = [
    ahead[1]! * right[2]! - ahead[2]! * right[1]!,
    ahead[2]! * right[0]! - ahead[0]! * right[2]!,
    ahead[0]! * right[1]! - ahead[1]! * right[0]!,
  ];
  const [c, s] = [Math.cos(r), Math.sin(r)];
  return [...right.map((v, i) => c * v + s * down[i]!), ...down.map((v, i) => c * v - s * right[i]!), ...ahead];
}

/** Ground (metres right, metres ahead) to photo. World y points down, the ground is y = 0. */
export function groundMap(stand: Stand, width: number, height: number): Homography {
  const r = rotationOf(stand);
  const f = FOCAL * Math.max(width, height);
  const at = [stand.x, -stand.height, stand.z];
  const t = [0, 1, 2].map((i) => -(r[3 * i]! * at[0]! + r[3 * i + 1]! * at[1]! + r[3 * i + 2]! * at[2]!));
  const camera: Homography = [f, 0, (width - 1) / 2, 0, f, (height - 1) / 2, 0, 0, 1];
  return composeHomographies(camera, [r[0]!, r[2]!, t[0]!, r[3]!, r[5]!, t[1]!, r[6]!, r[8]!, t[2]!]);
}

/** Where the ground moves between two stands: earlier photo to later photo. */
export function groundBetween(first: Stand, second: Stand, width: number, height: number): Homography {
  return composeHomographies(groundMap(second, width, height), invertHomography(groundMap(first, width, height))!);
}

/** How far ahead a yard's fence stands, metres. */
export function fenceAt(place: number): number {
  return 6 + 4 * chance(place + 1000)();
}

/** Draws a yard: turf whose blades are new each day, a fence behind, a house to the left, a hedge to the right, sky. */
export function drawYard(width: number, height: number, yard: Yard, stand: Stand): Pixels {
  const { place, day } = yard;
  const random = chance(day * 7919 + 13);
  const broad = smoothNoise(place * 100 + 1, 1);
  const fine = smoothNoise(place * 100 + 2, 1);
  const brick = smoothNoise(place * 100 + 3, 1);
  const leaf = smoothNoise(place * 100 + 4, 1);
  const random01 = chance(place);
  const [wall, hedgeAt, bay, sill, top] = [
    3 + 2 * random01(),
    3.5 + 3 * random01(),
    1.8 + random01(),
    0.7 + 0.6 * random01(),
    1.4 + random01(),
  ];
  // Upright things that face the camera: boxes, trunks, signs, gables of houses behind.
  const things = Array.from({ length: 16 }, (_, i) => {
    const behind = i % 2 === 0;
    return {
      x: (random01() - 0.5) * (behind ? 24 : 8),
      z: behind ? 11 + 12 * random01() : 4 + 4 * random01(),
      wide: behind ? 2 + 3 * random01() : 0.2 + 0.6 * random01(),
      tall: behind ? 3 + 3 * random01() : 0.4 + 1.2 * random01(),
      peak: random01(),
      rgb: [60 + 130 * random01(), 60 + 110 * random01(), 50 + 110 * random01()],
    };
  });
  const r = rotationOf(stand);
  const f = FOCAL * Math.max(width, height);
  const light = yard.light ?? 1;
  const turf = yard.turf ?? 1;
  const data = new Uint8Array(width * height * 3);
  for (let py = 0; py < height; py++) {
    for (let px = 0; px < width; px++) {
      const [a, b] = [(px - (width - 1) / 2) / f, (py - (height - 1) / 2) / f];
      const d = [0, 1, 2].map((i) => r[i]! * a + r[3 + i]! * b + r[6 + i]!) as [number, number, number];
      const grain = (random() - 0.5) * 10;
      let near = Infinity;
      let rgb = [150 + grain, 180 + grain, 220 + grain];
      const hit = (distance: number, colour: () => number[]): void => {
        if (distance > 0.05 && distance < near) {
          const c = colour();
          if (c.length > 0) [near, rgb] = [distance, c];
        }
      };
      const at = (t: number): [number, number, number] => [
        stand.x + t * d[0],
        -stand.height + t * d[1],
        stand.z + t * d[2],
      ];
      const ground = stand.height / d[1];
      hit(ground, () => {
        const [x, , z] = at(ground);
        const c = turf * (0.7 * broad(x * 1.3, z * 1.3) + 0.6 * fine(x * 5, z * 5));
        const blades = (random() - 0.5) * 36;
        return [70 + 22 * c + blades, 118 + 10 * c + blades, 42 - 8 * c + blades * 0.6];
      });
      const fence = (fenceAt(place) - stand.z) / d[2];
      hit(fence, () => {
        const [x, y] = at(fence);
        if (y > 0 || y < -top) return [];
        const c = 45 * brick(x * 5, y * 0.3) + 35 * leaf(x * 3, y * 3);
        return [130 + c + grain, 105 + c + grain, 80 + c + grain];
      });
      const house = (-wall - stand.x) / d[0];
      hit(house, () => {
        const [, y, z] = at(house);
        if (y > 0 || y < -5 || z < 2 || z > 6) return [];
        const window = Math.abs((z % bay) - bay / 2) < 0.4 && y < -sill && y > -sill - 1.3;
        const c = 45 * brick(z * 4, y * 9);
        return window
          ? [40 + 60 * fine(z * 9, y * 9) + grain, 50 + grain, 60 + grain]
          : [165 + c + grain, 90 + c + grain, 70 + c + grain];
      });
      const hedge = (hedgeAt - stand.x) / d[0];
      hit(hedge, () => {
        const [, y, z] = at(hedge);
        if (y > 0 || y < -1.5 - 0.4 * broad(z, 3)) return [];
        const c = 40 * leaf(z * 6, y * 6) + 25 * leaf(z * 17, y * 17);
        return [50 + c + grain, 85 + c + grain, 40 + c * 0.6 + grain];
      });
      for (const thing of things) {
        const t = (thing.z - stand.z) / d[2];
        hit(t, () => {
          const [x, y] = at(t);
          const [u, v] = [(x - thing.x) / thing.wide, -y / thing.tall];
          if (Math.abs(u) > 0.5 || v < 0 || v > 1 - thing.peak * Math.abs(u)) return [];
          const c = 50 * brick(thing.x * 50 + x * 6, y * 6) + 30 * leaf(thing.z * 9 + x * 15, y * 15);
          return thing.rgb.map((k) => k + c + grain);
        });
      }
      const o = (py * width + px) * 3;
      for (let k = 0; k < 3; k++) data[o + k] = Math.max(0, Math.min(255, rgb[k]! * light));
    }
  }
  return { width, height, channels: 3, space: 'srgb', data };
}
