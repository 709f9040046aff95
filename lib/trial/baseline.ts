import { DAY_MS } from '@/lib/units/time';

/** A photo that could be a baseline: outlined, from the same viewpoint. */
export interface OutlinedPhoto {
  readonly id: string;
  readonly takenAtMs: number;
  readonly plotIds: readonly string[];
}

/**
 * After so many days without a spray on the lawn the next one begins a new series: a winter, or a long pause. Our own
 * choice, no source.
 */
export const PAUSE_DAYS = 120;

/**
 * The instants from which on the change of a plot is counted anew, in order: the lawn's first spray, its first after a
 * long pause, and the first spray of every trial the plot is part of.
 * @param sprays instants of the lawn's sprays; those within a pause of one before may be left out
 * @param trialStarts instants of the first spray of each of the plot's trials
 */
export function seriesStarts(sprays: readonly number[], trialStarts: readonly number[]): number[] {
  const at = sprays.toSorted((a, b) => a - b);
  const ofLawn = at.filter((ms, i) => i === 0 || ms - at[i - 1]! > PAUSE_DAYS * DAY_MS);
  return [...new Set([...ofLawn, ...trialStarts])].sort((a, b) => a - b);
}

/** The start of the series an instant lies in; null before the first. */
export function seriesAt(starts: readonly number[], atMs: number): number | null {
  return starts.findLast((start) => start <= atMs) ?? null;
}

/**
 * Which of some photos is the baseline of a plot: the last that shows the plot, together with the check where one does.
 * @param photos in order of time, all of them from before
 */
export function lastShowing(photos: readonly OutlinedPhoto[], plotId: string, checkId: string | null): string | null {
  const both =
    checkId === null
      ? undefined
      : photos.findLast((photo) => photo.plotIds.includes(plotId) && photo.plotIds.includes(checkId));
  return (both ?? photos.findLast((photo) => photo.plotIds.includes(plotId)))?.id ?? null;
}
