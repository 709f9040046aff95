import { expectInRange, expectNotNegative, expectPositive } from '@/lib/expect';

export interface Passes {
  readonly count: number;
  /** Distance from one pass to the next, m: the strip's width shared evenly, at most swath less overlap. */
  readonly spacingM: number;
  /** Ground walked while spraying, m. */
  readonly distanceM: number;
  /** Spraying and turning, s. */
  readonly seconds: number;
  /**
   * Sprayed width beyond the plot on all passes together, as a share of the plot's width: what goes over the edge or
   * twice.
   */
  readonly surplusShare: number;
}

/**
 * Passes along the longer side of a plot, and the time they take.
 * @param lengthM along the passes, above 0
 * @param widthM across them, above 0
 * @param swathM sprayed width of one pass, above 0
 * @param speedMPerS walking, above 0
 * @param overlapShare of the swath, 0 to 0.9
 * @param turnSeconds between two passes, 0 or more
 * @throws RangeError outside those ranges
 * @example 10 m of width with a 1 m swath and no overlap: 10 passes
 */
export function passesOver(
  plot: { readonly lengthM: number; readonly widthM: number },
  swathM: number,
  speedMPerS: number,
  overlapShare = 0,
  turnSeconds = 4,
): Passes {
  const lengthM = expectPositive('plot length', plot.lengthM, 'm');
  const widthM = expectPositive('plot width', plot.widthM, 'm');
  const stepM = expectPositive('swath', swathM, 'm') * (1 - expectInRange('overlap', overlapShare, 0, 0.9, ''));
  // The first pass covers a whole swath; each further one adds a step.
  const count = widthM <= swathM * (1 + 1e-9) ? 1 : 1 + Math.ceil((widthM - swathM) / stepM - 1e-9);
  return {
    count,
    spacingM: count === 1 ? widthM : (widthM - swathM) / (count - 1),
    distanceM: count * lengthM,
    seconds:
      (count * lengthM) / expectPositive('walking speed', speedMPerS, 'm/s') +
      (count - 1) * expectNotNegative('turning time', turnSeconds, 's'),
    surplusShare: (count * swathM) / widthM - 1,
  };
}
