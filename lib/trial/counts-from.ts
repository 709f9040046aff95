/** Earlier than any spray: a civil date. */
export const EVER = '0000-01-01';

/**
 * The civil date from which sprays on its plots are a trial's: plots that it laid out itself never knew others,
 * whatever day was planned; on plots older than the trial, its planned day.
 */
export function countsFrom(trial: {
  readonly startsOn: string;
  readonly createdAt: Date;
  readonly plots: readonly { readonly plot: { readonly createdAt: Date } }[];
}): string {
  return trial.plots.every(({ plot }) => plot.createdAt >= trial.createdAt) ? EVER : trial.startsOn;
}
