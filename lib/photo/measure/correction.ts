import { adapt } from '../../colour/adaptation';
import { CHART_24, type ChartEdition } from '../../colour/chart-24';
import { differenceCiede2000 } from '../../colour/ciede2000';
import { labToXyz, linearRgbToLab } from '../../colour/cielab';
import { xyzToLinearRgb } from '../../colour/linear-rgb';
import { matrix3Of, product, times, type Matrix3, type Vector3 } from '../../colour/matrix';
import { D50, D65 } from '../../colour/white-points';
import { readBoard, readChart, turned, type BoardReading } from '../ground/board';
import type { Pixels, Polygon } from '../raster/pixels';

/** A colour correction: linear light of the photo times `matrix` is linear light as under D65. */
export interface Correction {
  readonly method: 'chart-24' | 'grey-card' | 'check-ratio' | 'none';
  readonly version: 'correction-1' | 'correction-2';
  readonly matrix: Matrix3;
  /** Mean CIEDE2000 of the chart's patches after correction; absent without a chart. */
  readonly residualDeltaE00?: number;
  readonly edition?: ChartEdition;
  /** Patches left out because the camera was at its limit there. */
  readonly clippedPatches?: number;
}

/** Why a card or chart was not used, in a sentence. */
export interface CorrectionRefused {
  readonly refused: string;
}

export const NO_CORRECTION: Correction = {
  method: 'none',
  version: 'correction-1',
  matrix: [1, 0, 0, 0, 1, 0, 0, 0, 1],
};

/** Limits beyond which a board is not believed; from our own trials, no published source. */
export const CORRECTION_LIMITS = {
  clippedShare: 0.05,
  /** Between quarters of a card in even light; blades and noise stay below, a shadow's edge is far above. */
  unevenness: 1.25,
  /**
   * Mean CIEDE2000 of a chart. Daylight gave 0.9 to 1.4 in our trials; a wrong board or a shadow across it is far
   * above.
   */
  residualDeltaE00: 4,
} as const;

/** Reflectance of the photographic grey card, ISO 2720 practice: 18%. */
export const GREY_CARD_REFLECTANCE = 0.18;

/** A von Kries gain a channel from a grey card. */
export function fromGreyCard(
  photo: Pixels,
  corners: Polygon,
  reflectance = GREY_CARD_REFLECTANCE,
): Correction | CorrectionRefused {
  const reading = readBoard(photo, corners);
  if (reading === null)
    return { refused: 'Expected the grey card’s corners inside the photo, got some outside or three in a line.' };
  if (reading.clippedShare > CORRECTION_LIMITS.clippedShare)
    return { refused: 'The grey card is overexposed, so its colour is lost: it was not used.' };
  if (reading.unevenness > CORRECTION_LIMITS.unevenness)
    return { refused: 'Light and shade meet on the grey card: it was not used.' };
  const gain = reading.linear.map((v) => reflectance / Math.max(v, 1e-4));
  return { method: 'grey-card', version: 'correction-1', matrix: diagonal(gain) };
}

/** A cast of this size, in ln(R/G) and ln(B/G), counts half: see fromCheckRatio. */
export const HALF_CAST = 0.07;

/**
 * For photos without card or chart: the check brought to the brightness it had, and its colour towards what it was. A
 * small difference of colour is mostly the check's own (the season's, a few hundredths in ln(R/G)), a large one the
 * light's: the share taken away is cast² / (cast² + HALF_CAST²).
 */
export function fromCheckRatio(checkBefore: Vector3, checkAfter: Vector3): Correction {
  const logs = checkBefore.map((v, c) => Math.log(Math.max(v, 1e-4) / Math.max(checkAfter[c]!, 1e-4)));
  const green = logs[1]!;
  const cast = Math.hypot(logs[0]! - green, logs[2]! - green);
  const share = cast ** 2 / (cast ** 2 + HALF_CAST ** 2);
  return {
    method: 'check-ratio',
    version: 'correction-2',
    matrix: diagonal(logs.map((log) => Math.exp(green + share * (log - green)))),
  };
}

/**
 * A 3 by 3 matrix from the 24-patch chart: first a gain a channel from its greys, then the matrix with rows that sum to
 * 1 (greys stay grey) that fits the coloured patches best, weighted towards dark ones (turf is dark). The chart may lie
 * in any of four orientations; the one that fits is taken.
 * @see Finlayson & Drew 1997, White-point preserving color correction, Color Imaging Conf. 5:258-261
 */
