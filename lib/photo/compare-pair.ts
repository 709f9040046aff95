import { boardMissingCaution, shadowCaution, stripeCaution, viewCaution, type Caution } from './cautions';
import type { Correction } from './measure/correction';
import { applyHomography } from './ground/homography';
import { findMarks, shadowsOf, type MarkSearch } from './marks/marks';
import { centreOf, outlineInPhoto, outlineOf, simplified } from './marks/outline';
import { findNotTurf, NOTHING_FOUND, type NotTurfFound } from './raster/not-turf';
import { plotFrame } from './plot-frame';
import { polygonArea } from './raster/region';
import type { PairInput, PairResult, PlotComparison, PhotoMark } from './pair/pair-input';
import { leavesPhoto, layPlot, thingsLying, type Laid } from './pair/lay-plots';
import { slopeOf, flattened, checkCentre, gainsAt, withGains } from './pair/level-light';
import { chooseCorrections, warmest, byCheckToo } from './pair/choose-corrections';
import { systematicSd, changesOf } from './pair/changes-of-pair';

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

function comparePlots(input: PairInput): PairResult {
  const { plots } = input;
  const frames = plots.map((plot) => plotFrame(plot.cornersBefore, plot.groundMetres));
  const laid = plots.map((plot, k) => layPlot(input, plot, frames[k]!));
  const boards = {
    before: thingsLying(input, 'before'),
    after: thingsLying(input, 'after'),
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
    findNotTurf(withGains(l.before, balance.before), l.toBefore, shadow.before?.shade[k] ?? null),
  );
  const search = findMarks(
    flat.map((l, k) => ({
      id: plots[k]!.id,
      notTurf: notTurf[k]!.mask,
      before: withGains(l.before, balance.before),
      after: withGains(l.after, balance.after),
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
