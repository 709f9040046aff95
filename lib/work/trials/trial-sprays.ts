import 'server-only';
import { localOfInstant } from '../diary/lawn-time';

/** The sprays that belong to a trial, oldest first: done on one of its plots, on its first day or later. */
export function spraysOfTrial<T extends { readonly startedAt: Date; readonly plotIds: readonly string[] }>(
  trial: { readonly startsOn: string; readonly plotIds: readonly string[] },
  sprays: readonly T[],
  timeZone: string,
): T[] {
  return sprays
    .filter(
      (spray) =>
        localOfInstant(spray.startedAt, timeZone).slice(0, 10) >= trial.startsOn &&
        spray.plotIds.some((plotId) => trial.plotIds.includes(plotId)),
    )
    .sort((a, b) => a.startedAt.getTime() - b.startedAt.getTime());
}
