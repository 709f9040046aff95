import { srgbToLinear } from '@/lib/colour/srgb';
import type { Point } from '@/lib/photo/raster/pixels';
import type { Camera } from './camera';
import { layColour, stroke, type Canvas } from './canvas';
import { hashUnit, smoothNoise, strokeStream } from './noise';
import type { LinearRgb } from './turf-colour';

/**
 * What stays put around the demo's lawn: fence, trees, sky, bed, shrubs, path, stakes. It looks the same in every photo
 * but for the light.
 */
export const FENCE_Y_M = 10.2;
const BED_Y_M = 9.1;
const PATH_Y_M = -0.72;
const FENCE_HEIGHT_M = 1.35;
const PLACE_SEED = 77;

function ink(r: number, g: number, b: number): LinearRgb {
  return [srgbToLinear(r / 255), srgbToLinear(g / 255), srgbToLinear(b / 255)];
}

const BOARD = ink(158, 134, 106);
const SKY_HIGH = ink(150, 186, 226);
const SKY_GREY = ink(206, 210, 214);
const TREE = ink(62, 82, 48);
const SOIL = ink(92, 72, 55);
const SLAB = ink(168, 163, 154);
const JOINT = ink(98, 94, 86);

/** Where the lawn's near edge runs: a little uneven, as cut with a spade. */
export function pathEdgeM(xM: number): number {
  return PATH_Y_M + 0.03 * smoothNoise(xM * 1.7, 0.5, PLACE_SEED) + 0.012 * smoothNoise(xM * 9, 0.5, PLACE_SEED + 1);
}

/** No edge strays further than this from its line. */
const EDGE_REACH_M = 0.2;

/** Is a place on the path? Most of the lawn is told without asking where the edge runs just there. */
export function isPath(xM: number, yM: number): boolean {
  return yM < PATH_Y_M + EDGE_REACH_M && yM < pathEdgeM(xM);
}

/** Is a place in the bed along the fence? */
export function isBed(xM: number, yM: number): boolean {
  return yM > BED_Y_M - EDGE_REACH_M && yM > bedEdgeM(xM);
}

function bedEdgeM(xM: number): number {
  return BED_Y_M + 0.14 * Math.sin(xM * 0.9) + 0.05 * smoothNoise(xM * 2.3, 3.5, PLACE_SEED + 2);
}

/** The colour of what stands beyond the lawn, for a ray that meets no ground before the fence. */
export function backdrop(camera: Camera, ray: readonly [number, number, number], sunny: boolean): LinearRgb {
  const t = (FENCE_Y_M - camera.position[1]) / ray[1];
  const x = camera.position[0] + t * ray[0];
  const z = camera.position[2] + t * ray[2];
  if (z < FENCE_HEIGHT_M) return fence(x, z);
  const far = 38 / ray[1];
  const farX = far * ray[0];
  const farZ = camera.position[2] + far * ray[2];
  const top =
    4.6 +
    1.6 * smoothNoise(farX / 6, 1.5, PLACE_SEED + 3) +
    0.9 * smoothNoise(farX / 1.7, 2.5, PLACE_SEED + 4) +
    0.3 * smoothNoise(farX / 0.4, 4.5, PLACE_SEED + 5) +
    0.4 * (hashUnit(Math.floor(farX * 11), Math.floor(farZ * 11), PLACE_SEED + 23) - 0.5);
  if (farZ < top) {
    const here = clump(farX, farZ);
    const litFromAbove = here - clump(farX, farZ + 0.32);
    const leaf =
      0.85 +
      0.2 * here +
      0.45 * litFromAbove +
      0.75 * (hashUnit(Math.floor(farX * 11), Math.floor(farZ * 11), PLACE_SEED + 7) - 0.5);
    const tree = smoothNoise(farX / 4.5, 7.5, PLACE_SEED + 20);
    const [r, g, b] = scaled(TREE, Math.max(0.25, leaf) * (0.55 + 0.11 * farZ));
    return [r * (1 + 0.3 * tree), g * (1 + 0.14 * tree), b * (1 - 0.1 * tree)];
  }
  return sunny ? scaled(SKY_HIGH, 1.02) : scaled(SKY_GREY, 1 + 0.04 * smoothNoise(farX / 9, farZ / 3, PLACE_SEED + 8));
}

/** How thick a tree's leaves stand at a place of the backdrop. */
function clump(x: number, z: number): number {
  return smoothNoise(x / 1.3, z / 1.0, PLACE_SEED + 6) + 0.6 * smoothNoise(x / 0.45, z / 0.36, PLACE_SEED + 19);
}

const BOARD_WIDTH_M = 0.145;

