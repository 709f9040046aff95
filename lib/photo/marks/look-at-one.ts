import type { PhotoMark } from '../pair/pair-input';
import { applyHomography } from '../ground/homography';
import { centreOf, outlineInPhoto, outlineOf, simplified } from './outline';
import { findMarks, shadowsOf } from './marks';
import { findNotTurf, NOTHING_FOUND, type NotTurfFound } from '../raster/not-turf';
import type { Pixels, Polygon } from '../raster/pixels';
import { cellsToPhoto, plotFrame } from '../plot-frame';
import { rectifyLinear } from '../ground/rectify';
import { inPictureShare, LEAST_IN_PICTURE, polygonArea } from '../raster/region';

/** A plot of one photo: four corners (far-left, far-right, near-right, near-left), upright full-size pixels. */
export interface SinglePlot {
  readonly id: string;
  readonly corners: Polygon;
  readonly groundMetres?: Polygon;
}

export interface SingleLook {
  /** What stands out from its plot; `isNew` is null, since nothing says what was there before. */
  readonly marks: readonly PhotoMark[];
  /** For each plot, what inside its outline isn't turf. */
  readonly notTurf: readonly NotTurfFound[];
}

/**
 * What one photo shows by itself: outliers within each plot, asked to be surer than with an earlier photo, and what
 * isn't turf. A plot that leaves the photo is not looked at. Pure.
 */
export function lookAtOne(photo: Pixels, plots: readonly SinglePlot[]): SingleLook {
  const whole = plots.map((plot) => inPictureShare(plot.corners, photo.width, photo.height) >= LEAST_IN_PICTURE);
  if (whole.includes(false)) {
    const seen = lookAtOne(
      photo,
      plots.filter((_, k) => whole[k]),
    );
    let next = 0;
    return { marks: seen.marks, notTurf: whole.map((is) => (is ? seen.notTurf[next++]! : NOTHING_FOUND)) };
  }
  const laid = plots.map((plot) => {
    const frame = plotFrame(plot.corners, plot.groundMetres);
    const toPhoto = cellsToPhoto(frame, plot.corners);
    return { frame, toPhoto, raster: rectifyLinear(photo, toPhoto, frame.width, frame.height) };
  });
  const bare = laid.map(({ raster }, k) => ({ id: plots[k]!.id, before: null, after: raster }));
  const shadow = shadowsOf(bare);
  const notTurf = laid.map(({ raster, toPhoto }, k) => findNotTurf(raster, toPhoto, shadow.after?.shade[k] ?? null));
  const search = findMarks(
    bare.map((plot, k) => ({ ...plot, notTurf: notTurf[k]!.mask })),
    shadow,
  );
  const marks = search.marks.map((mark): PhotoMark => {
    const k = plots.findIndex((plot) => plot.id === mark.plotId);
    const { frame, toPhoto } = laid[k]!;
    const ground = plots[k]!.groundMetres;
    return {
      ...mark,
      polygon: outlineInPhoto(simplified(outlineOf(mark.cells, frame.width, frame.height), 0.6), toPhoto),
      centroid: applyHomography(toPhoto, centreOf(mark.cells, frame.width)),
      areaM2: ground === undefined ? null : mark.share * polygonArea(ground),
    };
  });
  return { marks, notTurf };
}
