import type { ChartEdition } from '../../colour/chart-24';
import type { Caution } from '../cautions';
import type { ChangeAgainstCheck } from '../change';
import type { Correction } from '../measure/correction';
import type { LightSlope } from '../light/even-light';
import type { FoundMark, MarkSearch } from '../marks/marks';
import type { Pixels, Point, Polygon } from '../raster/pixels';
import type { NotTurfFound } from '../raster/not-turf';

/**
 * A plot of a pair: four corners in each photo (far-left, far-right, near-right, near-left), upright full-size pixels.
 */
export interface PairPlot {
  readonly id: string;
  readonly check: boolean;
  readonly cornersBefore: Polygon;
  readonly cornersAfter: Polygon;
  readonly groundMetres?: Polygon;
}

export interface BoardCorners {
  readonly before?: Polygon;
  readonly after?: Polygon;
}

export interface PairInput {
  readonly before: Pixels;
  readonly after: Pixels;
  readonly plots: readonly PairPlot[];
  readonly greyCard?: BoardCorners;
  readonly chart?: BoardCorners;
  readonly chartEdition?: ChartEdition;
  /** What else lies on the ground in each photo and is no turf: papers of plot cards. */
  readonly lying?: { readonly before: readonly Polygon[]; readonly after: readonly Polygon[] };
}

/** A mark as it lies in the later photo. */
export interface PhotoMark extends FoundMark {
  readonly polygon: Polygon;
  readonly centroid: Point;
  readonly areaM2: number | null;
}

export interface PlotComparison {
  readonly id: string;
  /** Null for the check itself and where `refused` says why. */
  readonly change: ChangeAgainstCheck | null;
  readonly changeWithoutMarks: ChangeAgainstCheck | null;
  /** Share of the plot compared: below 1 when only the sunlit part both plots share was. */
  readonly comparedShare: number;
  readonly refused: string | null;
}

export interface PairResult {
  readonly corrections: {
    readonly before: Correction;
    readonly after: Correction;
    readonly refusals: readonly string[];
  };
  readonly lightSlope: LightSlope;
  readonly changes: readonly PlotComparison[];
  readonly marks: readonly PhotoMark[];
  readonly search: MarkSearch;
  /** One a plot: what in its outline is not turf, in the earlier photo. */
  readonly notTurf: readonly NotTurfFound[];
  readonly cautions: readonly Caution[];
}