function fence(x: number, z: number): LinearRgb {
  const board = Math.floor(x / BOARD_WIDTH_M);
  const along = x / BOARD_WIDTH_M - board;
  const tone = 0.82 + 0.3 * hashUnit(board, 1, PLACE_SEED + 9);
  const grain =
    1 + 0.1 * smoothNoise(x * 160, z * 3, PLACE_SEED + 10) + 0.05 * smoothNoise(x * 40, z * 8, PLACE_SEED + 11);
  if (along < 0.07) return scaled(BOARD, 0.18);
  if (z > FENCE_HEIGHT_M - 0.09) return scaled(BOARD, 1.15 * (1 + 0.06 * smoothNoise(x * 5, z * 80, PLACE_SEED + 12)));
  const damp = 0.7 + 0.3 * Math.min(1, z / 0.35);
  return scaled(BOARD, tone * grain * damp);
}

/** The planted bed along the fence: mulch. */
export function bed(x: number, y: number): LinearRgb {
  const chip = 0.55 + 0.9 * hashUnit(Math.floor(x * 28), Math.floor(y * 22), PLACE_SEED + 13);
  return scaled(SOIL, chip * (0.85 + 0.2 * smoothNoise(x * 2, y * 2, PLACE_SEED + 14)));
}

/** The path of slabs on the near side. */
export function path(x: number, y: number, edgeY: number): LinearRgb {
  const along = x / 0.8 + 0.37;
  const slab = Math.floor(along);
  const joint = Math.min(along - slab, slab + 1 - along) * 0.8;
  if (joint < 0.007) return JOINT;
  const [warpX, warpY] = [
    0.8 * smoothNoise(x * 70, y * 70, PLACE_SEED + 21),
    0.8 * smoothNoise(x * 70 + 40, y * 70, PLACE_SEED + 21),
  ];
  const pebble = hashUnit(Math.floor(x * 115 + warpX), Math.floor(y * 75 + warpY), PLACE_SEED + 15);
  const grit = hashUnit(Math.floor(x * 300), Math.floor(y * 300), PLACE_SEED + 22);
  const stain =
    0.12 * smoothNoise(x * 1.3, y * 1.3, PLACE_SEED + 16) + 0.08 * smoothNoise(x * 8, y * 8, PLACE_SEED + 17);
  const shade = edgeY - y < 0.03 ? 0.45 : 1;
  const tone =
    shade *
    (0.8 +
      0.14 * hashUnit(slab, 3, PLACE_SEED + 18) +
      0.26 * (pebble - 0.5) +
      0.24 * (grit - 0.5) +
      stain -
      (pebble < 0.03 ? 0.2 : 0));
  const [r, g, b] = scaled(SLAB, tone);
  return [r * (1 + 0.12 * (pebble - 0.4)), g, b * (1 - 0.14 * (pebble - 0.4))];
}

interface Shrub {
  readonly xM: number;
  readonly yM: number;
  readonly radiusM: number;
  readonly leaf: LinearRgb;
  readonly flower: LinearRgb | null;
}

const SHRUBS: readonly Shrub[] = [
  { xM: -3.3, yM: 9.75, radiusM: 0.62, leaf: ink(52, 84, 46), flower: null },
  { xM: -1.5, yM: 9.85, radiusM: 0.36, leaf: ink(104, 122, 96), flower: ink(150, 128, 190) },
  { xM: 1.35, yM: 9.8, radiusM: 0.46, leaf: ink(74, 104, 50), flower: ink(228, 212, 120) },
  { xM: 3.1, yM: 9.9, radiusM: 0.3, leaf: ink(98, 60, 58), flower: null },
  { xM: 5.2, yM: 9.75, radiusM: 0.55, leaf: ink(56, 90, 52), flower: ink(214, 120, 140) },
  { xM: 7.6, yM: 9.7, radiusM: 0.68, leaf: ink(66, 96, 44), flower: null },
];

/** Shrubs of the bed, each a ball of leaves lit from above. */
export function drawShrubs(canvas: Canvas, camera: Camera, sunny: boolean): void {
  SHRUBS.forEach((shrub, index) => {
    const random = strokeStream(PLACE_SEED * 100 + index);
    const {
      point: [u, v],
      depthM,
    } = camera.project(shrub.xM, shrub.yM, shrub.radiusM * 0.85);
    const radiusPx = (camera.focalPx * shrub.radiusM) / depthM;
    const leaves = Math.round(radiusPx * radiusPx * 1.1);
    for (let leaf = 0; leaf < leaves; leaf++) {
      const angle = 2 * Math.PI * random();
      const reach = Math.sqrt(random()) * (1 + 0.08 * Math.sin(5 * angle + index));
      const [dx, dy] = [reach * Math.cos(angle), reach * Math.sin(angle)];
      const lift = 0.62 - 0.42 * dy - (sunny ? 0.22 : 0.05) * dx;
      const tone = Math.max(0.12, lift * (0.55 + 0.9 * random()) * (leaf < leaves * 0.4 ? 0.55 : 1));
      const bloom = shrub.flower && leaf > leaves * 0.6 && dy < 0.5 && random() < 0.09 ? shrub.flower : shrub.leaf;
      const [x, y] = [u + dx * radiusPx, v + dy * radiusPx * 0.92];
      const length = 1.5 + 2.5 * random();
      const turn = 2 * Math.PI * random();
      stroke(
        canvas,
        x,
        y,
        x + length * Math.cos(turn),
        y + length * Math.sin(turn),
        1.6,
        bloom,
        tone,
        tone * 1.15,
        0.9,
      );
    }
  });
}

