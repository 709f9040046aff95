import { USUAL_EDITION } from '@/lib/colour/chart-24';
import { matrix3Of, times, vector3Of, type Matrix3, type Vector3 } from '../colour/matrix';
import type { ChartEdition } from '../colour/chart-24';
import { pointsAround, readBoard } from './ground/board';
import {
  boardMissingCaution,
  shadowCaution,
  stripeCaution,
  viewCaution,
  warmLightCaution,
  type Caution,
} from './cautions';
import { CHANGE, changeAgainstCheck, insetCells, meansOf, type ChangeAgainstCheck, type PlotPair } from './change';
import { grow, shrink } from './raster/components';
import { fromChart, fromCheckRatio, fromGreyCard, NO_CORRECTION, type Correction } from './measure/correction';
import { LEVEL_LIGHT, lightSlope, type LightSlope } from './light/even-light';
import { applyHomography, composeHomographies, type Homography } from './ground/homography';
import { fitHomography } from './ground/homography-fit';
import { findMarks, shadowsOf, type FoundMark, type MarkSearch, type PairShadow } from './marks/marks';
import { centreOf, outlineInPhoto, outlineOf, simplified } from './marks/outline';
import { medianInPlace } from './measure/median';
import type { Pixels, Point, Polygon } from './raster/pixels';
import { findNotTurf, NOTHING_FOUND, type NotTurfFound } from './raster/not-turf';
import { withoutThings } from './covered';
import { cellsToPhoto, plotFrame, type PlotFrame } from './plot-frame';
import { inPictureShare, LEAST_IN_PICTURE, polygonArea } from './raster/region';
import { rectifyLinear, type GroundRaster } from './ground/rectify';
import { lightOf, type Shadow } from './light/shadow';
import { LINEAR_OF_CODE } from '../colour/srgb';

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

/**
 * Everything a pair of lined-up photos says: correction, light, marks, and each plot's change against the check. A plot
 * that leaves either photo takes no part and says so. Pure.
 */
export function comparePair(input: PairInput): PairResult {
  const leaving = input.plots.map((plot) => leavesPhoto(input, plot));
  const kept = input.plots.flatMap((_, k) => (leaving[k] === null ? [k] : []));
  const seen = comparePlots({ ...input, plots: kept.map((k) => input.plots[k]!) });
  if (kept.length === input.plots.length) return seen;
  const at = (k: number): number => kept.indexOf(k);
  const check = input.plots.findIndex((plot) => plot.check);
  const nothing = { change: null, changeWithoutMarks: null, comparedShare: 0 };
  return {
    ...seen,
    changes: input.plots.map(({ id }, k): PlotComparison => {
      if (leaving[k] !== null)
        return { id, ...nothing, refused: k === check ? null : `This plot ${leaving[k]!}: it is not compared.` };
      if (check >= 0 && leaving[check] !== null)
        return { id, ...nothing, refused: `The check ${leaving[check]!}: no change against it.` };
      return seen.changes[at(k)]!;
    }),
    search: {
      ...seen.search,
      debris: input.plots.map((_, k) => (at(k) < 0 ? new Uint8Array(0) : seen.search.debris[at(k)]!)),
      zones: input.plots.map((_, k) => (at(k) < 0 ? new Uint8Array(0) : seen.search.zones[at(k)]!)),
    },
    notTurf: input.plots.map((_, k) => (at(k) < 0 ? NOTHING_FOUND : seen.notTurf[at(k)]!)),
    cautions: [
      ...input.plots.flatMap(({ id }, k): Caution[] =>
        leaving[k] === null
          ? []
          : [{ code: 'leaves-photo', value: null, sentence: `Plot ${id} ${leaving[k]!}: it is not compared.` }],
      ),
      ...seen.cautions,
    ],
  };
}

/** In words, when too little of a plot lies in one of the photos. */
function leavesPhoto({ before, after }: PairInput, plot: PairPlot): string | null {
  for (const [words, photo, corners] of [
    ['later', after, plot.cornersAfter],
    ['earlier', before, plot.cornersBefore],
  ] as const) {
    const share = inPictureShare(corners, photo.width, photo.height);
    if (share < LEAST_IN_PICTURE) return `leaves the ${words} photo (${Math.floor(100 * share)}% of it in the picture)`;
  }
  return null;
}

