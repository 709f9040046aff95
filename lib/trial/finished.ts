import { addDays } from '@/lib/trial/due';

/**
 * A trial is put away this long after its last day: late photos and ratings still come in. Our own choice, no source.
 */
const PUT_AWAY_AFTER_DAYS = 14;

/**
 * The last civil date a trial asks for anything: its last photo day counted from its last round of sprays planned or
 * done.
 * @param sprayedOn civil dates of its sprays, none yet: its planned first day counts
 */
function lastDayOf(
  trial: { readonly startsOn: string; readonly photoDays: readonly number[] },
  sprayedOn: readonly string[],
): string {
  const from = [...sprayedOn].sort();
  const last = addDays(from[0] ?? trial.startsOn, Math.max(0, ...trial.photoDays));
  // A further round of sprays is photographed for a week at least.
  const round = from.length > 0 ? addDays(from.at(-1)!, 7) : last;
  return round > last ? round : last;
}

/** Whether a trial is over, so that its plots need not stand in every list. One that was never sprayed isn't. */
export function isFinished(
  trial: { readonly startsOn: string; readonly photoDays: readonly number[] },
  sprayedOn: readonly string[],
  today: string,
): boolean {
  return sprayedOn.length > 0 && addDays(lastDayOf(trial, sprayedOn), PUT_AWAY_AFTER_DAYS) < today;
}
