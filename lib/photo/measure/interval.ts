import {
  blockBootstrapDifference,
  blockBootstrapMean,
  blockMean,
  type BlockSum,
  type BootstrapInterval,
} from '../../stats/bootstrap';

/** A 95% interval of an index, with what made it. */
export interface IndexInterval {
  readonly low: number;
  readonly high: number;
  readonly blocks: number;
}

/** Normal quantile for a 95% interval. */
const Z95 = 1.959964;

/** What an interval rests on beside the blocks. */
interface IntervalParameters {
  readonly minBlocks: number;
  readonly photoSd: number;
  readonly resamples: number;
  readonly seed: number | string;
}

/**
 * The interval of one plot's index in one photo: block bootstrap over the plot's blocks and, in quadrature, a floor of
 * 1.96 times the standard deviation that one photo can't know about itself (camera, light, mask).
 * @param blocks count and sum of the index for each block
 * @returns null with fewer than `minBlocks` blocks that hold turf: too few to say
 */
export function indexInterval(
  blocks: readonly BlockSum[],
  { minBlocks, photoSd, resamples, seed }: IntervalParameters,
): IndexInterval | null {
  const used = blocks.filter((block) => block.count > 0);
  if (used.length < minBlocks) return null;
  return { ...widened(blockBootstrapMean(used, { resamples, seed }), photoSd), blocks: used.length };
}

/** One plot's index less another's in the same photo; its ends are null where either has too few blocks to say. */
export interface IndexDifference {
  readonly difference: number;
  readonly low: number | null;
  readonly high: number | null;
}

/**
 * The difference of two plots' indexes in one photo with its 95% interval: the blocks of the two resampled apart, and
 * the same floor as for one plot.
 * @returns null when either plot has no block with turf
 */
export function indexDifference(
  own: readonly BlockSum[],
  other: readonly BlockSum[],
  { minBlocks, photoSd, resamples, seed }: IntervalParameters,
): IndexDifference | null {
  const [a, b] = [own, other].map((blocks) => blocks.filter((block) => block.count > 0)) as [BlockSum[], BlockSum[]];
  if (a.length === 0 || b.length === 0) return null;
  if (Math.min(a.length, b.length) < Math.max(2, minBlocks))
    return { difference: blockMean(a) - blockMean(b), low: null, high: null };
  const bootstrap = blockBootstrapDifference(a, b, { resamples, seed });
  return { difference: bootstrap.estimate, ...widened(bootstrap, photoSd) };
}

/** A bootstrap's ends, each moved out in quadrature by what the photo can't know of itself. */
function widened({ estimate, low, high }: BootstrapInterval, photoSd: number): { low: number; high: number } {
  const floor = Z95 * photoSd;
  return { low: estimate - Math.hypot(estimate - low, floor), high: estimate + Math.hypot(high - estimate, floor) };
}
