import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { addMeasurements } from '@/lib/diary/measurements';
import { addRatings } from '@/lib/diary/ratings';
import { findTrial } from '@/lib/diary/trials';
import type { MeasurementEntry, SiteRatingEntry } from '@/lib/forms/on-site-form';
import { canonicalMeasurement } from '@/lib/trial/measurement';
import { instantOfLocal } from '../diary/lawn-time';
import { isSameRater } from './raters';
import type { TrialRecord } from './trial-record';

type Kept = { ok: true; message: string } | { ok: false; message: string; field: string };

const counted = (count: number, one: string, many: string) => `${count} ${count === 1 ? one : many}`;

/** The trial's zone, once all that was sent is of its plots and not of the future; else what is wrong. */
async function placed(
  trialId: string,
  entry: { at: string; rows: readonly { plotId: string }[] },
  now: Date,
): Promise<{ at: Date } | Extract<Kept, { ok: false }>> {
  const trial = await findTrial(trialId);
  const lawn = trial ? await findLawn(trial.lawnId) : null;
  if (!trial || !lawn)
    return { ok: false, field: 'at', message: 'Trial: expected one of this diary, got one that is not there any more' };
  if (!entry.rows.every((row) => trial.plots.some((plot) => plot.plotId === row.plotId)))
    return { ok: false, field: 'at', message: 'Values: expected strips of this trial, got others' };
  const at = instantOfLocal(entry.at, lawn.timeZone);
  if (at.getTime() > now.getTime() + 60_000)
    return { ok: false, field: 'at', message: `When: expected no later than now, got ${entry.at.replace('T', ' ')}` };
  return { at };
}

/** What to ask before ratings given on the lawn are kept: strips without one, and those the same person rated that day. */
export function doubtsOnSite(
  { trial, ratings }: Pick<TrialRecord, 'trial' | 'ratings'>,
  { rater, at, rows }: Pick<SiteRatingEntry, 'rater' | 'at' | 'rows'>,
): string[] {
  const left = trial.plots.filter((plot) => rows.every((row) => row.plotId !== plot.plotId)).length;
  const again = rows.filter((row) =>
    ratings.some(
      (rating) =>
        rating.photoId === null &&
        isSameRater(rating.rater, rater) &&
        rating.plotId === row.plotId &&
        rating.on === at.slice(0, 10),
    ),
  ).length;
  return [
    ...(left > 0
      ? [
          `${left} of ${counted(trial.plots.length, 'strip', 'strips')} without a rating: keep only the ${rows.length} given?`,
        ]
      : []),
    ...(again > 0
      ? [
          `${rater} has rated ${counted(again, 'strip', 'strips')} on that day before: keep both, so that their mean counts?`,
        ]
      : []),
  ];
}

/** Keeps ratings given on the lawn, without a photo. */
export async function rateOnSite(trialId: string, entry: SiteRatingEntry, now: Date): Promise<Kept> {
  const found = await placed(trialId, entry, now);
  if ('ok' in found) return found;
  await addRatings(
    entry.rows.map((row) => ({
      plotId: row.plotId,
      trialId,
      photoId: null,
      rater: entry.rater,
      score: row.value,
      blind: entry.blind,
      ratedAt: found.at,
    })),
  );
  return { ok: true, message: `${counted(entry.rows.length, 'rating', 'ratings')} kept.` };
}

/** Keeps what was weighed, read off or counted. */
export async function measureOnSite(trialId: string, entry: MeasurementEntry, now: Date): Promise<Kept> {
  const found = await placed(trialId, entry, now);
  if ('ok' in found) return found;
  await addMeasurements(
    entry.rows.map((row) => ({
      trialId,
      plotId: row.plotId,
      kind: entry.kind,
      name: entry.name,
      by: entry.by,
      measuredAt: found.at,
      value: canonicalMeasurement({ kind: entry.kind, value: row.value, unit: entry.unit }),
      enteredValue: row.value,
      enteredUnit: entry.unit,
    })),
  );
  return { ok: true, message: `${counted(entry.rows.length, 'value', 'values')} kept.` };
}