function comparePlots(input: PairInput): PairResult {
  const { plots } = input;
  const frames = plots.map((plot) => plotFrame(plot.cornersBefore, plot.groundMetres));
  const laid = plots.map((plot, k) => layPlot(input, plot, frames[k]!));
  const boards = {
    before: [...boardsOf(input, 'before'), ...(input.lying?.before ?? [])],
    after: [...boardsOf(input, 'after'), ...(input.lying?.after ?? [])],
  };
  const shadow = shadowsOf(laid.map((l, k) => ({ id: plots[k]!.id, before: l.before, after: l.after })));
  const slope = slopeOf(input, laid, shadow, boards);
  const flat = laid.map((l, k) => ({
    ...l,
    after: flattened(l.after, l.cellsToGround, slope, checkCentre(laid, plots)),
    before: l.before,
    frame: frames[k]!,
  }));

  const { corrections, refusals } = chooseCorrections(input, flat, shadow);
  const balance = {
    before: gainsAt(
      corrections.before.matrix,
      flat.map((l) => l.before),
    ),
    after: gainsAt(
      corrections.after.matrix,
      flat.map((l) => l.after),
    ),
  };
  const notTurf = laid.map((l, k) =>
    findNotTurf(scaled(l.before, balance.before), l.toBefore, shadow.before?.shade[k] ?? null),
  );
  const search = findMarks(
    flat.map((l, k) => ({
      id: plots[k]!.id,
      notTurf: notTurf[k]!.mask,
      before: scaled(l.before, balance.before),
      after: scaled(l.after, balance.after),
    })),
    shadow,
  );
  const marks = search.marks.map((mark): PhotoMark => {
    const k = plots.findIndex((plot) => plot.id === mark.plotId);
    const { width, height } = frames[k]!;
    const toPhoto = flat[k]!.toAfter;
    const outline = simplified(outlineOf(mark.cells, width, height), 0.6);
    return {
      ...mark,
      polygon: outlineInPhoto(outline, toPhoto),
      centroid: applyHomography(toPhoto, centreOf(mark.cells, width)),
      areaM2: plots[k]!.groundMetres === undefined ? null : mark.share * polygonArea(plots[k]!.groundMetres!),
    };
  });
  const uncertain = systematicSd(shadow, input, corrections);
  const ways = [corrections, ...(warmest(input) === null ? [] : byCheckToo(input, flat, shadow, corrections))];
  const changes = changesOf(
    input,
    flat,
    search,
    ways,
    notTurf.map((found) => found.mask),
    uncertain,
  );
  const cautions = cautionsOf(input, laid, search, corrections, refusals, notTurf);
  return { corrections: { ...corrections, refusals }, lightSlope: slope, changes, marks, search, notTurf, cautions };
}

/**
 * What the pair can't know of itself, as a standard deviation of the change: more without a board (and the more the
 * stronger the cast that the check alone tells of), in warm evening light, and beside shade (its sky light reaches into
 * the sun).
 */
function systematicSd(
  shadow: PairShadow,
  input: PairInput,
  { before, after }: { before: Correction; after: Correction },
): number {
  const board = after.method === 'chart-24' || after.method === 'grey-card';
  const [r, g, b] = [0, 4, 8].map((k) => Math.log(after.matrix[k]! / before.matrix[k]!)) as [number, number, number];
  const cast = after.method === 'check-ratio' ? Math.hypot(r - g, b - g) : 0;
  return Math.hypot(
    board ? CHANGE.systematicSd : CHANGE.systematicSdNoBoard,
    CHANGE.castSd * cast,
    warmest(input) === null ? 0 : CHANGE.systematicSdWarm,
    shadow.before === null && shadow.after === null ? 0 : CHANGE.systematicSdShadow,
  );
}

/** The caution for warm light on the grey card of either photo, if any. */
function warmest(input: PairInput): Caution | null {
  for (const when of ['after', 'before'] as const) {
    const corners = input.greyCard?.[when];
    const reading = corners === undefined ? null : readBoard(input[when], corners);
    const caution = reading === null ? null : warmLightCaution(reading.linear);
    if (caution !== null) return caution;
  }
  return null;
}

