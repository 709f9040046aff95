import { homographyFrom4, type Homography } from './ground/homography';
import type { Polygon } from './raster/pixels';

/** How a plot is laid on a raster seen from above; both photos of a pair use the same raster. */
export interface PlotFrame {
  readonly width: number;
  readonly height: number;
  /** Metres a cell, or null when the plot's measure on the ground is unknown. */
  readonly metresPerCell: number | null;
}

/** Cells a raster has, about: enough for marks of 1% of a plot, few enough to be quick. */
const CELLS = 32_768;

/**
 * The raster of a plot with four corners (far-left, far-right, near-right, near-left). Without measures on the ground
 * the shape is taken from the photo: means of opposite sides, which shows depth shortened.
 */
export function plotFrame(corners: Polygon, groundMetres?: Polygon): PlotFrame {
  const [across, along] = sides(groundMetres ?? corners);
  const perUnit = Math.sqrt(CELLS / Math.max(across * along, 1e-9));
  const width = Math.min(2048, Math.max(24, Math.round(across * perUnit)));
  const height = Math.min(2048, Math.max(24, Math.round(along * perUnit)));
  return { width, height, metresPerCell: groundMetres === undefined ? null : across / width };
}

/** From cells (centres at whole numbers) to the photo. @throws RangeError when the corners make no quadrilateral */
export function cellsToPhoto({ width, height }: PlotFrame, corners: Polygon): Homography {
  const map = homographyFrom4(frameCorners(width, height), corners);
  if (map === null)
    throw new RangeError('corners: expected four corners in order round the plot, got some in a line or crossing');
  return map;
}

/** The raster's outer corners, in cells. */
function frameCorners(width: number, height: number): Polygon {
  return [
    [-0.5, -0.5],
    [width - 0.5, -0.5],
    [width - 0.5, height - 0.5],
    [-0.5, height - 0.5],
  ];
}

function sides(quad: Polygon): [across: number, along: number] {
  const length = (i: number, j: number): number => Math.hypot(quad[i]![0] - quad[j]![0], quad[i]![1] - quad[j]![1]);
  return [(length(0, 1) + length(3, 2)) / 2, (length(1, 2) + length(0, 3)) / 2];
}
