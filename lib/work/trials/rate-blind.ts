import 'server-only';
import { nameKeyOf } from '@/lib/diary/people';
import { addRatings } from '@/lib/diary/ratings';
import { seededRandom } from '@/lib/stats/random';
import { blindOrder, type BlindItem } from '@/lib/trial/blind-order';
import { isSameRater } from './raters';
import { readTrial, type TrialRecord } from './trial-record';

export interface BlindStrip {
  photoId: string;
  plotId: string;
}

/**
 * A plot that leaves its photo was not measured though it shows turf, or shows nothing: there is no whole strip to
 * judge.
 */
function isWhole({ dgci, pixels, turfPixels }: TrialRecord['readings'][number]): boolean {
  return dgci !== null || (pixels > 0 && turfPixels === 0);
}

/** Days that can be rated from photos, and who has rated them. */
export function ratingDays(record: TrialRecord): { on: string; strips: number; raters: string[] }[] {
  const readings = record.readings.filter(isWhole);
  return [...new Set(readings.map((reading) => reading.on))].map((on) => ({
    on,
    strips: new Set(readings.filter((reading) => reading.on === on).map((reading) => reading.plotId)).size,
    raters: [...new Set(record.ratings.filter((rating) => rating.on === on).map((rating) => rating.rater))],
  }));
}

/** Scores of one day by one rater, written down by one person (null: nobody was signed in by name), in the order given. */
export interface Sitting {
  readonly on: string;
  readonly rater: string;
  readonly blind: boolean;
  readonly byPersonId: string | null;
  readonly scores: number;
}

/** Who rated what when, as it was written down. */
export function ratingSittings(record: TrialRecord): Sitting[] {
  const sittings = new Map<string, Sitting>();
  for (const { on, rater, blind, byPersonId } of record.ratings) {
    const key = JSON.stringify([on, rater, blind, byPersonId]);
    sittings.set(key, { on, rater, blind, byPersonId, scores: (sittings.get(key)?.scores ?? 0) + 1 });
  }
  return [...sittings.values()];
}

/**
 * The strips of one day in an order of their own for this rater, drawn from trial, day and name, so that a broken-off
 * session comes back the same. From four strips on two of them come twice: a rater's own scatter.
 */
export function blindStrips(record: TrialRecord, on: string, rater: string): BlindItem<BlindStrip>[] {
  const strips = record.trial.plots.flatMap((plot): BlindStrip[] => {
    const reading = record.readings.find((one) => one.on === on && one.plotId === plot.plotId && isWhole(one));
    return reading ? [{ photoId: reading.photoId, plotId: plot.plotId }] : [];
  });
  return blindOrder(strips, seededRandom(`${record.trial.id} ${on} ${nameKeyOf(rater)}`), strips.length >= 4 ? 2 : 0);
}

const counted = (count: number, one: string, many: string) => `${count} ${count === 1 ? one : many}`;

/** What to ask before a sitting is kept: pictures without a score, and strips the same rater has scored before. */
export function doubtsOfSitting(
  record: TrialRecord,
  session: { rater: string; scores: readonly { plotId: string; photoId: string }[]; unscored: number },
): string[] {
  const again = new Set(
    record.ratings
      .filter(
        (rating) =>
          isSameRater(rating.rater, session.rater) &&
          session.scores.some((score) => score.plotId === rating.plotId && score.photoId === rating.photoId),
      )
      .map((rating) => `${rating.plotId} ${rating.photoId}`),
  ).size;
  const total = session.scores.length + session.unscored;
  return [
    ...(session.unscored > 0
      ? [
          `${session.unscored} of ${counted(total, 'picture', 'pictures')} without a score: keep only the ${session.scores.length} given?`,
        ]
      : []),
    ...(again > 0
      ? [
          `${session.rater} has scored ${counted(again, 'strip', 'strips')} of these photos before: keep both, so that their mean counts? It says nothing of how well one agrees with oneself.`,
        ]
      : []),
  ];
}

/**
 * Keeps the scores of a blind session. Scores given before by the same rater stay: what was seen once is not rewritten.
 */
export async function rateBlind(
  trialId: string,
  session: { rater: string; scores: readonly { plotId: string; photoId: string; score: number }[]; unscored: number },
  now: Date,
): Promise<{ ok: boolean; message: string }> {
  const record = await readTrial(trialId);
  if (!record) return { ok: false, message: 'Trial: expected one of this diary, got one that is not there any more.' };
  const known = session.scores.every((score) =>
    record.readings.some((reading) => reading.plotId === score.plotId && reading.photoId === score.photoId),
  );
  if (!known) return { ok: false, message: 'Scores: expected strips of this trial’s photos, got others.' };
  await addRatings(
    session.scores.map((score) => ({ ...score, trialId, rater: session.rater, blind: true, ratedAt: now })),
  );
  const left = session.unscored > 0 ? ` ${counted(session.unscored, 'picture', 'pictures')} left without one.` : '';
  return { ok: true, message: `${counted(session.scores.length, 'score', 'scores')} kept.${left}` };
}