function cautionsOf(
  input: PairInput,
  laid: readonly Laid[],
  search: MarkSearch,
  corrections: { before: Correction; after: Correction },
  refusals: readonly string[],
  notTurf: readonly NotTurfFound[],
): Caution[] {
  const shaded = search.zones.map((zone) => zone.reduce((sum, z) => sum + (z > 0 ? 1 : 0), 0) / zone.length);
  const found: (Caution | null)[] = [
    shadowCaution(shaded),
    stripeCaution(
      laid
        .filter((_, k) => shaded[k] === 0 && !search.marks.some((mark) => mark.plotId === input.plots[k]!.id))
        .map((l) => l.after),
    ),
    laid.length === 0 ? null : viewCaution(input.plots[0]!.cornersBefore, input.plots[0]!.cornersAfter),
    warmest(input),
    boardMissingCaution(corrections.after.method),
    ...refusals.map((sentence): Caution => ({ code: 'board-refused', sentence, value: null })),
    ...notTurf.map(({ sentence, share }, k): Caution | null =>
      sentence === null
        ? null
        : { code: 'not-turf', value: share, sentence: `Plot ${input.plots[k]!.id}: ${sentence}` },
    ),
  ];
  return found.filter((caution) => caution !== null);
}

interface Laid {
  readonly before: GroundRaster;
  readonly after: GroundRaster;
  readonly toBefore: Homography;
  readonly toAfter: Homography;
  readonly cellsToGround: Homography;
}

function layPlot(input: PairInput, plot: PairPlot, frame: PlotFrame): Laid {
  const toBefore = cellsToPhoto(frame, plot.cornersBefore);
  const toAfter = cellsToPhoto(frame, plot.cornersAfter);
  const above = (when: 'before' | 'after', toPhoto: Homography): GroundRaster =>
    withoutThings(
      rectifyLinear(input[when], toPhoto, frame.width, frame.height),
      [...boardsOf(input, when), ...(input.lying?.[when] ?? [])],
      toPhoto,
    );
  return {
    before: above('before', toBefore),
    after: above('after', toAfter),
    toBefore,
    toAfter,
    cellsToGround: composeHomographies(groundOf(input.plots), toBefore),
  };
}

/** Earlier photo to ground metres, where all plots tell them; else the photo's own pixels stand for the ground. */
function groundOf(plots: readonly PairPlot[]): Homography {
  const from = plots.flatMap((plot) => [...plot.cornersBefore]);
  const to = plots.flatMap((plot) => [...(plot.groundMetres ?? [])]);
  return (from.length === to.length ? fitHomography(from, to) : null) ?? [1, 0, 0, 0, 1, 0, 0, 0, 1];
}

function boardsOf(input: PairInput, when: 'before' | 'after'): Polygon[] {
  return [input.chart?.[when], input.greyCard?.[when]].filter((board) => board !== undefined);
}

