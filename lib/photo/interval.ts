import { blockBootstrapMean, type BlockSum } from '../stats/bootstrap';

/** A 95% interval of an index, with what made it. */
export interface IndexInterval {
  readonly low: number;
  readonly high: number;
  readonly blocks: number;
}

/** Normal quantile for a 95% interval. */
const Z95 = 1.959964;

/**
 * The interval of one plot's index in one photo: block bootstrap over the plot's blocks and, in quadrature, a floor of
 * 1.96 times the standard deviation that one photo can't know about itself (camera, light, mask).
 * @param blocks count and sum of the index for each block
 * @returns null with fewer than `minBlocks` blocks that hold turf: too few to say
 */
export function indexInterval(
  blocks: readonly BlockSum[],
  { minBlocks, photoSd, resamples, seed }: { minBlocks: number; photoSd: number; resamples: number; seed: number | string },
): IndexInterval | null {
  const used = blocks.filter((block) => block.count > 0);
  if (used.length < minBlocks) return null;
  const { estimate, low, high } = blockBootstrapMean(used, { resamples, seed });
  const floor = Z95 * photoSd;
  return {
    low: estimate - Math.hypot(estimate - low, floor),
    high: estimate + Math.hypot(high - estimate, floor),
    blocks: used.length,
  };
}
