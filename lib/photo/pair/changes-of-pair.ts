import { CHANGE, changeAgainstCheck, insetCells, type ChangeAgainstCheck, type PlotPair } from '../change';
import { grow, shrink } from '../raster/components';
import type { Correction } from '../measure/correction';
import type { MarkSearch, PairShadow } from '../marks/marks';
import type { PlotFrame } from '../plot-frame';
import type { PairInput, PlotComparison } from './pair-input';
import { withBeyond } from './beyond-light';
import { warmest } from './choose-corrections';
import type { Laid } from './lay-plots';

/**
 * What the pair can't know of itself, as a standard deviation of the change: more without a board (and the more the
 * stronger the cast that the check alone tells of), in warm evening light, and beside shade (its sky light reaches into
 * the sun).
 */
export function systematicSd(
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

/** Each plot’s change against the check, with and without its marks, or why there is none. */
export function changesOf(
  input: PairInput,
  laid: readonly (Laid & { frame: PlotFrame })[],
  search: MarkSearch,
  ways: readonly { before: Correction; after: Correction }[],
  notTurf: readonly Uint8Array[],
  sd: number,
): PlotComparison[] {
  const check = input.plots.findIndex((plot) => plot.check);
  const side = (k: number): number => Math.sqrt(laid[k]!.before.seen.length);
  const bandOf = (k: number): number => Math.round(0.03 * side(k));
  const light = laid.map((_, k) => commonLight(search.zones[k]!, notTurf[k]!, laid[k]!.frame, bandOf(k)));
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
  const whole = (k: number): PlotPair =>
    withBeyond(
      pair(k, null),
      search.zones[k]!,
      markCells(search, input.plots[k]!.id, search.zones[k]!.length),
      bandOf(k),
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
          changeAgainstCheck(whole(k), whole(check), before.matrix, after.matrix, sd, seed),
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

/** 1 in the cells of a plot's marks, old and new. */
function markCells(search: MarkSearch, plotId: string, length: number): Uint8Array {
  const out = new Uint8Array(length);
  for (const mark of search.marks) if (mark.plotId === plotId) for (const i of mark.cells) out[i] = 1;
  return out;
}

/** Marks old and new, and what lies on the turf, with a margin. */
function leftOut(
  { width, height }: PlotFrame,
  search: MarkSearch,
  plotId: string,
  k: number,
  margin: number,
): Uint8Array {
  const withMargin = grow(markCells(search, plotId, width * height), width, height, margin);
  const debris = search.debris[k]!;
  return withMargin.map((v, i) => (v || debris[i] ? 1 : 0));
}
