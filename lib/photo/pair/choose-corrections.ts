import { USUAL_EDITION } from '@/lib/colour/chart-24';
import { matrix3Of, type Matrix3, type Vector3 } from '../../colour/matrix';
import { pointsAround, readBoard } from '../ground/board';
import { warmLightCaution, type Caution } from '../cautions';
import { CHANGE, meansOf } from '../change';
import { fromChart, fromCheckRatio, fromGreyCard, NO_CORRECTION, type Correction } from '../measure/correction';
import type { PairShadow } from '../marks/marks';
import { medianInPlace } from '../measure/median';
import type { Pixels, Polygon } from '../raster/pixels';
import { plotFrame } from '../plot-frame';
import type { GroundRaster } from '../ground/rectify';
import { lightOf, type Shadow } from '../light/shadow';
import { LINEAR_OF_CODE } from '../../colour/srgb';
import type { PairInput, PairPlot } from './pair-input';
import type { Laid } from './lay-plots';

/** The caution for warm light on the grey card of either photo, if any. */
export function warmest(input: PairInput): Caution | null {
  for (const when of ['after', 'before'] as const) {
    const corners = input.greyCard?.[when];
    const reading = corners === undefined ? null : readBoard(input[when], corners);
    const caution = reading === null ? null : warmLightCaution(reading.linear);
    if (caution !== null) return caution;
  }
  return null;
}

/** How light is corrected: by the chart in both photos, else the card in both, else by the check. Boards refused are said. */
export function chooseCorrections(
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
export function byCheckToo(
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
