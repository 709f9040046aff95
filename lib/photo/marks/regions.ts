import { components, maskWhere, opened } from '../raster/components';

/** Thresholds of the search for marks, in the score's standard deviations and shares of the plot. */
export interface RegionLimits {
  /** A mark starts where the score passes this... */
  readonly start: number;
  /** ...and reaches as far as it stays above this... */
  readonly reach: number;
  /** ...and above this share of its own strong part: the soft rim is left out. */
  readonly rim: number;
  readonly minShare: number;
  /** Longer than this for its width is a track or a rim, not a mark. */
  readonly maxAspect: number;
  /** ...unless it covers at least this share of the plot: a haze along a pass is long and wide. */
  readonly wideShare: number;
}

export interface CellGroup {
  readonly cells: Int32Array;
  /** Share of the raster. */
  readonly share: number;
  readonly peak: number;
  /** Length over width, from the second moments; 1 for a disc. */
  readonly aspect: number;
}

/** Pieces of the plot with a high score: hysteresis, then each cut back to where it stays near its own strength. */
export function markRegions(score: Float32Array, width: number, height: number, limits: RegionLimits): CellGroup[] {
  const n = width * height;
  const above = opened(
    maskWhere(n, (i) => score[i]! > limits.reach),
    width,
    height,
    1,
  );
  const found: CellGroup[] = [];
  for (const piece of components(above, width, height)) {
    let peak = 0;
    for (const i of piece) peak = Math.max(peak, score[i]!);
    if (peak < limits.start || piece.length < limits.minShare * n) continue;
    const strong = highEnd(score, piece);
    const cut = Math.max(limits.reach, limits.rim * strong);
    const core = new Uint8Array(n);
    for (const i of piece) if (score[i]! > cut) core[i] = 1;
    for (const cells of components(core, width, height)) {
      const share = cells.length / n;
      if (share < limits.minShare) continue;
      let highest = 0;
      for (const i of cells) highest = Math.max(highest, score[i]!);
      const aspect = aspectOf(cells, width);
      if (highest < limits.start || (aspect > limits.maxAspect && share < limits.wideShare)) continue;
      found.push({ cells, share, peak: highest, aspect });
    }
  }
  return found;
}

/** What 95% of the cells' scores lie below. */
function highEnd(score: Float32Array, cells: Int32Array): number {
  const picked = new Float32Array(cells.length);
  for (let k = 0; k < picked.length; k++) picked[k] = score[cells[k]!]!;
  return picked.sort()[Math.floor(0.95 * (cells.length - 1))]!;
}

function aspectOf(cells: Int32Array, width: number): number {
  let [mx, my, xx, yy, xy] = [0, 0, 0, 0, 0];
  for (const i of cells) {
    mx += i % width;
    my += Math.floor(i / width);
  }
  mx /= cells.length;
  my /= cells.length;
  for (const i of cells) {
    const dx = (i % width) - mx;
    const dy = Math.floor(i / width) - my;
    xx += dx * dx;
    yy += dy * dy;
    xy += dx * dy;
  }
  const spread = Math.hypot(xx - yy, 2 * xy);
  return Math.sqrt((xx + yy + spread) / Math.max(1e-9, xx + yy - spread));
}
