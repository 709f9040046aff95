import { passesOver } from '@/lib/spray/passes';

export interface WalkedPlot {
  readonly name: string;
  readonly areaM2: number;
  /** Sides of its rectangle; null when only the area is known. */
  readonly lengthM: number | null;
  readonly widthM: number | null;
}

export interface PlotWalk {
  readonly name: string;
  /** Null when the plot's shape isn't known. */
  readonly passes: number | null;
  readonly spacingM: number | null;
  readonly distanceM: number;
  /**
   * What whole passes at the carrier volume would put down beyond the plot's own share, as a share of it: they reach
   * over its edge or overlap.
   */
  readonly surplusShare?: number;
}

export interface Walk {
  readonly plots: readonly PlotWalk[];
  readonly distanceM: number;
  /** Spraying and turning, without filling the tank, s. */
  readonly seconds: number;
  readonly speedMPerS: number;
  /** True when the carrier volume asks for another pace than the catch test was walked at. */
  readonly paceChanged: boolean;
  /**
   * Of all plots together: at the carrier volume's own pace the mix would run out before the last pass by this share of
   * it.
   */
  readonly surplusShare?: number;
  /** The pace that puts down the carrier volume in a single swath, m/s; `speedMPerS` is faster by the surplus. */
  readonly singleSwathMPerS?: number;
}

export interface WalkingSprayer {
  readonly swathM: number | null;
  readonly walkingMPerS: number | null;
  /** What the catch test found at that pace. */
  readonly carrierLPerHa: number | null;
}

/** A carrier volume this near the catch test's is walked at the same pace. */
const SAME_PACE_SHARE = 0.02;

/**
 * Passes, way and time over the plots. The pace follows from the carrier volume: at one nozzle and pressure, half the
 * pace puts down twice the water. Passes are whole: three of 1 m over a width of 2.5 m spray 3 m of width, a fifth more
 * than was mixed. So each plot is walked faster by its own surplus, and what it gets in all is what was planned; where
 * passes overlap it gets more and elsewhere less. A plot of unknown shape is walked as one strip of its area.
 * @returns null when the sprayer's swath or pace isn't known
 */
export function walkOver(
  plots: readonly WalkedPlot[],
  sprayer: WalkingSprayer | null,
  carrierLPerHa: number,
): Walk | null {
  if (sprayer === null || sprayer.swathM === null || sprayer.walkingMPerS === null) return null;
  const swathM = sprayer.swathM;
  const ratio = sprayer.carrierLPerHa === null ? 1 : sprayer.carrierLPerHa / carrierLPerHa;
  const paceChanged = Math.abs(ratio - 1) > SAME_PACE_SHARE;
  const singleSwathMPerS = sprayer.walkingMPerS * (paceChanged ? ratio : 1);
  let seconds = 0;
  let [sprayedM2, plannedM2] = [0, 0];
  const walks = plots.map((plot): PlotWalk => {
    if (plot.lengthM === null || plot.widthM === null || plot.lengthM <= 0 || plot.widthM <= 0) {
      const distanceM = plot.areaM2 / swathM;
      seconds += distanceM / singleSwathMPerS;
      sprayedM2 += plot.areaM2;
      plannedM2 += plot.areaM2;
      return { name: plot.name, passes: null, spacingM: null, distanceM };
    }
    const passes = passesOver(
      { lengthM: Math.max(plot.lengthM, plot.widthM), widthM: Math.min(plot.lengthM, plot.widthM) },
      swathM,
      singleSwathMPerS,
    );
    // Against the plot's own area, which a shape that isn't a rectangle has less of than its length times its width.
    const surplusShare = Math.max(0, (passes.distanceM * swathM) / plot.areaM2 - 1);
    const spraying = passes.distanceM / singleSwathMPerS;
    seconds += passes.seconds - spraying + spraying / (1 + surplusShare);
    sprayedM2 += plot.areaM2 * (1 + surplusShare);
    plannedM2 += plot.areaM2;
    return {
      name: plot.name,
      passes: passes.count,
      spacingM: passes.spacingM,
      distanceM: passes.distanceM,
      surplusShare,
    };
  });
  const surplusShare = plannedM2 === 0 ? 0 : sprayedM2 / plannedM2 - 1;
  return {
    plots: walks,
    distanceM: walks.reduce((sum, one) => sum + one.distanceM, 0),
    seconds,
    singleSwathMPerS,
    surplusShare,
    speedMPerS: singleSwathMPerS * (1 + surplusShare),
    paceChanged,
  };
}
