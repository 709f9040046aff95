import { addRuns, HUE60, maskTables, MAX_CODE, PIXELS, SATURATION, SUMS, TURF } from './kernel';
import { DEFAULT_PARAMETERS, type MeasureParameters } from './measure';
import type { Pixels } from '../raster/pixels';

/** DGCI over the whole photo on a coarse grid, for drawing; not for figures. */
export interface GreennessMap {
  /** Cells across and down; a cell is `cell` pixels wide and high, the last ones cut by the photo's border. */
  readonly columns: number;
  readonly rows: number;
  readonly cell: number;
  /** Row-major; NaN where less than half of a cell is turf. */
  readonly dgci: Float32Array;
}

/**
 * The map, from a sample of each cell's pixels (rows are skipped so that about `rowsPerCell` are looked at).
 * @param cell side of a cell in pixels, 1 or more
 */
export function greennessMap(
  pixels: Pixels,
  cell = 16,
  parameters: Pick<MeasureParameters, 'hueFromDeg' | 'hueToDeg' | 'saturationFrom'> = DEFAULT_PARAMETERS,
  rowsPerCell = 4,
): GreennessMap {
  if (!Number.isInteger(cell) || cell < 1)
    throw new RangeError(`cell: expected a whole number of pixels, 1 or more, got ${cell}`);
  const columns = Math.ceil(pixels.width / cell);
  const rows = Math.ceil(pixels.height / cell);
  const mask = maskTables(parameters.hueFromDeg, parameters.hueToDeg, parameters.saturationFrom);
  const dgci = new Float32Array(columns * rows);
  const step = Math.max(1, Math.floor(cell / rowsPerCell));
  const sums = new Float64Array(columns * SUMS);
  for (let row = 0; row < rows; row++) {
    const runs: number[] = [];
    for (let y = row * cell; y < Math.min(pixels.height, (row + 1) * cell); y += step) {
      for (let column = 0; column < columns; column++) {
        runs.push(y, column * cell, Math.min(pixels.width, (column + 1) * cell), column);
      }
    }
    sums.fill(0);
    addRuns(pixels.data, pixels.width, Int32Array.from(runs), mask, sums);
    for (let column = 0; column < columns; column++) dgci[row * columns + column] = cellDgci(sums, column * SUMS);
  }
  return { columns, rows, cell, dgci };
}

function cellDgci(sums: Float64Array, at: number): number {
  const turf = sums[at + TURF] as number;
  if (turf * 2 < (sums[at + PIXELS] as number)) return NaN;
  const q = (sums[at + HUE60] as number) - (sums[at + SATURATION] as number) - (sums[at + MAX_CODE] as number) / 255;
  return (q / turf + 1) / 3;
}
