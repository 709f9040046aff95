import { solveRows } from '../ground/linear-solve';
import { medianInPlace } from '../measure/median';

/**
 * Takes the slow part out of a channel: a plane across the plot plus one offset a light zone, fitted so that marks
 * don't pull it (iterated least squares with Tukey's biweight at 4 robust standard deviations). `use` marks the cells
 * to fit and to return; others get NaN. `zone` numbers the light zone of each cell, 0 .. zones - 1.
 */
export function withoutPlane(
  values: Float32Array,
  use: Uint8Array,
  zone: Uint8Array,
  zones: number,
  width: number,
  height: number,
): Float32Array {
  const cells = sampled(use, 3000);
  const present = Array.from({ length: zones }, (_, z) => z).filter((z) => cells.some((i) => zone[i] === z));
  /** Which column of the fit holds a zone's offset; zones without cells share the first. */
  const column = Int32Array.from({ length: zones }, (_, z) => Math.max(2, 2 + present.indexOf(z)));
  const size = 2 + present.length;
  if (cells.length < 4 * size) return values.map(() => NaN);
  const n = cells.length;
  const weights = new Float64Array(n).fill(1);
  const residuals = new Float64Array(n);
  const [xs, ys, vs] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const columns = new Int32Array(n);
  for (let k = 0; k < n; k++) {
    const i = cells[k]!;
    xs[k] = (i % width) / width - 0.5;
    ys[k] = Math.floor(i / width) / height - 0.5;
    vs[k] = values[i]!;
    columns[k] = column[zone[i]!]!;
  }
  let fit: Float64Array = new Float64Array(size);
  for (let round = 0; round < 8; round++) {
    const normal = Array.from({ length: size }, () => new Float64Array(size + 1));
    const [rx, ry] = [normal[0]!, normal[1]!];
    for (let k = 0; k < n; k++) {
      const w = weights[k]!;
      if (w === 0) continue;
      const x = xs[k]!;
      const y = ys[k]!;
      const c = columns[k]!;
      const v = vs[k]!;
      const rc = normal[c]!;
      rx[0]! += w * x * x;
      rx[1]! += w * x * y;
      rx[c]! += w * x;
      rx[size]! += w * x * v;
      ry[0]! += w * x * y;
      ry[1]! += w * y * y;
      ry[c]! += w * y;
      ry[size]! += w * y * v;
      rc[0]! += w * x;
      rc[1]! += w * y;
      rc[c]! += w;
      rc[size]! += w * v;
    }
    for (let k = 0; k < size; k++) normal[k]![k]! += 1e-6;
    fit = solveRows(normal);
    for (let k = 0; k < n; k++) residuals[k] = vs[k]! - (fit[0]! * xs[k]! + fit[1]! * ys[k]! + fit[columns[k]!]!);
    const spread = robustSd(residuals) + 1e-6;
    for (let k = 0; k < n; k++) weights[k] = Math.max(0, 1 - (residuals[k]! / (4 * spread)) ** 2) ** 2;
  }
  const out = new Float32Array(values.length).fill(NaN);
  for (let y = 0, i = 0; y < height; y++) {
    const across = fit[1]! * (y / height - 0.5);
    for (let x = 0; x < width; x++, i++) {
      if (use[i]) out[i] = values[i]! - fit[0]! * (x / width - 0.5) - across - fit[column[zone[i]!]!]!;
    }
  }
  return out;
}

/** At most about `most` of the cells in use, evenly spread. */
export function sampled(use: Uint8Array, most: number): Int32Array {
  let count = 0;
  for (const u of use) count += u ? 1 : 0;
  const step = Math.max(1, Math.floor(count / most));
  const out: number[] = [];
  let nth = 0;
  for (let i = 0; i < use.length; i++) if (use[i] && nth++ % step === 0) out.push(i);
  return Int32Array.from(out);
}

/** 1.4826 times the median absolute deviation: the standard deviation of the bulk, when it is normal. */
export function robustSd(values: ArrayLike<number>): number {
  const copy = Float64Array.from(values);
  const centre = medianInPlace(copy);
  for (let i = 0; i < copy.length; i++) copy[i] = Math.abs(copy[i]! - centre);
  return 1.4826 * medianInPlace(copy);
}