const DANDELION = ink(232, 200, 52);
const CLOVER = ink(206, 214, 186);

/** Dandelions and a patch of clover in bloom, rooted where they are all season, none of them within `keepOut`. */
export function drawFlowers(
  canvas: Canvas,
  camera: Camera,
  keepOut: { left: number; right: number; near: number; far: number },
): void {
  const random = strokeStream(PLACE_SEED + 24);
  for (let flower = 0; flower < 150; flower++) {
    const clover = flower >= 34;
    const angle = 2 * Math.PI * random();
    const reach = Math.sqrt(random());
    const x = clover ? -2.1 + 0.75 * reach * Math.cos(angle) : -5 + 15 * random();
    const y = clover ? 3.6 + 0.9 * reach * Math.sin(angle) : -0.5 + 9.3 * random();
    const tone = 0.75 + 0.35 * random();
    if (x > keepOut.left && x < keepOut.right && y > keepOut.near && y < keepOut.far) continue;
    const {
      point: [u, v],
      depthM,
    } = camera.project(x, y, 0.06);
    const half = (camera.focalPx * (clover ? 0.009 : 0.019)) / depthM;
    const [r, g, b] = clover ? CLOVER : DANDELION;
    for (let py = Math.floor(v - half); py <= v + half + 1; py++) {
      for (let px = Math.floor(u - half); px <= u + half + 1; px++) {
        const cover = Math.min(1, Math.max(0, half + 0.5 - Math.hypot(px - u, (py - v) * 1.35)));
        const lit = tone * (py < v ? 1.05 : 0.8);
        if (cover > 0) layColour(canvas, px, py, r * lit, g * lit, b * lit, (clover ? 0.6 : 0.92) * cover);
      }
    }
  }
}

/** Four white-capped stakes at the corners of the trial, each a little outside it. */
export function drawStakes(canvas: Canvas, camera: Camera, corners: readonly Point[], sunny: boolean): void {
  const [wood, cap] = [ink(190, 152, 104), ink(236, 234, 228)];
  const heightM = 0.26;
  const inOrder = [...corners].sort((a, b) => b[1] - a[1]);
  for (const [xM, yM] of inOrder) {
    const foot = camera.project(xM, yM, 0);
    const head = camera.project(xM, yM, heightM);
    const half = (camera.focalPx * 0.02) / foot.depthM;
    if (sunny) {
      const shade = camera.project(xM - 0.22, yM + 0.12, 0).point;
      darken(canvas, foot.point, shade, half * 1.5, 0.5);
    } else darken(canvas, foot.point, [foot.point[0], foot.point[1] + 2], half * 1.6, 0.7);
    for (let y = Math.round(head.point[1]); y <= Math.round(foot.point[1]); y++) {
      const t = (y - head.point[1]) / (foot.point[1] - head.point[1]);
      const middle = head.point[0] + (foot.point[0] - head.point[0]) * t;
      for (let x = Math.round(middle - half); x <= Math.round(middle + half); x++) {
        const side = x > middle ? 0.72 : 1;
        const [r, g, b] = t < 0.3 ? cap : wood;
        const ragged = t > 0.9 && hashUnit(x, y, 5) < (t - 0.9) * 9;
        if (!ragged) layColour(canvas, x, y, r * side, g * side, b * side, 0.95);
      }
    }
  }
}

function darken(canvas: Canvas, from: Point, to: Point, half: number, left: number): void {
  const steps = Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]));
  const seen = new Set<number>();
  for (let step = 0; step <= steps; step++) {
    const t = step / Math.max(1, steps);
    const [u, v] = [from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t];
    for (let y = Math.round(v - half * 0.5); y <= Math.round(v + half * 0.5); y++) {
      for (let x = Math.round(u - half); x <= Math.round(u + half); x++) {
        const at = y * canvas.width + x;
        if (x < 0 || y < 0 || x >= canvas.width || y >= canvas.height || seen.has(at)) continue;
        seen.add(at);
        for (let c = 0; c < 3; c++) canvas.light[3 * at + c] = (canvas.light[3 * at + c] as number) * left;
      }
    }
  }
}

function scaled([r, g, b]: LinearRgb, factor: number): LinearRgb {
  const f = Math.max(0.02, factor);
  return [r * f, g * f, b * f];
}
