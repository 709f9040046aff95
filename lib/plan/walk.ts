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
}

export interface Walk {
  readonly plots: readonly PlotWalk[];
  readonly distanceM: number;
  /** Spraying and turning, without filling the tank, s. */
  readonly seconds: number;
  readonly speedMPerS: number;
  /** True when the carrier volume asks for another pace than the catch test was walked at. */
  readonly paceChanged: boolean;
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
 * Passes, way and time over the plots. The pace follows from the carrier volume: at one nozzle and pressure, half the pace
 * puts down twice the water. A plot of unknown shape is walked as one strip of its area.
 * @returns null when the sprayer's swath or pace isn't known
 */
export function walkOver(plots: readonly WalkedPlot[], sprayer: WalkingSprayer | null, carrierLPerHa: number): Walk | null {
  if (sprayer === null || sprayer.swathM === null || sprayer.walkingMPerS === null) return null;
  const swathM = sprayer.swathM;
  const ratio = sprayer.carrierLPerHa === null ? 1 : sprayer.carrierLPerHa / carrierLPerHa;
  const paceChanged = Math.abs(ratio - 1) > SAME_PACE_SHARE;
  const speedMPerS = sprayer.walkingMPerS * (paceChanged ? ratio : 1);
  let seconds = 0;
  const walks = plots.map((plot): PlotWalk => {
    if (plot.lengthM === null || plot.widthM === null || plot.lengthM <= 0 || plot.widthM <= 0) {
      const distanceM = plot.areaM2 / swathM;
      seconds += distanceM / speedMPerS;
      return { name: plot.name, passes: null, spacingM: null, distanceM };
    }
    const passes = passesOver({ lengthM: Math.max(plot.lengthM, plot.widthM), widthM: Math.min(plot.lengthM, plot.widthM) }, swathM, speedMPerS);
    seconds += passes.seconds;
    return { name: plot.name, passes: passes.count, spacingM: passes.spacingM, distanceM: passes.distanceM };
  });
  return { plots: walks, distanceM: walks.reduce((sum, one) => sum + one.distanceM, 0), seconds, speedMPerS, paceChanged };
}