function slopeOf(
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

function checkCentre(laid: readonly Laid[], plots: readonly PairPlot[]): Point {
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

function flattened(raster: GroundRaster, toGround: Homography, slope: LightSlope, centre: Point): GroundRaster {
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
function gainsAt(matrix: Matrix3, rasters: readonly GroundRaster[]): Vector3 {
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

function scaled(raster: GroundRaster, gains: Vector3): GroundRaster {
  const linear = new Float32Array(raster.linear.length);
  for (let i = 0; i < linear.length; i += 3)
    for (let c = 0; c < 3; c++) linear[i + c] = raster.linear[i + c]! * gains[c]!;
  return { ...raster, linear };
}

function chooseCorrections(
  input: PairInput,
  laid: readonly Laid[],
  shadow: PairShadow,
): { corrections: { before: Correction; after: Correction }; refusals: string[] } {
  const refusals: string[] = [];
  const edition = input.chartEdition ?? USUAL_EDITION;
  const use = (
    name: 'chart' | 'grey card',
    corners: Polygon | undefined,
    when: 'before' | 'after',
  ): Correction | null => {
    if (corners === undefined) return null;
    const photo = input[when];
    const words = when === 'before' ? 'earlier' : 'later';
    if (
      liesInOtherLight(
        photo,
        corners,
        laid.map((l) => l[when]),
        shadow[when],
      )
    ) {
      refusals.push(`The ${name} in the ${words} photo lies in other light than the plots: it was not used.`);
      return null;
    }
    const result = name === 'chart' ? fromChart(photo, corners, edition) : fromGreyCard(photo, corners);
    if ('refused' in result) {
      refusals.push(`${words === 'earlier' ? 'Earlier' : 'Later'} photo: ${result.refused}`);
      return null;
    }
    return result;
  };
  const chart = {
    before: use('chart', input.chart?.before, 'before'),
    after: use('chart', input.chart?.after, 'after'),
  };
  if (chart.before !== null && chart.after !== null)
    return { corrections: { before: chart.before, after: chart.after }, refusals };
  const card = {
    before: use('grey card', input.greyCard?.before, 'before'),
    after: use('grey card', input.greyCard?.after, 'after'),
  };
  if (card.before !== null && card.after !== null)
    return { corrections: { before: card.before, after: card.after }, refusals };
  const before = chart.before ?? card.before ?? NO_CORRECTION;
  const check = input.plots.findIndex((plot) => plot.check);
  const means = check < 0 ? null : litMeans(laid[check]!, shadow, check, input.plots[check]!);
  if (means === null) return { corrections: { before, after: NO_CORRECTION }, refusals };
  const ratio = fromCheckRatio(means.before, means.after);
  return { corrections: { before, after: { ...ratio, matrix: multiplied(before.matrix, ratio.matrix) } }, refusals };
}

/**
 * In warm evening light a grey card and the check each tell of a part of the cast only: leaves and paint answer to it
 * differently. Both ways are gone then, and the change lies between them. Empty where the check is the only way anyway.
 */
function byCheckToo(
  input: PairInput,
  laid: readonly Laid[],
  shadow: PairShadow,
  chosen: { before: Correction; after: Correction },
): { before: Correction; after: Correction }[] {
  if (chosen.after.method !== 'chart-24' && chosen.after.method !== 'grey-card') return [];
  const check = input.plots.findIndex((plot) => plot.check);
  const means = check < 0 ? null : litMeans(laid[check]!, shadow, check, input.plots[check]!);
  if (means === null) return [];
  const ratio = fromCheckRatio(means.before, means.after);
  return [{ before: chosen.before, after: { ...ratio, matrix: multiplied(chosen.before.matrix, ratio.matrix) } }];
}

function multiplied(left: Matrix3, diagonal: Matrix3): Matrix3 {
  return matrix3Of(left.map((v, i) => v * diagonal[(i % 3) * 4]!));
}

function litMeans(
  laid: Laid,
  shadow: PairShadow,
  k: number,
  plot: PairPlot,
): { before: Vector3; after: Vector3 } | null {
  const use = laid.after.seen.map((seen, i) =>
    seen && !shadow.before?.shade[k]![i] && !shadow.after?.shade[k]![i] ? 1 : 0,
  );
  const means = meansOf({
    before: laid.before,
    after: laid.after,
    use,
    metresPerCell: plotFrame(plot.cornersBefore, plot.groundMetres).metresPerCell,
  });
  return means !== null && means.cells > CHANGE.minCommonShare * use.length ? means : null;
}

/** More of the turf around a board than this in the shade, and it is not used. */
const OTHER_LIGHT_SHARE = 0.15;
/** How far below the plots' lit turf counts as shade when the plots show no shadow themselves, in ln G. */
const OTHER_LIGHT_DEPTH = 0.5;

/** Is some of the turf around the board in the shade, while the plots (their lit part) are in the light? */
function liesInOtherLight(
  photo: Pixels,
  corners: Polygon,
  plots: readonly GroundRaster[],
  shadow: Shadow | null,
): boolean {
  const lit: number[] = [];
  plots.forEach((plot, k) => {
    for (let i = 0; i < plot.seen.length; i += 13) {
      if (plot.seen[i] && !shadow?.shade[k]![i]) lit.push(lightOf(plot.linear[i * 3 + 1]!));
    }
  });
  if (lit.length === 0) return false;
  const middle = medianInPlace(Float64Array.from(lit));
  const cut = Math.max(shadow?.cut ?? -Infinity, middle - OTHER_LIGHT_DEPTH);
  let [shaded, looked] = [0, 0];
  for (const [x, y] of pointsAround(corners)) {
    const colour = patchColour(photo, x, y, Math.max(2, Math.round(photo.width / 300)));
    if (colour === null || !(colour[1] > 1.05 * colour[0])) continue;
    looked++;
    if (lightOf(colour[1]) < cut) shaded++;
  }
  return looked >= 20 && shaded > OTHER_LIGHT_SHARE * looked;
}

function patchColour(photo: Pixels, x: number, y: number, reach: number): Vector3 | null {
  const [cx, cy] = [Math.round(x), Math.round(y)];
  if (!(cx >= reach && cy >= reach && cx + reach < photo.width && cy + reach < photo.height)) return null;
  let [r, g, b, n] = [0, 0, 0, 0];
  for (let j = -reach; j <= reach; j++) {
    for (let i = -reach; i <= reach; i++) {
      const at = ((cy + j) * photo.width + cx + i) * 3;
      r += LINEAR_OF_CODE[photo.data[at]!]!;
      g += LINEAR_OF_CODE[photo.data[at + 1]!]!;
      b += LINEAR_OF_CODE[photo.data[at + 2]!]!;
      n++;
    }
  }
  return [r / n, g / n, b / n];
}

function changesOf(
  input: PairInput,
  laid: readonly (Laid & { frame: PlotFrame })[],
  search: MarkSearch,
  ways: readonly { before: Correction; after: Correction }[],
  notTurf: readonly Uint8Array[],
  sd: number,
): PlotComparison[] {
  const check = input.plots.findIndex((plot) => plot.check);
  const side = (k: number): number => Math.sqrt(laid[k]!.before.seen.length);
  const light = laid.map((_, k) =>
    commonLight(search.zones[k]!, notTurf[k]!, laid[k]!.frame, Math.round(0.03 * side(k))),
  );
  const pair = (k: number, leaveOut: Uint8Array | null): PlotPair => ({
    before: laid[k]!.before,
    after: laid[k]!.after,
    use: leaveOut === null ? light[k]!.use : light[k]!.use.map((u, i) => (u && !leaveOut[i] ? 1 : 0)),
    metresPerCell: laid[k]!.frame.metresPerCell,
    turf: notTurf[k]!.map((not) => 1 - not),
  });
  const marked = laid.map((l, k) =>
    leftOut(l.frame, search, input.plots[k]!.id, k, Math.max(1, Math.round(0.012 * side(k)))),
  );
  return input.plots.map((plot, k): PlotComparison => {
    const nothing = { id: plot.id, change: null, changeWithoutMarks: null, comparedShare: light[k]!.share };
    if (check < 0) return { ...nothing, refused: 'No plot is named as the check: no change against it.' };
    if (k === check) return { ...nothing, refused: null };
    if (light[k]!.share < CHANGE.minCommonShare || light[check]!.share < CHANGE.minCommonShare) {
      return {
        ...nothing,
        refused: 'This plot and the check lie in different light: no comparison. Retake in even light.',
      };
    }
    const seed = `change-${plot.id}`;
    return {
      id: plot.id,
      change: among(
        ways.map(({ before, after }) =>
          changeAgainstCheck(pair(k, null), pair(check, null), before.matrix, after.matrix, sd, seed),
        ),
      ),
      changeWithoutMarks: among(
        ways.map(({ before, after }) =>
          changeAgainstCheck(pair(k, marked[k]!), pair(check, marked[check]!), before.matrix, after.matrix, sd, seed),
        ),
      ),
      comparedShare: Math.min(light[k]!.share, light[check]!.share),
      refused: null,
    };
  });
}

/** The middle of the ways gone, its interval widened in quadrature by how far they lie from it. */
function among(ways: readonly (ChangeAgainstCheck | null)[]): ChangeAgainstCheck | null {
  const told = ways.filter((way) => way !== null);
  if (told.length < 2) return told[0] ?? null;
  const difference = told.reduce((sum, way) => sum + way.difference, 0) / told.length;
  const apart = Math.max(...told.map((way) => Math.abs(way.difference - difference)));
  const { ci95, blocks } = told[0]!;
  const half = ci95 === null ? 0 : Math.hypot((ci95[1] - ci95[0]) / 2, 1.96 * apart * CHANGE.apartSd);
  return { difference, ci95: ci95 === null ? null : [difference - half, difference + half], blocks };
}

/** Cells sunlit in both photos, away from a shadow's edge; all cells when there is no hard shadow. */
function commonLight(
  zone: Uint8Array,
  notTurf: Uint8Array,
  { width, height, metresPerCell }: PlotFrame,
  band: number,
): { use: Uint8Array; share: number } {
  const lit: Uint8Array = zone.map((z) => (z === 0 ? 1 : 0));
  const use = (lit.includes(0) ? shrink(lit, width, height, band) : lit).map((u, i) => (u && !notTurf[i] ? 1 : 0));
  const inset = insetCells(width, height, metresPerCell);
  let count = 0;
  for (let y = inset; y < height - inset; y++) for (let x = inset; x < width - inset; x++) count += use[y * width + x]!;
  return { use, share: count / ((width - 2 * inset) * (height - 2 * inset)) };
}

/** Marks old and new, and what lies on the turf, with a margin. */
function leftOut(
  { width, height }: PlotFrame,
  search: MarkSearch,
  plotId: string,
  k: number,
  margin: number,
): Uint8Array {
  const out = new Uint8Array(width * height);
  for (const mark of search.marks) if (mark.plotId === plotId) for (const i of mark.cells) out[i] = 1;
  const withMargin = grow(out, width, height, margin);
  const debris = search.debris[k]!;
  return withMargin.map((v, i) => (v || debris[i] ? 1 : 0));
}
