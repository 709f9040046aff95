import { times, vector3Of, type Matrix3, type Vector3 } from '../../colour/matrix';
import { NO_CORRECTION } from '../measure/correction';
import { LEVEL_LIGHT, lightSlope, type LightSlope } from '../light/even-light';
import { applyHomography, type Homography } from '../ground/homography';
import { fitHomography } from '../ground/homography-fit';
import type { PairShadow } from '../marks/marks';
import { medianInPlace } from '../measure/median';
import type { Point, Polygon } from '../raster/pixels';
import type { GroundRaster } from '../ground/rectify';
import { lightOf, type Shadow } from '../light/shadow';
import type { PairInput, PairPlot } from './pair-input';
import { groundOf, type Laid } from './lay-plots';

/** How the light falls off over the ground from one photo to the other; level where it can’t be told. */
export function slopeOf(
  input: PairInput,
  laid: readonly Laid[],
  shadow: PairShadow,
  boards: { before: Polygon[]; after: Polygon[] },
): LightSlope {
  const { plots } = input;
  if (laid.length === 0) return LEVEL_LIGHT;
  const toAfter = fitHomography(
    plots.flatMap((plot) => [...plot.cornersBefore]),
    plots.flatMap((plot) => [...plot.cornersAfter]),
  );
  if (toAfter === null) return LEVEL_LIGHT;
  return lightSlope({
    before: input.before,
    after: input.after,
    toAfter,
    toGround: groundOf(plots),
    treated: plots.filter((plot) => !plot.check).map((plot) => plot.cornersBefore),
    boardsBefore: boards.before,
    boardsAfter: boards.after,
    shadedAfter: shadedBelow(shadow.after),
    shadedBefore: shadedBelow(shadow.before),
  });
}

function shadedBelow(found: Shadow | null): ((green: number) => boolean) | null {
  return found === null ? null : (green) => lightOf(green) < found.cut + SHADE_MARGIN;
}

/** Turf this near to the cut between light and shade, in ln G, may lie in the half-shadow. */
const SHADE_MARGIN = 0.25;

/** The middle of the check on the ground, where light is left as it is. */
export function checkCentre(laid: readonly Laid[], plots: readonly PairPlot[]): Point {
  const l =
    laid[
      Math.max(
        0,
        plots.findIndex((plot) => plot.check),
      )
    ];
  if (l === undefined) return [0, 0];
  return applyHomography(l.cellsToGround, [l.before.width / 2, l.before.height / 2]);
}

/** A plot with the slope of light taken out of it. */
export function flattened(raster: GroundRaster, toGround: Homography, slope: LightSlope, centre: Point): GroundRaster {
  if (slope.perX === 0 && slope.perY === 0) return raster;
  const linear = raster.linear.slice();
  for (let y = 0; y < raster.height; y++) {
    for (let x = 0; x < raster.width; x++) {
      const [gx, gy] = applyHomography(toGround, [x, y]);
      const factor = Math.exp(-slope.perX * (gx - centre[0]) - slope.perY * (gy - centre[1]));
      const at = (y * raster.width + x) * 3;
      for (let c = 0; c < 3; c++) linear[at + c]! *= factor;
    }
  }
  return { ...raster, linear };
}

/** The correction as a gain a channel, taken at the turf's own colour; no correction: brightness alone is normed. */
export function gainsAt(matrix: Matrix3, rasters: readonly GroundRaster[]): Vector3 {
  const turf = medianColour(rasters);
  if (matrix === NO_CORRECTION.matrix) {
    const k = 0.13 / Math.max(turf[1], 1e-4);
    return [k, k, k];
  }
  const corrected = times(matrix, turf);
  return vector3Of([0, 1, 2].map((c) => Math.max(corrected[c]!, 0.2 * turf[c]!) / Math.max(turf[c]!, 1e-4)));
}

function medianColour(rasters: readonly GroundRaster[]): Vector3 {
  return vector3Of(
    [0, 1, 2].map((c) => {
      const values: number[] = [];
      for (const r of rasters)
        for (let i = 0; i < r.seen.length; i += 7) if (r.seen[i]) values.push(r.linear[i * 3 + c]!);
      return values.length === 0 ? 0.1 : medianInPlace(Float64Array.from(values));
    }),
  );
}

/** A plot with each channel times its gain. */
export function scaled(raster: GroundRaster, gains: Vector3): GroundRaster {
  const linear = new Float32Array(raster.linear.length);
  for (let i = 0; i < linear.length; i += 3)
    for (let c = 0; c < 3; c++) linear[i + c] = raster.linear[i + c]! * gains[c]!;
  return { ...raster, linear };
}
