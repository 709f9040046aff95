import type { Pixels } from '@/lib/photo/raster/pixels';
import { cameraAt, type Camera } from './camera';
import { blankCanvas, develop, layColour, stroke, type Canvas } from './canvas';
import { hashUnit, strokeStream } from './noise';
import type { DemoPhoto } from './scenario';
import type { DemoStrip } from './demo-facts';
import {
  backdrop,
  bed,
  drawFlowers,
  drawShrubs,
  drawStakes,
  FENCE_Y_M,
  isBed,
  isPath,
  path,
  pathEdgeM,
} from './surroundings';
import { turfField, type TurfField } from './turf-field';

/**
 * Draws one photo of the demo's lawn: level ground seen in perspective, grass blade by blade from far to near, the
 * strips in their colour of the day, and what stands around. The same photo and strips give the same bytes.
 */
export function drawLawnPhoto(photo: DemoPhoto, strips: readonly DemoStrip[]): Pixels {
  const canvas = blankCanvas(photo.widthPx, photo.heightPx);
  const camera = cameraAt(photo.pose, photo.widthPx, photo.heightPx);
  const field = turfField(photo, strips);
  drawGround(canvas, camera, field, photo);
  drawShrubs(canvas, camera, photo.light.sunny);
  drawBlades(canvas, camera, field, photo);
  const trial = boxAround(strips, STAKE_OUTSIDE_M);
  drawFlowers(canvas, camera, trial);
  drawStakes(
    canvas,
    camera,
    [
      [trial.left, trial.far],
      [trial.right, trial.far],
      [trial.right, trial.near],
      [trial.left, trial.near],
    ],
    photo.light.sunny,
  );
  const { exposure, redGain, blueGain } = photo.light;
  return develop(canvas, [exposure * redGain, exposure, exposure * blueGain], photo.seed + 3);
}

const STAKE_OUTSIDE_M = 0.1;

function boxAround(
  strips: readonly DemoStrip[],
  marginM: number,
): { left: number; right: number; near: number; far: number } {
  const all = strips.flatMap(({ polygonM }) => polygonM);
  const [xs, ys] = [all.map(([x]) => x), all.map(([, y]) => y)];
  return {
    left: Math.min(...xs) - marginM,
    right: Math.max(...xs) + marginM,
    near: Math.min(...ys) - marginM,
    far: Math.max(...ys) + marginM,
  };
}

/** Everything that isn't a blade: thatch between the blades, path, bed, and the backdrop where no ground is seen. */
function drawGround(canvas: Canvas, camera: Camera, field: TurfField, photo: DemoPhoto): void {
  const turf: [number, number, number] = [0, 0, 0];
  for (let v = 0; v < canvas.height; v++) {
    for (let u = 0; u < canvas.width; u++) {
      const ray = camera.ray(u, v);
      const t = ray[2] < -1e-6 ? -camera.position[2] / ray[2] : Number.POSITIVE_INFINITY;
      const x = camera.position[0] + t * ray[0];
      const y = camera.position[1] + t * ray[1];
      if (!(y < FENCE_Y_M)) {
        const [r, g, b] = backdrop(camera, ray, photo.light.sunny);
        layColour(canvas, u, v, r, g, b, 1);
        continue;
      }
      if (isPath(x, y)) {
        const [r, g, b] = path(x, y, pathEdgeM(x));
        layColour(canvas, u, v, r, g, b, 1);
      } else if (isBed(x, y)) {
        const [r, g, b] = bed(x, y);
        layColour(canvas, u, v, r, g, b, 1);
      } else {
        field.at(x, y, turf);
        const depth = 0.4 + 0.35 * hashUnit(u, v, photo.seed);
        layColour(canvas, u, v, turf[0] * depth * 1.06, turf[1] * depth, turf[2] * depth, 1);
      }
    }
  }
}

const BLADE_LENGTH_M = 0.055;
const BLADE_WIDTH_M = 0.0042;
const STRAW = [1.75, 1.12, 1.35] as const;

/** Blades from the far rows of the picture to the near ones, so that nearer ones lie over farther ones. */
function drawBlades(canvas: Canvas, camera: Camera, field: TurfField, photo: DemoPhoto): void {
  const random = strokeStream(photo.seed + 2);
  const colour: [number, number, number] = [0, 0, 0];
  const contrast = photo.light.sunny ? 1 : 0.62;
  for (let v = 0; v < canvas.height + 24; v++) {
    for (let u = random() * 4 - 4; u < canvas.width + 4;) {
      const ray = camera.ray(u, v);
      const t = ray[2] < -1e-6 ? -camera.position[2] / ray[2] : Number.POSITIVE_INFINITY;
      const x = camera.position[0] + t * ray[0];
      const y = camera.position[1] + t * ray[1];
      if (!(y < FENCE_Y_M)) {
        u += 40;
        continue;
      }
      const perMetre = camera.focalPx / t;
      const width = BLADE_WIDTH_M * perMetre;
      u += (1.6 + 2.6 * random()) * Math.max(1, width);
      if (isBed(x, y) || isPath(x, y)) continue;
      field.at(x + 0.03 * (random() - 0.5), y + 0.05 * (random() - 0.5), colour);
      const length = BLADE_LENGTH_M * perMetre * (0.45 + 0.75 * random());
      const lean = length * 1.1 * (random() - 0.5);
      const tone = 1 + contrast * (0.85 * (random() + random() - 1));
      const [warm, cool] = [random() - 0.5, random() - 0.5];
      const straw = random() < 0.02 ? 0.6 : 0;
      colour[0] *= (1 + 0.3 * warm) * (1 + straw * (STRAW[0] - 1));
      colour[1] *= (1 + 0.05 * warm) * (1 + straw * (STRAW[1] - 1));
      colour[2] *= (1 + 0.22 * cool) * (1 + straw * (STRAW[2] - 1));
      const root = 1 - 0.45 * contrast;
      stroke(
        canvas,
        u,
        v,
        u + lean,
        v - length,
        Math.max(0.9, width * 1.15),
        colour,
        root * tone,
        (1.5 + 0.2 * contrast) * tone * 0.92,
        0.85,
      );
    }
  }
}
