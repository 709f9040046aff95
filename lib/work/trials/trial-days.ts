import 'server-only';
import { calendarFile } from '@/lib/trial/calendar-file';
import { addDays, daysBetween, whatIsDue, type DueItem } from '@/lib/trial/due';
import { isUnsprayed, labelOf, type TrialRecord } from './trial-record';
import { localOfInstant } from '../diary/lawn-time';

/**
 * What the trial asks for on each of its days and how far that has come; the photo before the first spray is its day 0.
 */
export function trialDays(record: TrialRecord, now: Date): DueItem[] {
  const { trial, readings, ratings, sprays, firstSprayOn, lawn } = record;
  const today = localOfInstant(now, lawn.timeZone).slice(0, 10);
  const dateOf = (instant: Date) => localOfInstant(instant, lawn.timeZone).slice(0, 10);
  const counted = readings.filter((reading) => reading.dgci !== null);
  const unsprayed = trial.plots.filter((plot) => isUnsprayed(trial, plot)).map((plot) => plot.plotId);
  const done = [
    ...counted
      .filter((reading) => !reading.isBefore && reading.day > 0)
      .map((reading) => ({ kind: 'photo' as const, on: reading.on, plot: labelOf(trial, reading.plotId) })),
    ...counted
      .filter((reading) => reading.isBefore)
      .map((reading) => ({ kind: 'photo' as const, on: firstSprayOn, plot: labelOf(trial, reading.plotId) })),
    ...ratings.map((rating) => ({ kind: 'rating' as const, on: rating.on, plot: labelOf(trial, rating.plotId) })),
    ...sprays.flatMap((spray) =>
      spray.plots.map((covered) => ({
        kind: 'spray' as const,
        on: dateOf(spray.startedAt),
        plot: labelOf(trial, covered.plotId),
      })),
    ),
    ...(sprays.length > 0
      ? unsprayed.map((plotId) => ({ kind: 'spray' as const, on: firstSprayOn, plot: labelOf(trial, plotId) }))
      : []),
  ];
  return whatIsDue(
    {
      firstSprayOn,
      photoDays: [0, ...trial.photoDays],
      ratingDays: trial.photoDays,
      plots: trial.plots.filter((plot) => plot.excludedReason === null).map((plot) => labelOf(trial, plot.plotId)),
      done,
    },
    today,
  );
}

/** The trial's days as a calendar file; each photo day says what to do then. */
export function trialCalendar(record: TrialRecord, now: Date): string {
  const { trial, firstSprayOn } = record;
  const days = [
    {
      uid: `${trial.id}-spray@swathbook`,
      on: firstSprayOn,
      title: `${trial.name}: photo, then spray`,
      text: 'Photograph every strip before spraying, from where you will stand again. Then spray by the strip map.',
    },
    ...trial.photoDays.map((day) => ({
      uid: `${trial.id}-day-${day}@swathbook`,
      on: addDays(firstSprayOn, day),
      title: `${trial.name}: photos, day ${day}`,
      text: 'Same place, same time of day, dry leaves, all strips and the check in one photo. Rate the strips before looking at the numbers.',
    })),
  ];
  return calendarFile(trial.name, days, now.toISOString());
}

/** The trial's sprays as days since its first: those of one day share a place. */
export function daysOfSprays(record: TrialRecord): { x: number; label: string }[] {
  const days = record.sprays.map((spray) =>
    daysBetween(record.firstSprayOn, localOfInstant(spray.startedAt, record.lawn.timeZone).slice(0, 10)),
  );
  return [...new Set(days)].map((x) => ({ x, label: 'spray' }));
}
