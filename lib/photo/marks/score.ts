import { inverse, times, type Matrix3, type Vector3 } from '../../colour/matrix';
import type { CellChange } from './change';
import type { ColourFeatures } from './features';
import { NAMED_KINDS, signatureOf } from './kind';
import { quantileInPlace } from '../measure/median';
import { robustSd, sampled } from '../light/robust-plane';
import { spreadKept } from './smooth';

/** Least standard deviations of the change's bulk: lightness, red-green, yellow-blue (below is camera and file). */
const FLOOR: Vector3 = [0.03, 0.006, 0.006];

/** How far along a kind's way the signature is taken; direction matters, not length. */
const SIGNATURE_SHARE = 0.3;

/**
 * How strongly each cell looks like one of the named marks, in standard deviations of the plot's own bulk; 0 or more.
 * For each kind the best linear filter against the bulk's covariance (Fisher 1936, Ann Eugenics 7:179): what varies a
 * lot in this plot, such as lightness under mowing stripes, counts little. The largest of the four is taken.
 * @param turf the turf's linear colour, whose way to each mark's colour gives the signatures
 */
export function scoreChange(change: CellChange, turf: readonly [number, number, number]): Float32Array {
  const { lightness, redGreen, yellowBlue, use } = change;
  const cells = sampled(use, 3000);
  const score = new Float32Array(use.length);
  if (cells.length < 50) return score;
  const precision = inverse(bulkCovariance(change, cells));
  for (const kind of NAMED_KINDS) {
    const signature = signatureOf(kind, turf, SIGNATURE_SHARE);
    const raw = times(precision, signature);
    const norm = Math.sqrt(signature[0] * raw[0] + signature[1] * raw[1] + signature[2] * raw[2]);
    const filter = [raw[0] / norm, raw[1] / norm, raw[2] / norm] as const;
    const z = (i: number): number => filter[0] * lightness[i]! + filter[1] * redGreen[i]! + filter[2] * yellowBlue[i]!;
    const scale = 1 / Math.max(1, robustSd(Float64Array.from(cells, z)));
    const [f0, f1, f2] = [filter[0] * scale, filter[1] * scale, filter[2] * scale];
    for (let i = 0; i < use.length; i++) {
      if (!use[i]) continue;
      const found = f0 * lightness[i]! + f1 * redGreen[i]! + f2 * yellowBlue[i]!;
      if (found > score[i]!) score[i] = found;
    }
  }
  return score;
}

/**
 * Covariance of the cells that belong together: iterated trimming at chi-square(3) 99%, at most 20% left out, since an
 * old mark may take that much.
 */
function bulkCovariance({ lightness, redGreen, yellowBlue }: ColourFeatures, cells: Int32Array): Matrix3 {
  let kept = cells;
  const distance = new Float64Array(cells.length);
  let matrix: Matrix3 = [1, 0, 0, 0, 1, 0, 0, 0, 1];
  for (let round = 0; round < 5; round++) {
    let [ll, lr, ly, rr, ry, yy] = [0, 0, 0, 0, 0, 0];
    for (let k = 0; k < kept.length; k++) {
      const i = kept[k]!;
      const l = lightness[i]!;
      const r = redGreen[i]!;
      const y = yellowBlue[i]!;
      ll += l * l;
      lr += l * r;
      ly += l * y;
      rr += r * r;
      ry += r * y;
      yy += y * y;
    }
    const sum = [ll, lr, ly, lr, rr, ry, ly, ry, yy];
    const entry = (k: number): number =>
      1.15 * (sum[k]! / kept.length + (k % 4 === 0 ? FLOOR[(k / 4) as 0 | 1 | 2] ** 2 : 0));
    matrix = [entry(0), entry(1), entry(2), entry(3), entry(4), entry(5), entry(6), entry(7), entry(8)];
    const precision = inverse(matrix);
    for (let k = 0; k < cells.length; k++) {
      const i = cells[k]!;
      const l = lightness[i]!;
      const r = redGreen[i]!;
      const y = yellowBlue[i]!;
      distance[k] =
        l * (precision[0] * l + precision[1] * r + precision[2] * y) +
        r * (precision[3] * l + precision[4] * r + precision[5] * y) +
        y * (precision[6] * l + precision[7] * r + precision[8] * y);
    }
    const cut = Math.min(11.34, quantileInPlace(distance.slice(), 0.8));
    kept = cells.filter((_, k) => distance[k]! < cut);
  }
  return matrix;
}

/** The score carried over cells that don't count (a shadow's edge, a leaf) from those around: `sigma` in cells. */
export function bridged(
  score: Float32Array,
  use: Uint8Array,
  bridge: Uint8Array,
  width: number,
  height: number,
  sigma: number,
): Float32Array {
  if (!bridge.includes(1)) return score;
  const filled = spreadKept(score, use, width, height, sigma);
  return score.map((v, i) => (use[i] ? v : bridge[i] && Number.isFinite(filled[i]!) ? filled[i]! : 0));
}