export function fromChart(photo: Pixels, corners: Polygon, edition: ChartEdition): Correction | CorrectionRefused {
  let best: (Correction & { residualDeltaE00: number }) | null = null;
  for (let turns = 0; turns < 4; turns++) {
    const readings = readChart(photo, turned(corners, turns));
    if (readings === null) continue;
    const fit = fitChart(readings, edition);
    if (fit !== null && (best === null || fit.residualDeltaE00 < best.residualDeltaE00)) best = fit;
  }
  if (best === null)
    return {
      refused:
        'Expected the colour chart’s corners inside the photo and its greys below the camera’s limit, got neither.',
    };
  if (best.residualDeltaE00 > CORRECTION_LIMITS.residualDeltaE00) {
    return {
      refused: `The colour chart doesn’t fit its table (mean ΔE00 ${best.residualDeltaE00.toFixed(1)}): another board, or light and shade meet on it. It was not used.`,
    };
  }
  return best;
}

/**
 * Linear sRGB (D65) of the chart's patches as printed for an edition.
 * Exported so that tests light the chart with it.
 */
export function chartReference(edition: ChartEdition): Vector3[] {
  return CHART_24.map((patch) => xyzToLinearRgb(adapt(labToXyz(patch.lab[edition]), D50, D65)));
}

/**
 * Fits gain and matrix to 24 readings in the chart's own order.
 * Exported so that a fit is held to a camera that is known.
 * @returns null when too few patches are below the limit
 */
export function fitChart(
  readings: readonly Pick<BoardReading, 'linear' | 'clippedShare'>[],
  edition: ChartEdition,
): (Correction & { residualDeltaE00: number }) | null {
  const reference = chartReference(edition);
  const usable = readings.map((r) => r.clippedShare <= CORRECTION_LIMITS.clippedShare);
  const greys = [19, 20, 21, 22].filter((k) => usable[k]);
  const patches = usable.flatMap((ok, k) => (ok && k !== 18 ? [k] : []));
  if (greys.length < 2 || patches.length < 12) return null;
  const gain = [0, 1, 2].map((c) => {
    let [top, bottom] = [0, 0];
    for (const k of greys) {
      top += reference[k]![c]! * readings[k]!.linear[c]!;
      bottom += readings[k]!.linear[c]! ** 2;
    }
    return top / Math.max(bottom, 1e-9);
  });
  const balanced = readings.map((r) => r.linear.map((v, c) => v * gain[c]!));
  const rows = matrix3Of(
    [0, 1, 2].flatMap((c) => {
      const others = [0, 1, 2].filter((o) => o !== c);
      let [aa, ab, bb, ay, by] = [1e-6, 0, 1e-6, 0, 0];
      for (const k of patches) {
        const own = balanced[k]![c]!;
        const [p, q] = [balanced[k]![others[0]!]! - own, balanced[k]![others[1]!]! - own];
        const y = reference[k]![c]! - own;
        const weight = 1 / (0.02 + reference[k]![1]);
        aa += weight * p * p;
        ab += weight * p * q;
        bb += weight * q * q;
        ay += weight * p * y;
        by += weight * q * y;
      }
      const det = aa * bb - ab * ab;
      const [s, t] = [(ay * bb - by * ab) / det, (by * aa - ay * ab) / det];
      const row = [0, 0, 0];
      row[c] = 1 - s - t;
      row[others[0]!] = s;
      row[others[1]!] = t;
      return row;
    }),
  );
  const matrix = product(rows, diagonal(gain));
  let total = 0;
  for (const k of patches) {
    const [r, g, b] = times(matrix, readings[k]!.linear);
    const [x, y, z] = reference[k]!;
    total += differenceCiede2000(linearRgbToLab(x, y, z), linearRgbToLab(r, g, b));
  }
  return {
    method: 'chart-24',
    version: 'correction-1',
    matrix,
    residualDeltaE00: total / patches.length,
    edition,
    clippedPatches: usable.filter((ok) => !ok).length,
  };
}

function diagonal([r, g, b]: readonly number[]): Matrix3 {
  return [r!, 0, 0, 0, g!, 0, 0, 0, b!];
}
